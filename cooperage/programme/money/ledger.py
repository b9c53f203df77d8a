"""One pass over the book in which every cost goes where the millilitres go.

A lot comes with its cost, a dose with its price of that day; a barrel charges the mead in it as time passes. What
leaves a vessel takes its share of the cost, in whole cents; the remainder stays. What evaporates, soaks in, contracts,
is sampled or is left on the lees leaves its cost with the rest, which gets dearer per litre, unless the cellar writes
such a loss off (fact `written_off`: by default what is spilled, leaks or is poured away, after the abnormal waste of
IAS 2 paragraph 16, from memory). Where nothing is left to bear it, the cost is lost. So at every moment, to the cent,
what came in is what is left, went out and was lost.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from fractions import Fraction

from cooperage.book import Lot, Vessel
from cooperage.book.bottles import NOT_NAMED, BottleMove, BottlePlace
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE_IDS, Outside
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.facts import Facts
from cooperage.book.prices import HOUR, WORK_OF, PriceList
from cooperage.book.prices import PACKAGING as PUT_ON
from cooperage.book.replay.contents import UNKNOWN_ORIGIN
from cooperage.book.replay.events import Event, Move
from cooperage.programme.money.barrels import BarrelBooks
from cooperage.programme.money.bottles import BottledWorth
from cooperage.programme.money.worth import DOSES, MEAD, PACKAGING, WOOD, WORK, MeadCost, share_of
from cooperage.programme.wood.basis import basis_of
from cooperage.programme.wood.cost import in_minor_units
from cooperage.programme.wood.history import TAKES
from cooperage.units import local_day

_GAPS = frozenset(GAP_CAUSES)
LOT_COST, BARREL_PRICE = "lots", "barrels"
LET_GO, SOLD, EMPTY_WORK = "left of the price of retired barrels", "retired barrels sold", "work at empty vessels"


@dataclass(slots=True)
class HeldWorth:
    """What a vessel holds [ml] and what that has cost; of a barrel, its books. `room` is where it lies."""

    vessel: Vessel
    ml: int = 0
    worth: MeadCost = field(default_factory=MeadCost)
    books: BarrelBooks | None = None
    room: str = ""
    worked_on: date | None = None
    is_there: bool = True

    @property
    def per_l(self) -> float | None:
        """What a litre of it has cost [cents]; None where that is not known, or there is none."""
        return 1000 * self.worth.cents / self.ml if self.ml and self.worth.is_known else None


@dataclass(frozen=True, slots=True)
class AngelsTake:
    """What wood and air took from a vessel at one moment [ml], and what that mead had cost [cents, None unknown].

    The cost stays with what is left.
    """

    at: float
    vessel: Vessel
    room: str
    ml: int
    cents: int | None


@dataclass(frozen=True, slots=True)
class BottlingRow:
    """A bottling's code, whole bottles and their size [ml], as the book keeps them."""

    code: str
    bottles: int
    bottle_ml: int


class MoneyLedger:
    """What the book's entries did with the cost of everything, up to the last one that was taken.

    `into`, `out`, `lost` are cents by name, without what went out or was lost in bottles; `bottlings` in order. Give it
    entries in the order of the book with `take`, and let time pass to a moment with `pass_to`.
    """

    def __init__(
        self,
        vessels: Iterable[Vessel],
        lots: Mapping[str, Lot],
        facts: Facts,
        prices: PriceList,
        bottlings: Mapping[str, BottlingRow],
        moved: Mapping[str, Sequence[BottleMove]],
    ) -> None:
        self._lots, self._facts, self._prices, self._rows, self._moved = lots, facts, prices, bottlings, moved
        self._basis = basis_of(facts)
        self._one = 10**self._basis.decimals
        self.held = {vessel.id: self._held(vessel) for vessel in vessels}
        self.into: dict[str, int] = defaultdict(int)
        self.out: dict[str, int] = defaultdict(int)
        self.lost: dict[str, int] = defaultdict(int)
        self.lost_gaps: dict[tuple[str, str], float] = {}
        self.bottlings: dict[str, BottledWorth] = {}
        self.angels: list[AngelsTake] = []
        self.received: dict[str, tuple[int, int]] = {}

    def _held(self, vessel: Vessel) -> HeldWorth:
        books = None
        if vessel.barrel is not None:
            cost = vessel.barrel.cost
            price = None if cost is None else in_minor_units(cost, self._basis.decimals)
            books = BarrelBooks(price, vessel.barrel.fills_before, self._basis)
        return HeldWorth(vessel, books=books, room=vessel.position[0] or "")

    def take(self, event: Event) -> None:
        """Let one entry have its effect."""
        touched = [self.held[each] for each in _vessels_of(event) if each in self.held]
        for held in touched:
            self._age(held, event.at)
        work = self._work_priced(event)
        worked = None if work else self._work(event)
        poured = self._move_bottles(event)
        for move in _in_turn(event.moves):
            self._move(move, event, poured)
        self._doses(event)
        if work and event.id not in self.bottlings:
            self._bear_act(event, work)
        elif worked is not None:
            self._bear_work(worked, event.at)
        for held in touched:
            if held.books is not None:
                held.books.stands_at(event.at, is_filled=held.ml > 0)
        self._fields(event)

    def pass_to(self, at: datetime) -> None:
        """Let time pass to a moment: barrels charge what is in them; barrels that are there by then have come in."""
        for held in self.held.values():
            self._age(held, at.timestamp())
            held.is_there = _is_there(held, at)
            if held.books is not None and held.books.price is not None and held.is_there:
                self.into[BARREL_PRICE] += held.books.price

    # --- what happens to one vessel ---------------------------------------------------------------------------------

    def _age(self, held: HeldWorth, at: float) -> None:
        if held.books is None or not held.ml:
            return
        charge = held.books.charge(at)
        if charge is None:
            held.worth.miss(("barrel", held.vessel.id), float(held.ml))
        else:
            held.worth.bear((WOOD, ""), charge)

    def _move(self, move: Move, event: Event, poured: MeadCost) -> None:
        source, destination = self.held.get(move.source), self.held.get(move.destination)
        if source is None and destination is not None:
            self._comes_in(move, destination, event, poured)
        elif source is not None and destination is None:
            self._leaves(move, source, event)
        elif source is not None and destination is not None:
            taken = source.worth.take(move.ml, source.ml)
            source.ml -= move.ml
            destination.worth.join(taken.as_topping() if event.kind == "top" else taken)
            destination.ml += move.ml

    def _comes_in(self, move: Move, held: HeldWorth, event: Event, poured: MeadCost) -> None:
        if move.lot is not None and move.source == Outside.RECEIVED:
            held.worth.join(self._of_lot(move.lot, move.ml))
        elif move.substance is not None:
            held.worth.join(MeadCost(origins={move.substance: float(move.ml)}))
            if event.kind != "addition":  # there the amount stands as it was weighed
                self._dose(held, move.substance, Fraction(move.ml) / Fraction(_ml_per_unit(move.substance)), event.at)
        elif move.source == Outside.BOTTLED:
            held.worth.join(poured)
        elif held.ml:
            held.worth.scale((held.ml + move.ml) / held.ml)  # more of the same, which cost no more
        else:
            held.worth.join(MeadCost(gaps={("found", ""): float(move.ml)}, origins={UNKNOWN_ORIGIN: float(move.ml)}))
        held.ml += move.ml

    def _of_lot(self, lot_id: str, ml: int) -> MeadCost:
        cost = self._lots[lot_id].cost_per_l
        worth = MeadCost(origins={lot_id: float(ml)})
        cents = 0 if cost is None else round(Fraction(repr(cost)) * ml * self._one / 1000)
        if cost is None:
            worth.miss(("lot", lot_id), float(ml))
        worth.bear((MEAD, lot_id), cents)
        self.into[LOT_COST] += cents
        had_ml, had = self.received.get(lot_id, (0, 0))
        self.received[lot_id] = had_ml + ml, had + cents
        return worth

    def _leaves(self, move: Move, held: HeldWorth, event: Event) -> None:
        place, ml, there = move.destination, move.ml, held.ml
        held.ml = there - ml
        if place == Outside.BOTTLED:
            self._bottle(event, ml, held.worth.take(ml, there))
            return
        if place in TAKES:
            cents = share_of(held.worth.cents, ml, there) if held.worth.is_known else None
            self.angels.append(AngelsTake(event.at, held.vessel, held.room, ml, cents))
        if place in self._facts.written_off or ml >= there:
            self._lose(place, held.worth.take(ml, there))
        else:
            held.worth.scale(held.ml / there)

    def _lose(self, name: str, worth: MeadCost) -> None:
        self.lost[name] += worth.cents
        for gap, ml in worth.gaps.items():
            self.lost_gaps[gap] = self.lost_gaps.get(gap, 0.0) + ml

    # --- what is added ----------------------------------------------------------------------------------------------

    def _doses(self, event: Event) -> None:
        said = event.said or {}
        if event.kind == "addition" and event.vessel is not None:
            self._dose(self.held[event.vessel], said["substance"], Fraction(repr(float(said["amount"]))), event.at)

    def _dose(self, held: HeldWorth, substance: str, amount: Fraction, at: float) -> None:
        self._buy(held.worth, (DOSES, substance), self._prices.rate(substance, at), amount, held.ml)

    def _buy(self, worth: MeadCost, part: tuple[str, str], rate: Fraction | None, amount: Fraction, ml: int) -> None:
        if rate is None:
            worth.miss(("price", part[1]), float(ml))
            return
        cents = round(rate * amount * self._one)
        worth.bear(part, cents)
        self.into[part[0]] += cents

    def _work(self, event: Event) -> HeldWorth | None:
        """Return the barrel at which a day's work began with an entry, where work is counted."""
        held = self.held.get(event.vessel or "")
        if not self._facts.work_minutes or held is None or held.books is None:
            return None
        day = local_day(datetime.fromtimestamp(event.at, UTC))
        if held.worked_on == day:
            return None
        held.worked_on = day
        if held.ml:
            self._bear_work(held, event.at)
            return None
        return held

    def _bear_work(self, held: HeldWorth, at: float) -> None:
        hours = Fraction(repr(self._facts.work_minutes)) / 60
        bears = held.worth if held.ml else MeadCost()
        self._buy(bears, (WORK, HOUR), self._prices.rate(HOUR, at), hours, held.ml)
        if not held.ml:
            self._lose(EMPTY_WORK, bears)

    def _work_priced(self, event: Event) -> str:
        """Return the item that an act's work is where it has a price by itself, which goes before minutes a day.

        Without one, and once it was taken back, such work is not counted each time.
        """
        item = WORK_OF.get(event.kind, "")
        price = self._prices.in_force(item, event.at) if item else None
        return "" if price is None or price.amount is None else item

    def _bear_act(self, event: Event, item: str) -> None:
        """Let the mead that an act moved bear its work, else that of its vessel; where there is none it is lost."""
        ends = [move.destination for move in event.moves if move.destination in self.held]
        held = self.held.get(ends[-1] if ends else event.vessel or "")
        ml = 0 if held is None else held.ml
        bears = held.worth if held is not None and ml else MeadCost()
        self._buy(bears, (WORK, item), self._prices.rate(item, event.at), Fraction(1), ml)
        if not ml:
            self._lose(EMPTY_WORK, bears)

    # --- bottles ----------------------------------------------------------------------------------------------------

    def _bottle(self, event: Event, ml: int, worth: MeadCost) -> None:
        row = self._rows[event.id]
        for item in PUT_ON:
            rate = self._prices.rate(item, event.at, row.bottle_ml)
            if rate is None:
                worth.miss(("price", f"{item} {row.bottle_ml}"), float(ml))
            else:
                self._buy(worth, (PACKAGING, item), rate, Fraction(row.bottles), ml)
        if work := self._work_priced(event):
            self._buy(worth, (WORK, work), self._prices.rate(work, event.at), Fraction(1), ml)
        filled = replace(worth, parts=dict(worth.parts), gaps=dict(worth.gaps), origins=dict(worth.origins))
        bottled = BottledWorth(event.id, row.code, event.at, ml, row.bottles, row.bottle_ml, filled)
        bottled.places[NOT_NAMED] = row.bottles, worth
        self.bottlings[event.id] = bottled

    def _move_bottles(self, event: Event) -> MeadCost:
        """Let bottles go where an entry put them; return what is poured back out of them."""
        poured = MeadCost()
        for moved in self._moved.get(event.id, ()):
            if moved.source != BottlePlace.FILLED and moved.bottling_id in self.bottlings:
                poured.join(self.bottlings[moved.bottling_id].move(moved))
        return poured

    def _fields(self, event: Event) -> None:
        held = self.held.get(event.vessel or "")
        if held is None:
            return
        if event.kind == "shift":
            held.room = (event.said or {}).get("room") or ""
        elif event.kind == "retire" and held.books is not None:
            left, received = held.books.retires(), (event.said or {}).get("received") or 0.0
            sold = min(left, in_minor_units(float(received), self._basis.decimals))
            self.out[SOLD] += sold
            self.lost[LET_GO] += left - sold


def _ml_per_unit(substance: str) -> str:
    return repr(SUBSTANCES[substance].ml_per_unit)


def _vessels_of(event: Event) -> list[str]:
    """List the vessels that an entry is about or moves mead of, each once."""
    ends = (end for move in event.moves for end in (move.source, move.destination))
    named = [event.vessel] if event.vessel else []
    return [each for each in dict.fromkeys((*named, *ends)) if each not in OUTSIDE_IDS]


def _in_turn(moves: Sequence[Move]) -> Sequence[Move]:
    """Return moves so that what is lost of a vessel leaves before what goes on, which then bears its cost.

    So lees, and a rest that was not there, make dearer what is racked or bottled. A vessel that takes in too keeps its
    order.
    """
    taking = {move.destination for move in moves}
    early = [m for m in moves if m.destination in _STAY_FIRST and m.source not in taking]
    return moves if not early else [*early, *(move for move in moves if move not in early)]


_STAY_FIRST = frozenset(place.value for place in Outside) - {Outside.BOTTLED, Outside.CONTRACTION, Outside.RECEIVED}


def _is_there(held: HeldWorth, at: datetime) -> bool:
    """Return True if a barrel is in the cellar at a moment, by when it came or was registered; else it always was."""
    barrel = held.vessel.barrel
    came = (barrel.acquired_on if barrel else None) or held.vessel.registered_at
    return came is None or came <= at or held.ml > 0 or (held.books is not None and held.books.left != held.books.price)
