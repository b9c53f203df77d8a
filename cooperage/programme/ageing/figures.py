"""Every figure of a vessel as it is now: its value, how sure, how old, and how it was got."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from cooperage.book import Cellar, Standing
from cooperage.programme.ageing.course import BAND, Course, band_of
from cooperage.programme.ageing.filtering import Passed, carry_on
from cooperage.programme.ageing.fitting import PRIOR, Fitted, fit
from cooperage.programme.ageing.leaving import NOTHING_LEAVES, Leaving
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
    leaving: Leaving = NOTHING_LEAVES

    def age(self, standings: Iterable[Standing]) -> Passed:
        """Carry vessels through their readings up to their moment, with what is usual as it was learned."""
        chosen = list(standings)
        columns = self.likeness.columns(chosen)
        trails = trails_of(chosen, self.name, self.leaving)
        passed = carry_on(trails, columns, AGEINGS[self.name], self.fitted.usual)
        return passed.doubting(self.fitted.covariance)

    def by_air(self, standing: Standing, value: float) -> float:
        """Return how much evaporation changes the figure of a vessel a day, where it is `value` now."""
        drift, ageing = self.leaving.of(standing), AGEINGS[self.name]
        return drift.strength if ageing.leaves_by_air else drift.richer * value if ageing.grows_richer else 0.0

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


def learn(
    cellar: Iterable[Standing],
    name: str,
    before: Learned | None = None,
    like: Learned | None = None,
    leaving: Leaving = NOTHING_LEAVES,
) -> Learned:
    """Learn from all vessels that hold something how one property ages in this cellar.

    `before` may lend a start, `like` is what was learned of the property that ages alike, `leaving` what evaporates.
    """
    standings = [standing for standing in cellar if standing.ml]
    ageing = AGEINGS[name]
    likeness = likeness_of(standings, ageing)
    if like is not None:
        likeness = likeness.moved(like.fitted.usual.coefficients[0] - AGEINGS[like.name].usual)
    near = before.fitted.usual if before is not None and before.likeness.is_like(likeness) else None
    trails, columns = trails_of(standings, name, leaving), likeness.columns(standings)
    return Learned(name, likeness, fit(trails, columns, likeness, ageing, near), leaving)


class FiguresNow:
    """The figures of a cellar's vessels now; how a property ages is learned when it is first asked for.

    `before` are those of the same cellar a while ago, from which learning begins, so that it is sooner done. `leaving`
    works out what evaporates, once it is asked for.
    """

    def __init__(
        self, cellar: Cellar, before: "FiguresNow | None" = None, leaving: Callable[[], Leaving] | None = None
    ) -> None:
        self._find_leaving = leaving
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
        value = float(passed.value[at])
        by_air = learned.by_air(standing, value)
        rate = float(passed.rate[at]) + by_air
        vv, vr, usual = float(passed.vv[at]), float(passed.vr[at]), learned.fitted.usual
        rr = float(passed.rr[at]) + usual.rate_varies**2  # of the time to come
        course = Course(learned.name, value, rate, vv, vr, rr, wander=usual.wander, by_air=by_air)
        return *course.after(0.0), course

    def _of(self, name: str) -> Learned:
        if name not in self.learned:
            like = AGEINGS[name].like
            alike = self._of(like) if like else None
            leaving = self._leaving if AGEINGS[name].is_moved_by_air else NOTHING_LEAVES
            self.learned[name] = learn(self._standings, name, self._before.get(name), alike, leaving)
        return self.learned[name]

    @cached_property
    def _leaving(self) -> Leaving:
        return NOTHING_LEAVES if self._find_leaving is None else self._find_leaving()
