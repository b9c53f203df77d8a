"""Every figure of a vessel as it is now: its value, how sure, how old, and how it was got."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from cooperage.book import Cellar, Figure, Standing
from cooperage.book.replay.gravity import gravities_known, remember_gravities
from cooperage.programme.ageing.course import BAND, Course, band_of
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import AirDrift
from cooperage.programme.ageing.trails import learned_from, ordinary_doubt
from cooperage.programme.air.warmth import UNREAD, Warmth
from cooperage.programme.kept import kept

if TYPE_CHECKING:
    from cooperage.programme.ageing.doubts import Doubts
    from cooperage.programme.ageing.learning import Learned, WhatIsUsual

MEASURED, CALCULATED, UNKNOWN = "measured", "calculated", "unknown"
_FRESH_DAYS = 1.0
"""A figure measured so lately is shown as measured."""


@dataclass(frozen=True, slots=True)
class Now:
    """A figure as it is now, in its property's unit; None is unknown.

    `sd` is one standard deviation. `measured` is the last reading in this fill, `days_ago` its age, `added` what came
    by hand since. `how` is "measured", "calculated" or "unknown"; `basis` is what the ageing rests on, as text.
    `course` is how it goes on, where it is known to age.
    """

    name: str
    value: float | None
    sd: float = 0.0
    measured: float | None = None
    days_ago: float | None = None
    how: str = UNKNOWN
    basis: str = ""
    course: Course | None = None
    added: float = 0.0

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


class FiguresNow:
    """The figures of a cellar's vessels now; how a property ages is learned when it is first asked for, and kept.

    `before` are those of the same cellar a while ago, from which learning begins, so that it is sooner done. `drifts`
    works out what the air does to each barrel, by tag, once it is asked for, `warmth` how warm the rooms are.
    """

    def __init__(
        self,
        cellar: Cellar,
        before: "FiguresNow | None" = None,
        drifts: Callable[[], Mapping[str, AirDrift]] | None = None,
        warmth: Callable[[], Warmth] | None = None,
    ) -> None:
        self._find_drifts, self._find_warmth = drifts, warmth
        self._mark = cellar.mark
        self._standings = learned_from(cellar)
        self._tags = frozenset(standing.tag for standing in self._standings if standing.ml)
        self._before = {} if before is None else before.learned
        self._experience: dict[str, Experience] = {}
        self.learned: dict[str, Learned] = {}
        self._has_gravities = False
        self._now: dict[tuple[str, str], Now] = {}

    def of(self, standing: Standing, name: str) -> Now:
        """Return a figure of a vessel as it is now, worked out when it is first asked for."""
        asked = standing.tag, name
        if asked not in self._now:
            self._now[asked] = self._worked_out(standing, name)
        return self._now[asked]

    def _worked_out(self, standing: Standing, name: str) -> Now:
        figure, read = self.in_book(standing, name), standing.state.reads.get(name)
        ageing = AGEINGS.get(name)
        is_of_room = ageing is not None and ageing.to_room
        if standing.tag not in self._tags or (figure.value is None and not is_of_room):
            return Now(name, figure.value)
        if ageing is None:
            return Now(name, figure.value, figure.uncertainty or 0.0, figure.value, figure.days_ago, MEASURED)
        experience = self.experience(name)
        course = experience.course(standing, figure.value, self._warmth if is_of_room else UNREAD)
        basis = experience.basis if not is_of_room else self._with_room(experience, standing)
        is_fresh = read is not None and not read.changed and (figure.days_ago or 0.0) < _FRESH_DAYS
        how, measured = MEASURED if is_fresh else CALCULATED, None if read is None else read.value
        added = 0.0 if read is None else standing.state.since_read(name, standing.at.timestamp()).added
        return Now(name, *course.after(0.0), measured, figure.days_ago, how, basis, course, added)

    def _with_room(self, experience: Experience, standing: Standing) -> str:
        """Return what a figure that goes to the room's temperature rests on, the room included."""
        room = f"its room {self._warmth.of(standing.position[0]).how}"
        return experience.basis if experience.is_set_aside else f"{experience.basis}; {room}"

    def in_book(self, standing: Standing, name: str) -> Figure:
        """Return a figure of a vessel as the book has it."""
        if name == "sg" and not self._has_gravities:
            remember_gravities(kept(self._mark, "gravities", self._gravities, list, list))
            self._has_gravities = True
        return standing.figure(name)

    def _gravities(self) -> list[tuple[float, float, float | None]]:
        for standing in self._standings:
            standing.figure("sg")
        return gravities_known()

    def noise(self, name: str) -> float:
        """Return one standard deviation of an ordinary reading, in the property's unit, as learned here."""
        return self.experience(name).scale * ordinary_doubt(name)

    def _mark_of(self, name: str) -> str:
        """Return the mark under which what is learned is kept: none where what the air does is left out of it."""
        ageing = AGEINGS[name]
        is_partial = (ageing.is_moved_by_air and not self._find_drifts) or (ageing.to_room and not self._find_warmth)
        return "" if is_partial else self._mark

    def experience(self, name: str) -> Experience:
        """Return what this cellar has shown of a property that ages."""
        if name not in self._experience:

            def learned() -> Experience:
                return self._learn(name).experience(self._standings)

            self._experience[name] = kept(self._mark_of(name), name, learned, Experience.as_json, Experience.from_json)
        return self._experience[name]

    def doubts(self, tags: Sequence[str], name: str) -> "Doubts":
        """Return how sure the figures of some vessels that hold something are together."""
        from cooperage.programme.ageing.doubts import doubts_of  # NumPy comes with it

        by_tag = {standing.tag: standing for standing in self._standings}
        standings = [by_tag[tag] for tag in tags]
        courses = [self.of(standing, name).course for standing in standings]
        return doubts_of(standings, courses, self.experience(name), self._usual(name))

    def _usual(self, name: str) -> "WhatIsUsual":
        from cooperage.programme.ageing.learning import WhatIsUsual  # NumPy comes with it

        return kept(
            self._mark_of(name),
            f"{name}-usual",
            lambda: self._learn(name).usual(),
            WhatIsUsual.as_json,
            WhatIsUsual.from_json,
        )

    def _learn(self, name: str) -> "Learned":
        from cooperage.programme.ageing.learning import learn  # NumPy comes with it

        if name not in self.learned:
            like = AGEINGS[name].like
            usual = self.experience(like).usual_rate if like else None
            drifts = self._drifts if AGEINGS[name].is_moved_by_air else None
            warmth = self._every_day if AGEINGS[name].to_room else UNREAD
            self.learned[name] = learn(self._standings, name, self._before.get(name), usual, drifts, warmth)
        return self.learned[name]

    @cached_property
    def _drifts(self) -> Mapping[str, AirDrift]:
        return {} if self._find_drifts is None else self._find_drifts()

    @cached_property
    def _every_day(self) -> Warmth:
        return UNREAD if self._find_warmth is None else self._find_warmth()

    @cached_property
    def _warmth(self) -> Warmth:
        mark = self._mark if self._find_warmth else ""
        return kept(mark, "warmth", self._recent_days, Warmth.as_json, Warmth.from_json)

    def _recent_days(self) -> Warmth:
        return self._every_day.recent()
