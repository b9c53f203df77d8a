"""A physical count beside the figures of a period: litres by vessel, bottles by bottling, by class of strength."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from cooperage.book import Book, Cellar
from cooperage.book.bottles import BottlePlace, bottle_stock
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


@dataclass(frozen=True, slots=True)
class AtTheEnd:
    """What a count is held against: the cellar as a span ends, what each vessel and store held, and its class.

    `stores` are (bottling id, bottles, millilitres of one) by the code of a bottling, the oldest first.
    """

    cellar: Cellar
    passed: BookPassed
    stores: Mapping[str, tuple[str, int, int]]

    def read(self, text: str, units: Units = DEFAULT) -> tuple[CountedThings, PeriodCount]:
        """Read the lines of a count, and hold it against the book."""
        things = read_count(text, self.cellar, list(self.stores), units)
        return things, self.compare(things)

    def compare(self, counted: CountedThings) -> PeriodCount:
        """Hold a count against the book."""
        sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
        left: list[str] = []
        for each in self.cellar:
            ml, name, _ = self.passed.vessels[each.vessel.id]
            if each.tag in counted.vessels:
                _add(sums, (BULK, name), ml, counted.vessels[each.tag])
            elif ml:
                left.append(each.tag)
        for code, (bottling_id, there, size) in self.stores.items():
            name = self.passed.stores[bottling_id].strength_class
            if code in counted.bottles:
                _add(sums, (BOTTLED, name), there * size, counted.bottles[code] * size)
            elif there:
                left.append(code)
        order = by_strength({name for _, name in sums})
        rows = sorted(sums, key=lambda key: (PARTS.index(key[0]), order.index(key[1])))
        return PeriodCount(tuple(CountedClass(*key, *sums[key]) for key in rows), tuple(left))


def _add(sums: dict[tuple[str, str], list[int]], key: tuple[str, str], book_ml: int, counted_ml: int) -> None:
    sums[key][0] += book_ml
    sums[key][1] += counted_ml


def _stores(connection: Connection, span: Span) -> dict[str, tuple[str, int, int]]:
    """Return (bottling id, bottles in stores, ml of one) by code."""
    found: dict[str, tuple[str, int, int]] = {}
    for each in bottle_stock(connection, until=span.last):
        if each.place not in _OUTSIDE:
            had = found.get(each.code, ("", 0, 0))[1]
            found[each.code] = each.bottling_id, had + each.bottles, each.bottle_ml
    return found


def at_the_end(book: Book, span: Span) -> AtTheEnd:
    """Read what a count at the end of a span is held against."""
    with book.reading() as connection:
        cellar = book.cellar_in(connection, span.seen_at(book.now()))
        classes = classes_on(connection, local_day(span.start or book.now()))
        passed = pass_over(connection, Span(None, span.end), classes, is_unchanged=False)
        return AtTheEnd(cellar, passed, _stores(connection, span))
