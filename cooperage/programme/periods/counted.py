"""A physical count beside the figures of a period: litres by vessel, bottles by bottling, by class of strength."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from cooperage.book import Book, Cellar
from cooperage.book.bottles import BottlePlace, bottle_stock
from cooperage.book.store.registry import Registry
from cooperage.errors import BadInput
from cooperage.programme.pasted.table import Unread
from cooperage.programme.pasted.tally import read_tally
from cooperage.programme.periods.classes import by_strength, classes_on
from cooperage.programme.periods.lines import BOTTLED, BULK, PARTS
from cooperage.programme.periods.passing import BookPassed, pass_over
from cooperage.units import DEFAULT, Span, Units, local_day

_OUTSIDE = frozenset(place.value for place in BottlePlace)


class NoBottleCount(BadInput):
    """A line that names a bottling and no number of bottles."""

    def __init__(self, code: str, text: str) -> None:
        self.code = code
        super().__init__(f"'{text}' is no number of bottles of {code}; write such as '{code} 118'")


@dataclass(frozen=True, slots=True)
class CountedThings:
    """What was counted: litres by vessel [ml] and whole bottles by bottling; and the lines not understood."""

    vessels: dict[str, int]
    bottles: dict[str, int]
    unread: tuple[Unread, ...] = ()

    def as_kept(self) -> dict[str, dict[str, int]]:
        """Return it as a filed period keeps it."""
        return {"vessels": self.vessels, "bottles": self.bottles}


@dataclass(frozen=True, slots=True)
class CountedClass:
    """A part and class: what the book has of the things counted, and what was counted [ml]."""

    part: str
    strength_class: str
    book_ml: int
    counted_ml: int

    @property
    def missing_ml(self) -> int:
        """What the count lacks [ml]; below zero where there is more than the book has."""
        return self.book_ml - self.counted_ml


@dataclass(frozen=True, slots=True)
class PeriodCount:
    """A count by class, and what holds something by the book but was not counted."""

    rows: tuple[CountedClass, ...]
    not_counted: tuple[str, ...]


def read_count(text: str, cellar: Cellar, codes: Sequence[str], units: Units = DEFAULT) -> CountedThings:
    """Read lines such as "B-017 224.1 L" and "HE-24 118": a vessel and its volume, a bottling and its bottles."""
    known = {code.casefold(): code for code in codes}
    bottles: dict[str, int] = {}
    unread: list[Unread] = []
    others = text.splitlines()
    for number, line in enumerate(others, 1):
        name, _, rest = line.strip().replace("\t", " ").partition(" ")
        code = known.get(name.rstrip(":,;=").casefold())
        if code is not None:
            others[number - 1] = ""
            amount = rest.strip(" :,;=").removesuffix("bottles").removesuffix("bottle").strip()
            if amount.isdecimal():
                bottles[code] = bottles.get(code, 0) + int(amount)
            else:
                unread.append(Unread(number, line.strip(), str(NoBottleCount(code, rest.strip()))))
    tally = read_tally("\n".join(others), cellar, units)
    return CountedThings(tally.counted, bottles, (*unread, *tally.unread))


def bottling_codes(connection: Connection, span: Span) -> list[str]:
    """List the bottlings of which the book has bottles in a store as a span ends, the oldest first."""
    return list(_stores(connection, span))


def _stores(connection: Connection, span: Span) -> dict[str, tuple[str, int, int]]:
    """Return (bottling id, bottles in stores, ml of one) by code."""
    found: dict[str, tuple[str, int, int]] = {}
    for each in bottle_stock(connection, until=span.last):
        if each.place not in _OUTSIDE:
            had = found.get(each.code, ("", 0, 0))[1]
            found[each.code] = each.bottling_id, had + each.bottles, each.bottle_ml
    return found


def compare_count(
    connection: Connection, counted: Mapping[str, Mapping[str, int]], passed: BookPassed, span: Span
) -> PeriodCount:
    """Hold a count against the book as a span ends."""
    sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    left: list[str] = []
    vessels, bottles = counted.get("vessels", {}), counted.get("bottles", {})
    registry = Registry(connection)
    for vessel in registry.load():
        ml, name = passed.vessels[vessel.id]
        if vessel.tag in vessels:
            _add(sums, (BULK, name), ml, vessels[vessel.tag])
        elif ml:
            left.append(vessel.tag)
    for code, (bottling_id, there, size) in _stores(connection, span).items():
        if code in bottles:
            _add(sums, (BOTTLED, passed.stores[bottling_id].strength_class), there * size, bottles[code] * size)
        elif there:
            left.append(code)
    order = by_strength({name for _, name in sums})
    rows = sorted(sums, key=lambda key: (PARTS.index(key[0]), order.index(key[1])))
    return PeriodCount(tuple(CountedClass(*key, *sums[key]) for key in rows), tuple(left))


def _add(sums: dict[tuple[str, str], list[int]], key: tuple[str, str], book_ml: int, counted_ml: int) -> None:
    sums[key][0] += book_ml
    sums[key][1] += counted_ml


def count_at_end(book: Book, text: str, span: Span, units: Units = DEFAULT) -> tuple[CountedThings, PeriodCount]:
    """Read a count and hold it against the book as a span ends."""
    with book.reading() as connection:
        cellar = book.cellar_in(connection, span.seen_at(book.now()))
        things = read_count(text, cellar, bottling_codes(connection, span), units)
        classes = classes_on(connection, local_day(span.start or book.now()))
        passed = pass_over(connection, Span(None, span.end), classes, is_unchanged=False)
        return things, compare_count(connection, things.as_kept(), passed, span)
