"""Where litres went: losses by cause, barrel, room, lot, wood or month, and each barrel's own loss rate."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book import Book, Cellar, Standing
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.log import losses
from cooperage.errors import BadInput, choose_from
from cooperage.programme.kept import kept
from cooperage.programme.losses.loss_rate import LossRate, rates_as_json, rates_from_json
from cooperage.programme.losses.stays import Stay, Stays, stays
from cooperage.units import local_day, midnight, show_month

TAKEN = (Outside.EVAPORATED.value, Outside.LEAK.value, Outside.GAUGING.value)
"""Causes that a barrel's loss rate explains; what new wood soaks up in its first weeks is beyond it."""


class UnknownGrouping(BadInput):
    """A way of grouping losses that there is not."""

    def __init__(self, by: str) -> None:
        self.by = by
        super().__init__(f"losses cannot be grouped by '{by}'{choose_from(by, GROUPINGS)}")


PERIODS: dict[str, int | None] = {"30 days": 30, "90 days": 90, "12 months": 365, "24 months": 730, "all time": None}
"""Spans of time that a report looks back over, by name [days]."""


class UnknownPeriod(BadInput):
    """A period that has no name."""

    def __init__(self, period: str) -> None:
        self.period = period
        super().__init__(f"'{period}' is no period{choose_from(period, PERIODS)}")


def period_began(period: str, now: datetime) -> datetime | None:
    """Return when a period that ends now began, at the midnight of its first day; None for all time.

    Raises UnknownPeriod.
    """
    if period not in PERIODS:
        raise UnknownPeriod(period)
    days = PERIODS[period]
    return None if days is None else midnight(local_day(now) - timedelta(days=days))


@dataclass(frozen=True, slots=True)
class LossRow:
    """What one group lost [ml], by cause and in all; a gain counts as a negative loss."""

    what: str
    causes: dict[str, int]
    total_ml: int

    @property
    def taken_ml(self) -> int:
        """What wood and air took of it, slips at the dip included [ml]: what the usual is held against."""
        return sum(self.causes.get(cause, 0) for cause in TAKEN)


Grouping = Callable[[Standing, datetime, Stay | None], str]


def _room(_standing: Standing, _at: datetime, stay: Stay | None) -> str:
    return (stay.room if stay else "") or "no room"


def _lot(_standing: Standing, _at: datetime, stay: Stay | None) -> str:
    return stay.lot if stay else "empty then"


def _wood(standing: Standing, _at: datetime, _stay: Stay | None) -> str:
    barrel = standing.vessel.barrel
    return "no wood" if barrel is None else barrel.wood or "unknown wood"


GROUPINGS: dict[str, Grouping] = {
    "cause": lambda _standing, _at, _stay: "",
    "barrel": lambda standing, _at, _stay: standing.tag,
    "room": _room,
    "lot": _lot,
    "wood": _wood,
    "month": lambda _standing, at, _stay: show_month(at),
}
_NEEDS_STAYS = frozenset({"room", "lot"})


def grouping_named(by: str) -> Grouping:
    """Find a way of grouping; raises UnknownGrouping."""
    if by not in GROUPINGS:
        raise UnknownGrouping(by)
    return GROUPINGS[by]


def losses_by(
    book: Book, by: str, since: datetime | None = None, until: datetime | None = None, spent: Stays | None = None
) -> list[LossRow]:
    """Sum losses by a grouping, the largest first (months in order); raises UnknownGrouping.

    Rooms and lots are those in which the vessel lay, and which it mostly held, when it lost; `spent` are those
    stays, calculated here if they are left out.
    """
    return losses_by_each(book, (by,), since, until, spent)[by]


def losses_by_each(
    book: Book,
    bys: Sequence[str],
    since: datetime | None = None,
    until: datetime | None = None,
    spent: Stays | None = None,
) -> dict[str, list[LossRow]]:
    """Sum losses by each of several groupings, as `losses_by` does, in one look at the book."""
    groups, cellar = {by: grouping_named(by) for by in bys}, book.cellar()
    spent = stays(book, until) if spent is None and _NEEDS_STAYS & set(bys) else spent or Stays([])
    summed: dict[str, _Sums] = {by: defaultdict(lambda: defaultdict(int)) for by in bys}
    with book.reading() as connection:
        for at, tag, place, ml in losses(connection, since=since, until=until):
            if OUTSIDE[Outside(place)].is_loss:
                stay = spent.at(tag, at.timestamp())
                for by, group in groups.items():
                    summed[by][place if by == "cause" else group(cellar[tag], at, stay)][place] += ml
    return {by: _rows(by, sums) for by, sums in summed.items()}


_Sums = dict[str, dict[str, int]]


def _rows(by: str, summed: _Sums) -> list[LossRow]:
    rows = [LossRow(what, dict(causes), sum(causes.values())) for what, causes in summed.items()]
    return sorted(rows, key=lambda row: (row.what,) if by == "month" else (-row.total_ml, row.what))


def total_ml(rows: Iterable[LossRow]) -> int:
    """Return everything that was lost [ml]."""
    return sum(row.total_ml for row in rows)


def loss_rates(book: Book, cellar: Cellar | None = None) -> dict[str, LossRate]:
    """Return each barrel's loss rate, pooled with barrels like it: kept from before, or learned from the book.

    Barrels with fewer than two visits of their own are lent their peers' rate. Empty while no barrel has two.
    """
    cellar = cellar or book.cellar()
    return kept(cellar.mark, "loss_rates", lambda: _learned(book, cellar), rates_as_json, rates_from_json)


def _learned(book: Book, cellar: Cellar) -> dict[str, LossRate]:
    from cooperage.programme.losses.learning import learn_loss_rates  # NumPy comes with it

    return learn_loss_rates(book, cellar)
