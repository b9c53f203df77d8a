"""The cellar with every figure as it is now: what screens, commands, reports and pools ask in place of the book's.

The book itself keeps figures as they were read, carried on by hands alone; nothing that is written rests on these.
"""

from dataclasses import replace
from datetime import datetime
from math import log

from cooperage.book import Book, Cellar, Figure, Standing
from cooperage.book.facts import USUAL, Facts, facts_of
from cooperage.programme.ageing.course import Course, band_of
from cooperage.programme.ageing.figures import FiguresNow, Now
from cooperage.programme.ageing.leaving import leaving_of

_TENFOLD = log(10.0)  # molecular SO2 goes by the power of ten of the pH


class AgedStanding(Standing):
    """One vessel whose figures are those of now, with their bands; its levels and lots are the book's."""

    def __init__(self, standing: Standing, figures: FiguresNow, facts: Facts) -> None:
        super().__init__(standing.vessel, standing.state, standing.at, standing.lots_by_id)
        self._book, self._figures, self.facts = standing, figures, facts

    def now(self, name: str) -> Now:
        """Return a figure as it is now, with how it goes on."""
        return self._figures.of(self._book, name)

    def noise(self, name: str) -> float:
        """Return one standard deviation of an ordinary reading here, as the cellar's readings have shown it."""
        return self._figures.noise(name)

    def figure(self, name: str) -> Figure:
        """Return a figure as it is now: as measured within the last day, else aged; with its band."""
        figure = self._book.figure(name)
        now = self.now(name)
        return figure if now.value is None or now.course is None else _dressed(figure, now)

    def molecular_figure(self) -> Figure:
        """Return molecular SO2 [mg/L] as it is now, with its band."""
        figure, course = super().molecular_figure(), self.molecular_course()
        if figure.value is None or course is None:
            return figure
        _, sd = course.after(0.0)
        low, high = band_of(figure.value, sd, 0.0)
        return replace(figure, uncertainty=sd, low=low, high=high)

    def molecular_course(self) -> Course | None:
        """Return the course of molecular SO2 [mg/L]: that of free SO2, with pH and strength as they are now.

        Its doubt is that of free SO2 and of pH, by the law of propagation (JCGM 100:2008).
        """
        free, ph, abv = (self.now(name) for name in ("free_so2_mg_l", "ph", "abv"))
        share = None if ph.value is None or abv.value is None else self.molecular_share(ph.value, abv.value)
        return None if share is None or free.course is None else free.course.times(share, _TENFOLD * ph.sd)


def _dressed(figure: Figure, now: Now) -> Figure:
    """Return the book's figure with the value of now and its band; one just measured stays as measured."""
    low, high = now.band() or (None, None)
    is_fresh = now.is_fresh and figure.value is not None
    value, how = (figure.value, figure.how) if is_fresh else (now.value, "calculated")
    return replace(figure, value=value, how=how, uncertainty=now.sd, measured=now.measured, low=low, high=high)


def aged(cellar: Cellar, facts: Facts = USUAL, figures: FiguresNow | None = None) -> Cellar:
    """Return a cellar whose vessels give their figures as they are now, by `figures` of it where they are at hand."""
    figures = figures or FiguresNow(cellar)
    return Cellar([AgedStanding(standing, figures, facts) for standing in cellar], cellar.lots, cellar.at)


def cellar_now(book: Book, at: datetime | None = None) -> Cellar:
    """Return the state of the cellar, now or at a past time, with every figure as it was to be expected then."""
    with book.reading() as connection:
        facts = facts_of(connection)
    cellar = book.cellar(at)
    figures = FiguresNow(cellar, leaving=lambda: leaving_of(book, now, list(cellar), facts))
    now = aged(cellar, facts, figures)
    return now
