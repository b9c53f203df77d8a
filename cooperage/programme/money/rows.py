"""The value of the cellar as rows, by kind of place, vessel, lot or bottling; and the balance of all costs."""

from collections.abc import Callable
from dataclasses import dataclass

from cooperage.programme.money.value import CellarValue
from cooperage.programme.money.worth import MeadCost


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One line of the cellar's value: millilitres, whole bottles (None where it is no bottling), cents.

    `is_known` is False where a part of the cost is not known; `filled_per_bottle` is what a bottle had cost when it was
    filled [cents].
    """

    what: str
    ml: int | None
    bottles: int | None
    cents: int
    is_known: bool
    filled_per_bottle: float | None = None

    @property
    def per_l(self) -> float | None:
        """What a litre has cost [cents]; None where it is not known."""
        return 1000 * self.cents / self.ml if self.ml and self.is_known else None


@dataclass(frozen=True, slots=True)
class CostBalance:
    """What came in, is left, went out and was lost, in cents by name: the first is the sum of the others.

    `is_known` is False where the cost of something that is left is not known: the sums are of what is.
    """

    into: dict[str, int]
    left: dict[str, int]
    out: dict[str, int]
    lost: dict[str, int]
    is_known: bool

    @property
    def differs(self) -> int:
        """By how many cents what came in is not what became of it: none, by a law that tests hold."""
        became = (*self.left.values(), *self.out.values(), *self.lost.values())
        return sum(self.into.values()) - sum(became)


def balance_of(value: CellarValue) -> CostBalance:
    """Return what came in and what became of it."""
    return CostBalance(value.into, value.left, value.out, value.lost, not value.gaps)


def _by_kind(value: CellarValue) -> list[ValueRow]:
    rows = []
    for kind in dict.fromkeys(each.vessel.kind for each in value.vessels):
        held = [each for each in value.vessels if each.vessel.kind == kind]
        rows.append(_of_worths(f"mead in {kind}s", [(each.ml, each.worth) for each in held]))
    return [*rows, *_bottles(value), *_wood(value)]


def _bottles(value: CellarValue) -> list[ValueRow]:
    """Return one line of all bottles; none where there are none."""
    stock = [(each.bottle_ml, *each.in_stock) for each in value.bottlings]
    if not any(bottles for _, bottles, _ in stock):
        return []
    summed = _of_worths("bottles", [(ml * bottles, worth) for ml, bottles, worth in stock])
    return [ValueRow("bottles", summed.ml, sum(each[1] for each in stock), summed.cents, summed.is_known)]


def _wood(value: CellarValue) -> list[ValueRow]:
    """Return one line of what is left of the barrels' price; none without barrels."""
    if not value.barrels:
        return []
    known = all(each.books.is_known for each in value.barrels if each.books is not None)
    return [ValueRow("barrels, left of their price", None, None, value.left["wood"], known)]


def _of_worths(what: str, found: list[tuple[int, MeadCost]]) -> ValueRow:
    known = all(worth.is_known for _, worth in found)
    return ValueRow(what, sum(ml for ml, _ in found), None, sum(worth.cents for _, worth in found), known)


def _vessels(value: CellarValue) -> list[ValueRow]:
    return [_of_worths(each.vessel.tag, [(each.ml, each.worth)]) for each in value.vessels]


def _by_vessel(value: CellarValue) -> list[ValueRow]:
    return [*_vessels(value), *_bottles(value), *_wood(value)]


def _by_lot(value: CellarValue) -> list[ValueRow]:
    rows = [ValueRow(each.name, round(each.ml), None, each.cents, each.is_known) for each in value.by_origin()]
    return [*rows, *_wood(value)]


def _bottlings(value: CellarValue) -> list[ValueRow]:
    rows = []
    for each in value.bottlings:
        bottles, worth = each.in_stock
        known = worth.is_known and each.filled.is_known
        rows.append(ValueRow(each.code, bottles * each.bottle_ml, bottles, worth.cents, known, each.per_bottle))
    return rows


def _by_bottling(value: CellarValue) -> list[ValueRow]:
    held = [(each.ml, each.worth) for each in value.vessels]
    return [*_bottlings(value), *([_of_worths("mead in vessels", held)] if held else ()), *_wood(value)]


def one_by_one(value: CellarValue) -> list[ValueRow]:
    """List every vessel and every bottling, and what is left of the barrels' price."""
    return [*_vessels(value), *_bottlings(value), *_wood(value)]


VALUE_BY: dict[str, Callable[[CellarValue], list[ValueRow]]] = {
    "kind": _by_kind,
    "vessel": _by_vessel,
    "lot": _by_lot,
    "bottling": _by_bottling,
}
"""By what the value of the cellar is listed: each list has all that is left, what it does not divide in one line."""


def sum_of(rows: list[ValueRow]) -> ValueRow:
    """Add rows up."""
    ml, bottles = sum(row.ml or 0 for row in rows), sum(row.bottles or 0 for row in rows)
    return ValueRow("in all", ml, bottles or None, sum(row.cents for row in rows), all(row.is_known for row in rows))
