"""The cellar with every figure as it is now: what screens, commands, reports and pools ask in place of the book's.

The book itself keeps figures as they were read, carried on by hands alone; nothing that is written rests on these.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property
from math import hypot, log
from typing import TYPE_CHECKING

from cooperage.book import Book, Cellar, Figure, Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.facts import USUAL, Facts, facts_of
from cooperage.programme.ageing.course import Course, band_of
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.ageing.figures import FiguresNow, Now
from cooperage.programme.ageing.passage import AirDrift
from cooperage.programme.air.warmth import Warmth, warmth_of

if TYPE_CHECKING:
    from cooperage.programme.ageing.doubts import Doubts

_TENFOLD = log(10.0)  # molecular SO2 goes by the power of ten of the pH


class AgedStanding(Standing):
    """One vessel whose figures are those of now, with their bands; its levels and lots are the book's."""

    def __init__(self, standing: Standing, figures: FiguresNow, facts: Facts) -> None:
        super().__init__(standing.vessel, standing.state, standing.at, standing.lots_by_id)
        self.scored_at, self.carried_from = standing.scored_at, standing.carried_from
        self._book, self._figures, self.facts = standing, figures, facts
        self._shown: dict[str, Figure] = {}

    def now(self, name: str) -> Now:
        """Return a figure as it is now, with how it goes on."""
        return self._figures.of(self._book, name)

    def course(self, name: str) -> Course | None:
        """Return how a figure goes on; None where it is unknown, or is not known to age."""
        return self.molecular_course() if name == MOLECULAR else self.now(name).course

    def noise(self, name: str) -> float:
        """Return one standard deviation of an ordinary reading here, as the cellar's readings have shown it."""
        return self._figures.noise(name)

    def figure(self, name: str) -> Figure:
        """Return a figure as it is now: as measured within the last day, else aged; with its band."""
        if name not in self._shown:
            self._shown[name] = self._dressed(name)
        return self._shown[name]

    def _dressed(self, name: str) -> Figure:
        figure = self._figures.in_book(self._book, name)
        now = self.now(name)
        if now.value is None or now.course is None:
            return figure
        dressed = _dressed(figure, now)
        return self._with_free(dressed) if name == "total_so2_mg_l" else dressed

    def _with_free(self, total: Figure) -> Figure:
        """Return total SO2 with a band that begins no lower than that of free SO2, which is a part of it."""
        free = self.figure("free_so2_mg_l")
        least = free.value if free.low is None else free.low
        if least is None or total.low is None or total.high is None:
            return total
        return replace(total, low=min(max(total.low, least), total.high))

    def molecular_figure(self) -> Figure:
        """Return molecular SO2 [mg/L] as it is now, with its band."""
        figure, course = super().molecular_figure(), self.molecular_course()
        if figure.value is None or course is None:
            return figure
        _, sd = course.after(0.0)
        low, high = band_of(figure.value, sd, 0.0)
        return replace(figure, uncertainty=sd, low=low, high=high)

    def molecular_course(self) -> Course | None:
        """Return the course of molecular SO2 [mg/L]: that of free SO2, with pH, strength and temperature as now.

        Its doubt is that of free SO2, of pH and of temperature, by the law of propagation (JCGM 100:2008).
        """
        return self._molecular_course

    @cached_property
    def _molecular_course(self) -> Course | None:
        free, ph, abv, warm = (self.now(name) for name in ("free_so2_mg_l", "ph", "abv", "temperature_c"))
        share = None if ph.value is None or abv.value is None else self.molecular_share(ph.value, abv.value)
        if share is None or free.course is None:
            return None
        return free.course.times(share, hypot(_TENFOLD * ph.sd, self.molecular_per_degree * warm.sd))


def _dressed(figure: Figure, now: Now) -> Figure:
    """Return the book's figure with the value of now and its band; one just measured stays as measured."""
    low, high = now.band() or (None, None)
    is_fresh = now.is_fresh and figure.value is not None
    value, how = (figure.value, figure.how) if is_fresh else (now.value, "calculated")
    return replace(
        figure,
        value=value,
        how=how,
        uncertainty=now.sd,
        measured=now.measured,
        added=now.added,
        low=low,
        high=high,
        basis=now.basis,
    )


class AgedCellar(Cellar):
    """A cellar whose vessels give their figures as they are now."""

    def __init__(self, cellar: Cellar, figures: FiguresNow, facts: Facts) -> None:
        standings: list[Standing] = [AgedStanding(standing, figures, facts) for standing in cellar]
        super().__init__(standings, cellar.lots, cellar.at, cellar.mark)
        self._figures = figures

    def experience(self, name: str) -> Experience:
        """Return what this cellar has shown of a property that ages."""
        return self._figures.experience(name)

    def doubts(self, tags: Sequence[str], name: str) -> "Doubts":
        """Return how sure the figures of some vessels that hold something are together."""
        return self._figures.doubts(tags, name)


def aged(cellar: Cellar, facts: Facts = USUAL, figures: FiguresNow | None = None) -> AgedCellar:
    """Return a cellar whose vessels give their figures as they are now, by `figures` of it where they are at hand."""
    return AgedCellar(cellar, figures or FiguresNow(cellar), facts)


def cellar_now(book: Book, at: datetime | None = None) -> AgedCellar:
    """Return the state of the cellar, now or at a past time, with every figure as it was to be expected then."""
    with book.reading() as connection:
        cellar, facts = book.cellar_in(connection, at), facts_of(connection)

    def drifts() -> Mapping[str, AirDrift]:
        from cooperage.programme.ageing.leaving import air_drifts  # NumPy comes with it

        return air_drifts(book, cellar, facts)

    def warmth() -> Warmth:
        from cooperage.programme.air.climate import days_read, room_airs  # NumPy comes with it

        return warmth_of(days_read(room_airs(book, cellar.at)), facts)

    return aged(cellar, facts, FiguresNow(cellar, drifts=drifts, warmth=warmth))
