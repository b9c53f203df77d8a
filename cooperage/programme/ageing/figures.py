"""Every figure of a vessel as it is now: its value, how sure, how old, and how it was got."""

from collections.abc import Iterable
from dataclasses import dataclass

from cooperage.book import Cellar, Standing
from cooperage.programme.ageing.course import BAND, Course, band_of
from cooperage.programme.ageing.filtering import Passed, carry_on
from cooperage.programme.ageing.fitting import PRIOR, Fitted, fit
from cooperage.programme.ageing.likeness import Likeness, likeness_of
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.trails import ordinary_doubt, trails_of
from cooperage.units import counted

MEASURED, CALCULATED, UNKNOWN = "measured", "calculated", "unknown"
_ERROR_TO_SD = 1.2533
"""A normal error's standard deviation is this times its mean: the square root of half of pi."""
_ENOUGH = 20
_WORSE = 1.02  # so that a draw does not flicker
_FRESH_DAYS = 1.0
"""A figure measured so lately is shown as measured."""


@dataclass(frozen=True, slots=True)
class Now:
    """A figure as it is now, in its property's unit; None is unknown.

    `sd` is one standard deviation. `measured` is the last reading in this fill, `days_ago` its age. `how` is
    "measured", "calculated" or "unknown"; `basis` is what the ageing rests on, as text. `course` is how it goes on,
    where it is known to age.
    """

    name: str
    value: float | None
    sd: float = 0.0
    measured: float | None = None
    days_ago: float | None = None
    how: str = UNKNOWN
    basis: str = ""
    course: Course | None = None

    @property
    def is_fresh(self) -> bool:
        """True if it was measured within the last day and nothing has changed since."""
        return self.how == MEASURED

    def band(self, probability: float = BAND) -> tuple[float, float] | None:
        """Return the interval in which it lies with a probability; None where it is unknown."""
        if self.value is None:
            return None
        least = AGEINGS[self.name].least if self.name in AGEINGS else 0.0
        return band_of(self.value, self.sd, least, probability)


@dataclass(frozen=True)
class Learned:
    """What the vessels of a cellar have shown of one property, ready to age any of them."""

    name: str
    likeness: Likeness
    fitted: Fitted

    def age(self, standings: Iterable[Standing]) -> Passed:
        """Carry vessels through their readings up to their moment, with what is usual as it was learned."""
        chosen = list(standings)
        columns = self.likeness.columns(chosen)
        passed = carry_on(trails_of(chosen, self.name), columns, AGEINGS[self.name], self.fitted.usual)
        return passed.doubting(self.fitted.covariance)

    @property
    def is_set_aside(self) -> bool:
        """True if, in this cellar, figures as last read have come nearer than aged ones: then those are given."""
        passed = self.fitted.passed
        return passed.count >= _ENOUGH and passed.errors > _WORSE * passed.errors_as_read

    @property
    def basis(self) -> str:
        """What the ageing rests on, as text."""
        count = self.fitted.passed.count
        if self.is_set_aside:
            return f"as last read, which came nearer over {count} readings here than ageing it"
        if self.fitted.ended == PRIOR:
            return f"no readings to learn from yet: {AGEINGS[self.name].source}"
        return f"learned from {counted(count, 'reading')} here"


def learn(cellar: Iterable[Standing], name: str, before: Learned | None = None, like: Learned | None = None) -> Learned:
    """Learn from all vessels that hold something how one property ages in this cellar.

    `before` may lend a start, `like` is what was learned of the property that ages alike.
    """
    standings = [standing for standing in cellar if standing.ml]
    ageing = AGEINGS[name]
    likeness = likeness_of(standings, ageing)
    if like is not None:
        likeness = likeness.moved(like.fitted.usual.coefficients[0] - AGEINGS[like.name].usual)
    near = before.fitted.usual if before is not None and before.likeness.is_like(likeness) else None
    trails, columns = trails_of(standings, name), likeness.columns(standings)
    return Learned(name, likeness, fit(trails, columns, likeness, ageing, near))


class FiguresNow:
    """The figures of a cellar's vessels now; how a property ages is learned when it is first asked for.

    `before` are those of the same cellar a while ago, from which learning begins, so that it is sooner done.
    """

    def __init__(self, cellar: Cellar, before: "FiguresNow | None" = None) -> None:
        self._before = {} if before is None else before.learned
        self._standings = [standing for standing in cellar if standing.ml]
        self._place = {standing.tag: at for at, standing in enumerate(self._standings)}
        self.learned: dict[str, Learned] = {}

    def of(self, standing: Standing, name: str) -> Now:
        """Return a figure of a vessel as it is now."""
        figure, read = standing.figure(name), standing.state.reads.get(name)
        if figure.value is None or standing.tag not in self._place:
            return Now(name, figure.value)
        if name not in AGEINGS:
            return Now(name, figure.value, figure.uncertainty or 0.0, figure.value, figure.days_ago, MEASURED)
        learned = self._of(name)
        value, sd, course = self._aged(learned, standing, figure.value)
        is_fresh = read is not None and not read.changed and (figure.days_ago or 0.0) < _FRESH_DAYS
        how = MEASURED if is_fresh else CALCULATED
        return Now(name, value, sd, None if read is None else read.value, figure.days_ago, how, learned.basis, course)

    def noise(self, name: str) -> float:
        """Return one standard deviation of an ordinary reading, in the property's unit, as learned here."""
        return self._of(name).fitted.usual.scale * ordinary_doubt(name)

    def _aged(self, learned: Learned, standing: Standing, book: float) -> tuple[float, float, Course]:
        passed, at = learned.fitted.passed, self._place[standing.tag]
        if learned.is_set_aside:
            sd = _ERROR_TO_SD * passed.errors_as_read / passed.count
            return book, sd, Course(learned.name, book, 0.0, sd**2, 0.0, 0.0)
        value, rate = float(passed.value[at]), float(passed.rate[at])
        vv, vr, usual = float(passed.vv[at]), float(passed.vr[at]), learned.fitted.usual
        rr = float(passed.rr[at]) + usual.rate_varies**2  # of the time to come
        course = Course(learned.name, value, rate, vv, vr, rr, wander=usual.wander)
        return *course.after(0.0), course

    def _of(self, name: str) -> Learned:
        if name not in self.learned:
            like = AGEINGS[name].like
            alike = self._of(like) if like else None
            self.learned[name] = learn(self._standings, name, self._before.get(name), alike)
        return self.learned[name]
