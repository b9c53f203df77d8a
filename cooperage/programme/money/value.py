"""The value of the cellar at any date: the pass over the book, and what it is asked for."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, func, select

from cooperage.book import Book
from cooperage.book.bottles import BottleMove, bottle_moves
from cooperage.book.facts import Facts, facts_of
from cooperage.book.lots import lots_as_known
from cooperage.book.prices import PriceList, prices_in
from cooperage.book.replay.events import STANDS, events
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLING, ENTRY
from cooperage.errors import BadInput
from cooperage.programme.kept import book_mark, kept
from cooperage.programme.money.bottles import LOST, OUT, BottledWorth
from cooperage.programme.money.kept_ledger import ledger_as_json, ledger_of
from cooperage.programme.money.ledger import BottlingRow, HeldWorth, MoneyLedger
from cooperage.programme.money.worth import Gap, MeadCost
from cooperage.units import Span, local_day, show_day


@dataclass(frozen=True, slots=True)
class CellarValue:
    """What is in the cellar at a moment and what it has cost, in cents of a currency; "" where none is set.

    `tags` and `lots` have the names of vessels and lots by id, `later` the bottlings that came after it by code. Sums
    are of what is known; `gaps` are what is not, and how many millilitres.
    """

    at: datetime
    currency: str
    ledger: MoneyLedger
    tags: dict[str, str]
    lots: dict[str, str]
    later: dict[str, datetime] = field(default_factory=dict)

    @property
    def names(self) -> dict[str, str]:
        """The tags of vessels and the codes of lots, by id."""
        return self.tags | self.lots

    @property
    def vessels(self) -> list[HeldWorth]:
        """The vessels that hold something, by tag."""
        held = (each for each in self.ledger.held.values() if each.ml)
        return sorted(held, key=lambda each: each.vessel.tag)

    @property
    def barrels(self) -> list[HeldWorth]:
        """The barrels of the programme, by tag."""
        every = self.ledger.held.values()
        held = (each for each in every if each.books is not None and each.is_there and not each.books.retired)
        return sorted(held, key=lambda each: each.vessel.tag)

    @property
    def bottlings(self) -> list[BottledWorth]:
        """Every bottling, oldest first."""
        return list(self.ledger.bottlings.values())

    @property
    def into(self) -> dict[str, int]:
        """What came in, in cents by what it was for."""
        return {name: cents for name, cents in self.ledger.into.items() if cents}

    @property
    def left(self) -> dict[str, int]:
        """What is left, in cents: in the mead, in bottles, in the wood."""
        wood = sum((each.books.left or 0) for each in self.barrels if each.books is not None)
        bottles = sum(each.in_stock[1].cents for each in self.bottlings)
        return {"mead": sum(each.worth.cents for each in self.vessels), "bottles": bottles, "wood": wood}

    @property
    def out(self) -> dict[str, int]:
        """What went out, in cents by where to: in bottles, and of barrels' price with those that were sold."""
        return _at_places(self.bottlings, OUT) | {name: cents for name, cents in self.ledger.out.items() if cents}

    @property
    def lost(self) -> dict[str, int]:
        """What was lost or written off, in cents by how."""
        found = {name: cents for name, cents in self.ledger.lost.items() if cents}
        for place, cents in _at_places(self.bottlings, LOST).items():
            found[f"bottles {place}"] = cents
        return found

    @property
    def gaps(self) -> dict[Gap, float]:
        """What is not known of what is left, and how many millilitres it concerns; of a barrel, those it holds."""
        found: dict[Gap, float] = defaultdict(float)
        for _, worth in self.places:
            for gap, ml in worth.gaps.items():
                found[gap] += ml
        for each in self.barrels:
            if each.books is not None and not each.books.is_known:
                found["barrel", each.vessel.id] = max(found["barrel", each.vessel.id], float(each.ml))
        return dict(found)

    @property
    def places(self) -> Iterator[tuple[str, MeadCost]]:
        """What is in each vessel and, of each bottling, in stock: by tag or code."""
        yield from ((each.vessel.tag, each.worth) for each in self.vessels)
        for each in self.bottlings:
            bottles, worth = each.in_stock
            if bottles:
                yield each.code, worth

    def by_origin(self) -> list["OriginWorth"]:
        """Divide all mead, in vessels and bottles, by lot and substance; what is most worth comes first."""
        found: dict[str, OriginWorth] = {}
        for _, worth in self.places:
            cents = worth.by_lot()
            for origin, ml in worth.origins.items():
                of = found.setdefault(origin, OriginWorth(origin, self.name(origin)))
                of.ml += ml
                of.cents += cents.get(origin, 0)
                of.is_known &= all(kind == "lot" and id_ != origin for kind, id_ in worth.gaps)
        return sorted(found.values(), key=lambda each: (-each.cents, each.name))

    def name(self, id_: str) -> str:
        """Return the tag or code of an id; a substance's or an outside place's name as it is."""
        return self.tags.get(id_) or self.lots.get(id_) or id_


@dataclass(slots=True)
class OriginWorth:
    """What is left of a lot, or of a substance that was added [ml], and what that has cost [cents]."""

    origin: str
    name: str
    ml: float = 0.0
    cents: int = 0
    is_known: bool = True


def _at_places(bottlings: list[BottledWorth], places: tuple[str, ...]) -> dict[str, int]:
    found: dict[str, int] = {}
    for bottling in bottlings:
        for place in places:
            cents = bottling.places[place][1].cents if place in bottling.places else 0
            if cents:
                found[place] = found.get(place, 0) + cents
    return found


class DayLiesAhead(BadInput):
    """A day that is still to come: what will be there is not known."""

    def __init__(self, day: datetime) -> None:
        self.day = day
        super().__init__(f"{show_day(day)} lies ahead; costs are known up to now: leave the day out")


def value_by(book: Book, span: Span) -> CellarValue:
    """Return the value of the cellar as a span ends, or now; raises DayLiesAhead."""
    now = book.now()
    if span.last is not None and local_day(span.last) > local_day(now):
        raise DayLiesAhead(span.last)
    return value_at(book, span.seen_at(now))


def value_at(book: Book, at: datetime | None = None) -> CellarValue:
    """Return what is in the cellar and what it has cost, now or at a past moment, in one pass over the book."""
    with book.reading() as connection:
        return value_in(connection, at or book.now())


def value_in(connection: Connection, at: datetime) -> CellarValue:
    """Return the value of the cellar at a moment as a view that is open sees it; the pass over the book is kept."""
    registry, facts = Registry(connection), facts_of(connection)
    vessels, lots = registry.load(), lots_as_known(connection, registry.lots, at)
    last = connection.execute(select(func.max(ENTRY.c.happened_at)).where(ENTRY.c.happened_at <= at)).scalar()
    ledger = kept(
        book_mark(connection, registry),
        f"money-{last or at:%Y%m%d%H%M%S%f}",
        lambda: _passed(connection, registry, facts, at),
        ledger_as_json,
        lambda row: ledger_of(row, lambda: MoneyLedger(vessels, lots, facts, PriceList(()), {}, {})),
    )
    ledger.pass_to(at)
    tags, codes = {vessel.id: vessel.tag for vessel in vessels}, {lot.id: lot.code for lot in lots.values()}
    return CellarValue(at, facts.currency, ledger, tags, codes, _bottled_later(connection, at))


def _bottled_later(connection: Connection, at: datetime) -> dict[str, datetime]:
    """Return when each bottling happened that came after a moment, by its code."""
    joined = select(BOTTLING.c.code, ENTRY.c.happened_at).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id)
    rows = connection.execute(joined.where(ENTRY.c.happened_at > at, STANDS).order_by(ENTRY.c.happened_at.desc()))
    return {row[0]: row[1] for row in rows}


def _passed(connection: Connection, registry: Registry, facts: Facts, at: datetime) -> MoneyLedger:
    """Let every entry up to a moment have its effect."""
    rows = connection.execute(select(BOTTLING.c.entry_id, BOTTLING.c.code, BOTTLING.c.bottles, BOTTLING.c.bottle_ml))
    bottlings = {entry_id: BottlingRow(*row) for entry_id, *row in rows}
    prices = PriceList(prices_in(connection), facts.currency)
    lots = lots_as_known(connection, registry.lots, at)
    ledger = MoneyLedger(registry.load(), lots, facts, prices, bottlings, _moved_bottles(connection, at))
    for event in events(connection, until=at):
        ledger.take(event)
    return ledger


def _moved_bottles(connection: Connection, at: datetime) -> dict[str, list[BottleMove]]:
    """Return what bottles went where by the entry that moved them."""
    found: dict[str, list[BottleMove]] = defaultdict(list)
    for moved in bottle_moves(connection, until=at):
        found[moved.entry_id].append(moved)
    return found
