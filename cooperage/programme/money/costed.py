"""What one vessel, lot or bottling has cost, in its parts; per litre and per bottle."""

from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book.errors import NothingToTrace
from cooperage.errors import BadInput
from cooperage.programme.money.bottles import BottledWorth
from cooperage.programme.money.ledger import HeldWorth
from cooperage.programme.money.value import CellarValue
from cooperage.programme.money.worth import FOR, Gap, MeadCost
from cooperage.units import show_day


@dataclass(frozen=True, slots=True)
class CostLine:
    """One part of a cost: what it was for, of which lot, substance or thing, and the cents."""

    what: str
    of: str
    cents: int


@dataclass(frozen=True, slots=True)
class Costed:
    """What a code has cost, in cents of what is known: its parts sum to it; `gaps` are what is not known.

    `ml` is what it concerns, of a bottling with so many whole bottles. Of a barrel, `price` and `left_in_books` are its
    own, and `let_go` what was left of it when it was retired; of a bottling, `stock` are the bottles that are still
    there; of a lot, `received` are millilitres and cents.
    """

    code: str
    kind: str
    ml: int
    lines: tuple[CostLine, ...]
    gaps: dict[Gap, float]
    bottles: int | None = None
    bottle_ml: int | None = None
    price: int | None = None
    left_in_books: int | None = None
    let_go: int | None = None
    angels_ml: int = 0
    angels: int | None = 0
    stock: tuple[int, int] | None = None
    received: tuple[int, int] | None = None

    @property
    def cents(self) -> int:
        """All that is known of its cost."""
        return sum(line.cents for line in self.lines)

    @property
    def per_l(self) -> float | None:
        """Of a litre [cents]; None where it is not known."""
        return 1000 * self.cents / self.ml if self.ml and not self.gaps else None

    @property
    def per_bottle(self) -> float | None:
        """Of a bottle [cents]; None where it is not known, or there are none."""
        return self.cents / self.bottles if self.bottles and not self.gaps else None


class BottledLater(BadInput):
    """A bottling that was not filled yet at the moment asked for."""

    def __init__(self, code: str, bottled_at: datetime, at: datetime) -> None:
        self.code, self.bottled_at = code, bottled_at
        super().__init__(f"{code} was bottled later, on {show_day(bottled_at)}; on {show_day(at)} it had no cost")


def costs_of(value: CellarValue, code: str) -> list[Costed]:
    """Return what a bottling, a lot or a vessel has cost; of bottles of several sizes, each.

    Raises NothingToTrace, BottledLater.
    """
    wanted = code.strip().upper()
    bottled = [each for each in value.bottlings if each.code.upper() == wanted]
    if bottled:
        return _of_bottlings(value, bottled)
    if wanted in {name.upper() for name in value.lots.values()}:
        return [_of_lot(value, wanted)]
    held = [each for each in value.ledger.held.values() if each.vessel.tag.upper() == wanted]
    if held:
        return [_of_vessel(value, held[0])]
    for later, bottled_at in value.later.items():
        if later.upper() == wanted:
            raise BottledLater(later, bottled_at, value.at)
    raise NothingToTrace(code, [*(each.code for each in value.bottlings), *value.names.values()])


def lines_of(value: CellarValue, worth: MeadCost) -> tuple[CostLine, ...]:
    """Return the parts of a cost, by what they were for, the largest first."""
    lines = (CostLine(what, value.name(of), cents) for (what, of), cents in worth.parts.items())
    return tuple(sorted(lines, key=lambda line: (FOR.index(line.what), -line.cents, line.of)))


def _of_vessel(value: CellarValue, held: HeldWorth) -> Costed:
    costed = Costed(held.vessel.tag, "vessel", held.ml, lines_of(value, held.worth), held.worth.gaps)
    if held.books is None:
        return costed
    took = [each for each in value.ledger.angels if each.vessel.id == held.vessel.id]
    known = None if any(each.cents is None for each in took) else sum(each.cents or 0 for each in took)
    return replace(
        costed,
        kind="barrel",
        price=held.books.price,
        left_in_books=held.books.left,
        let_go=held.books.let_go,
        angels_ml=sum(each.ml for each in took),
        angels=known,
    )


def _of_bottlings(value: CellarValue, bottled: list[BottledWorth]) -> list[Costed]:
    found = []
    for size in sorted({each.bottle_ml for each in bottled}):
        worth, stock, left = MeadCost(), 0, 0
        runs = [each for each in bottled if each.bottle_ml == size]
        for each in runs:
            worth.join(each.filled)
            there, of_them = each.in_stock
            stock, left = stock + there, left + of_them.cents
        ml, bottles = sum(each.ml for each in runs), sum(each.bottles for each in runs)
        lines = lines_of(value, worth)
        found.append(Costed(runs[0].code, "bottling", ml, lines, worth.gaps, bottles, size, stock=(stock, left)))
    return found


def _of_lot(value: CellarValue, code: str) -> Costed:
    lot_id, name = next((id_, name) for id_, name in value.lots.items() if name.upper() == code)
    lines: list[CostLine] = []
    ml, gaps = 0.0, dict[Gap, float]()
    for place, worth in value.places:
        if lot_id in worth.origins:
            ml += worth.origins[lot_id]
            lines.append(CostLine("in", place, worth.by_lot().get(lot_id, 0)))
            for gap, of in worth.gaps.items():
                if gap[0] != "lot" or gap[1] == lot_id:
                    gaps[gap] = gaps.get(gap, 0.0) + of
    received = value.ledger.received.get(lot_id, (0, 0))
    return Costed(name, "lot", round(ml), tuple(lines), gaps, received=received)
