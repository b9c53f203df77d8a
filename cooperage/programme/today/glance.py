"""The day at a glance: what is wrong, worst first; orders; the walk, room by room; what to carry; the last entry."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cooperage.book import Book, Cellar
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.facts import facts_of
from cooperage.book.log import Entry, entries
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.orders.at_stops import day_stops
from cooperage.programme.orders.checked import Checked, check_orders
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import all_coming, next_task
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.programme.signs.sign import SignState
from cooperage.programme.signs.waiting import worst_first
from cooperage.programme.today.day_walk import DayWalk, day_walk
from cooperage.programme.today.matters import Matter, matters_of
from cooperage.programme.today.ordered import with_orders
from cooperage.programme.today.planned import PlannedFlight, planned_flights
from cooperage.programme.upkeep.dips import remember_dips
from cooperage.units import DEFAULT, Units

_TWO_PEOPLE = ("lifting", "inside a tank")
"""Dangers that no one meets alone (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Today:
    """The cellar at a glance at one moment.

    `signs` are all of them, the worst first; `matters` are the same as rows. `orders` are the open ones, checked, in
    the sequence in which they are to be done, `planned` the flights to pour; `two_people` are the tags of vessels that
    an order has two people at. `rates` are the loss rates it was calculated with, `coming` what comes due next, `name`
    is the cellar's own.
    """

    cellar: Cellar
    name: str
    signs: tuple[Sign, ...]
    matters: tuple[Matter, ...]
    orders: tuple[Checked, ...]
    planned: tuple[PlannedFlight, ...]
    two_people: tuple[str, ...]
    walk: DayWalk
    full: int
    empty: tuple[str, ...]
    last: Entry | None
    coming: str
    rates: Mapping[str, LossRate]

    def count(self, state: SignState) -> int:
        """Return how many vessels have a sign of a state."""
        return len({tag for matter in self.matters if matter.state is state for tag in matter.vessels})


def today_of(book: Book, cellar: Cellar, units: Units = DEFAULT) -> Today:
    """Look over the whole cellar; reasons are worded in `units`. Raises ClockBehind."""
    rates = loss_rates(book, cellar)
    looks = looks_due(book, cellar)
    coming = all_coming(cellar, cellar.at, rates, units, looks)
    due = [each for each in coming if each.due <= cellar.at]
    found = worst_first(signs(book, cellar, rates, units))
    low = [sign.vessel for sign in found if sign.kind == "sulphite"]
    with book.reading() as connection:
        last = entries(connection, newest=1, standing=True, in_written_order=True)
        name = facts_of(connection).name
        planned = planned_flights(connection, cellar, looks)
    orders = check_orders(book, units)
    remember_dips(cellar)
    rows = with_orders(matters_of(found, cellar, rates, units), orders)
    stops = day_stops(book, cellar, due, orders, units)
    return Today(
        cellar=cellar,
        name=name,
        signs=tuple(found),
        matters=tuple(rows),
        orders=tuple(orders),
        planned=planned,
        two_people=tuple(dict.fromkeys(_with_two(orders, cellar, units))),
        walk=day_walk([stop for stop in stops if not stop.state], cellar, low),
        full=sum(standing.ml > 0 for standing in cellar.barrels),
        empty=tuple(standing.tag for standing in cellar.barrels if standing.ml == 0),
        last=last[0] if last else None,
        coming=next_task(cellar, coming),
        rates=rates,
    )


def _with_two(orders: Sequence[Checked], cellar: Cellar, units: Units) -> Iterator[str]:
    for checked in orders:
        for tag, written in (checked.written or {}).items():
            found = cautions(work_of(written.act, cellar, units))
            if any(caution.danger in _TWO_PEOPLE for caution in found):
                yield tag
