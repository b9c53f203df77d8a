"""What a cellar has shown of one property, as numbers that any vessel's figure now follows from without more learning.

How it is learned is in `learning`; it can be kept, since it changes only with the book.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from math import inf
from operator import attrgetter
from typing import Any

from cooperage.book import Standing
from cooperage.programme.ageing.course import Course
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import AirDrift, Doubt, Stretch, Varies, doubt_after, moved
from cooperage.programme.ageing.trails import up_to_now
from cooperage.programme.air.warmth import UNREAD, Warmth
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
    the covariance of both by that, `us` and `ws` their covariances with the share of additions that is found, `up` and
    `wp` with what racking takes. `strength` and `richer` are what the air does to it (see `AirDrift`).
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
    up: float
    wp: float
    strength: float = 0.0
    richer: float = 0.0


_FIGURES_OF = attrgetter(*(field.name for field in fields(Reached)))  # `astuple` copies every number, however deep


@dataclass(frozen=True, slots=True)
class Experience:
    """What was learned of a property, and where each vessel's readings left it, by tag.

    `usual_rate` is the rate of a used 225 L barrel, `scale` how large the errors of readings are against what the
    readings claim, `takes` what racking takes and `share` the share of additions that is found; `ss`, `sp` and `pp` are
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
    takes: float
    share: float
    takes_varies: float
    of_fill: float
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

    def course(self, standing: Standing, as_read: float | None, warmth: Warmth = UNREAD) -> Course:
        """Return the course of a vessel's figure from now on; `as_read` is what the book has, if anything."""
        if self.is_set_aside and as_read is not None:
            sd = _ERROR_TO_SD * self.errors_as_read / self.count
            still = -inf if AGEINGS[self.name].fades else 0.0
            return Course(self.name, as_read, still, sd**2, 0.0, 0.0)
        reached = self.reached[standing.tag]
        air = AirDrift(reached.strength, reached.richer)
        *stretch, _, doubt, came, begins = up_to_now(standing, self.name, air, warmth)
        if begins:
            vv = (self.scale * doubt) ** 2 + self.of_fill**2
            reached = replace(reached, value=came, vv=vv, vr=0.0, uu=0.0, uw=0.0, us=0.0, up=0.0)
        course, ageing = self._after(Stretch(*stretch), reached), AGEINGS[self.name]
        by_air = air.of(ageing, course.value)
        return replace(course, rate=course.rate + by_air, by_air=by_air)

    def _after(self, stretch: Stretch, at: Reached) -> Course:
        ageing = AGEINGS[self.name]
        to = moved(ageing, stretch, at.value, at.rate, self.share, self.takes)
        own = doubt_after(
            ageing, stretch, to, Doubt(at.vv, at.vr, at.rr), Varies(self.wander, self.rate_varies, self.takes_varies)
        )
        a, b, c, d = to.by_value, to.by_rate, to.by_share, to.by_takes
        squares = a**2 * at.uu + b**2 * at.ww + c**2 * self.ss + d**2 * self.pp
        products = a * b * at.uw + a * c * at.us + a * d * at.up + b * c * at.ws + b * d * at.wp + c * d * self.sp
        vr = own.vr + a * at.uw + b * at.ww + c * at.ws + d * at.wp
        rr = own.rr + at.ww + self.rate_varies**2  # of the time to come
        vv, nears = own.vv + squares + 2 * products, (stretch.nears, stretch.nears_doubt)
        return Course(self.name, to.value, at.rate, vv, vr, rr, 1.0, self.wander, 0.0, *nears)

    def as_json(self) -> list[Any]:
        """Return what was learned as JSON holds it."""
        *numbers, reached = (getattr(self, field.name) for field in fields(self))
        return [*numbers, {tag: _FIGURES_OF(each) for tag, each in reached.items()}]

    @classmethod
    def from_json(cls, kept: Any) -> "Experience":  # noqa: ANN401 - a file holds anything
        """Return what was learned from what JSON holds; raises TypeError or ValueError where that is no such thing."""
        *numbers, reached = kept
        values = [*numbers, {tag: Reached(*each) for tag, each in reached.items()}]
        return cls(*values)
