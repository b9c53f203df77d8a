"""What stands aside of the day's work: the month's losses, wood, flights under way. It may come after the rest."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar
from cooperage.book.filed import came_after_filing
from cooperage.book.log import losses
from cooperage.programme.ahead.usual import UsualLoss, usual_so_far
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling.stored import open_runs
from cooperage.programme.compared.brief import SittingDue, sittings_due
from cooperage.programme.kept import kept
from cooperage.programme.losses.ledger import TAKEN
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.ready.readiness import Readiness, readiness
from cooperage.tasting.under_way import OpenFlight, flights_under_way
from cooperage.units import local_day, midnight


@dataclass(frozen=True, slots=True)
class MonthSoFar:
    """What barrels lost in the month so far as it was written [ml], and what is usual by now; None if not known yet."""

    since: datetime
    lost_ml: int
    usual: UsualLoss | None

    @property
    def is_more(self) -> bool:
        """Return True if more was lost than usual, by more than that may be off."""
        return self.usual is not None and self.lost_ml > self.usual.high


@dataclass(frozen=True, slots=True)
class Aside:
    """The month's losses; the tags of barrels whose wood is neutral; the flights under way, newest first.

    `ready` is how each barrel stands to its definition of ready, by tag; empty where nothing is defined. `sittings` are
    what trials across barrels ask for today. `later` is the last filed period, and how many entries came
    for it or one before it that no period counts. `runs` are the bottling runs that are open.
    """

    month: MonthSoFar
    neutral: tuple[str, ...]
    flights: tuple[OpenFlight, ...]
    ready: Mapping[str, Readiness]
    sittings: tuple[SittingDue, ...] = ()
    later: tuple[str, int] | None = None
    runs: tuple[BottlingRun, ...] = ()


def aside_of(book: Book, cellar: Cellar, rates: Mapping[str, LossRate]) -> Aside:
    """Gather what stands aside; `rates` are loss rates by tag."""
    since = midnight(local_day(cellar.at).replace(day=1))
    barrels = {standing.tag for standing in cellar if standing.vessel.is_barrel}
    with book.reading() as connection:
        lost = sum(
            ml
            for _, tag, place, ml in losses(connection, since=since, until=cellar.at)
            if tag in barrels and place in TAKEN
        )
        flights = flights_under_way(connection)
        sittings = sittings_due(connection, local_day(cellar.at))
        later, runs = came_after_filing(connection), open_runs(connection)
    usual = usual_so_far(cellar, rates, since) if rates else None
    month = MonthSoFar(since, lost, usual)
    neutral, ready = tuple(_neutral(book, cellar)), readiness(book, cellar)
    return Aside(month, neutral, tuple(flights), ready, tuple(sittings), later, tuple(runs))


def _neutral(book: Book, cellar: Cellar) -> list[str]:
    """Return the tags of barrels whose wood is neutral; what is known of that day is read without NumPy."""

    def found() -> list[str]:
        from cooperage.programme.wood.left import effects_now, is_neutral

        effects = effects_now(book, cellar)
        return [standing.tag for standing in cellar.barrels if is_neutral(effects.get(standing.tag))]

    return kept(cellar.mark, f"neutral-{local_day(cellar.at):%Y%m%d}", found, list, list)
