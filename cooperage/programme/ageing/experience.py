"""What a cellar has shown of one property, as numbers that any vessel's figure now follows from without more learning.

How it is learned is in `learning`; it can be kept, since it changes only with the book.
"""

from collections.abc import Mapping
from dataclasses import astuple, dataclass, fields
from typing import Any

from cooperage.book import Standing
from cooperage.programme.ageing.course import Course
from cooperage.programme.ageing.models import AGEINGS, AS_CAME, Ageing
from cooperage.programme.ageing.passage import Doubt, Stretch, doubt_after, moved
from cooperage.programme.ageing.trails import up_to_now
from cooperage.units import counted

PRIOR = "prior"
"""No reading could be compared with what was before it: the declaration alone."""
_ERROR_TO_SD = 1.2533
"""A normal error's standard deviation is this times its mean: the square root of half of pi."""
_ENOUGH = 20
_WORSE = 1.02  # so that a draw does not flicker


@dataclass(frozen=True, slots=True)
class Reached:
    """Where its readings left one vessel: figure and rate, their variances and covariance.

    What is usual is doubtful too, and moves the figure and the rate with it: `uu`, `uw` and `ww` are the variances and
    the covariance of both by that, `us`, `ws` their covariances with the share of additions that is found, `wp` the
    rate's with the share that racking leaves.
    """

    value: float
    rate: float
    vv: float
    vr: float
    rr: float
    uu: float
    uw: float
    ww: float
    us: float
    ws: float
    wp: float


@dataclass(frozen=True, slots=True)
class Experience:
    """What was learned of a property, and where each vessel's readings left it, by tag.

    `usual_rate` is the rate of a used 225 L barrel, `scale` how large the errors of readings are against what the
    readings claim, `pours` the share that racking leaves and `share` that of additions found; `ss`, `sp` and `pp` are
    the variances and the covariance of these two. The other spreads are those of `Ageing`. Over `count` readings,
    `errors` sums how far they came from what was expected, `errors_as_read` from the figure as last read.
    """

    name: str
    ended: str
    count: int
    errors: float
    errors_as_read: float
    usual_rate: float
    scale: float
    pours: float
    share: float
    pours_varies: float
    wander: float
    rate_varies: float
    ss: float
    sp: float
    pp: float
    reached: Mapping[str, Reached]

    @property
    def is_set_aside(self) -> bool:
        """True if, in this cellar, figures as last read have come nearer than aged ones: then those are given."""
        return self.count >= _ENOUGH and self.errors > _WORSE * self.errors_as_read

    @property
    def basis(self) -> str:
        """What the ageing rests on, as text."""
        if self.is_set_aside:
            return f"as last read, which came nearer over {counted(self.count, 'reading')} here than ageing it"
        if self.ended == PRIOR:
            return f"no readings to learn from yet: {AGEINGS[self.name].source}"
        return f"learned from {counted(self.count, 'reading')} here"

    def course(self, standing: Standing, as_read: float) -> Course:
        """Return the course of a vessel's figure from now on; `as_read` is what the book has."""
        if self.is_set_aside:
            sd = _ERROR_TO_SD * self.errors_as_read / self.count
            return Course(self.name, as_read, 0.0, sd**2, 0.0, 0.0)
        ageing, (*stretch, _, doubt, came, begins) = AGEINGS[self.name], up_to_now(standing, self.name)
        reached = self._began(self.reached[standing.tag], came, doubt) if begins else self.reached[standing.tag]
        return self._after(ageing, Stretch(*stretch), reached)

    def _began(self, reached: Reached, came: float, doubt: float) -> Reached:
        """Return where a vessel begins with what came with the mead, which racking left a share of."""
        vv = (AS_CAME * self.scale * doubt) ** 2 + (self.pours_varies * came) ** 2
        usual = (came**2 * self.pp, came * reached.wp, reached.ww, came * self.sp, reached.ws, reached.wp)
        return Reached(came * self.pours, reached.rate, vv, 0.0, reached.rr, *usual)

    def _after(self, ageing: Ageing, stretch: Stretch, at: Reached) -> Course:
        to = moved(ageing, stretch, at.value, at.rate, self.share)
        own = doubt_after(ageing, stretch, to, Doubt(at.vv, at.vr, at.rr), self.wander, self.rate_varies)
        a, b, c = to.by_value, to.by_rate, to.by_share
        vv = own.vv + a**2 * at.uu + b**2 * at.ww + c**2 * self.ss + 2 * (a * b * at.uw + a * c * at.us + b * c * at.ws)
        vr = own.vr + a * at.uw + b * at.ww + c * at.ws
        rr = own.rr + at.ww + self.rate_varies**2  # of the time to come
        return Course(self.name, to.value, at.rate, vv, vr, rr, wander=self.wander)

    def as_json(self) -> list[Any]:
        """Return what was learned as JSON holds it."""
        *numbers, reached = (getattr(self, field.name) for field in fields(self))
        return [*numbers, {tag: astuple(each) for tag, each in reached.items()}]

    @classmethod
    def from_json(cls, kept: Any) -> "Experience":  # noqa: ANN401 - a file holds anything
        """Return what was learned from what JSON holds; raises TypeError or ValueError where that is no such thing."""
        *numbers, reached = kept
        values = [*numbers, {tag: Reached(*each) for tag, each in reached.items()}]
        return cls(*values)
