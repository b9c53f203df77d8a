"""Costs and values as scripts read them: sums in the currency that stands beside them, None where unknown.

What is only known in part has its known part under `known_value`, and under `not_known` what is missing.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from cooperage.book.prices import ITEMS, Price
from cooperage.programme.money.angels import AngelsRow
from cooperage.programme.money.costed import Costed
from cooperage.programme.money.rows import CostBalance, ValueRow
from cooperage.programme.money.value import CellarValue
from cooperage.programme.money.worth import Gap
from cooperage.units import decimals_of


class MoneyJson:
    """Makes JSON of one cellar's sums."""

    def __init__(self, value: CellarValue) -> None:
        self._value, self._one = value, 10 ** decimals_of(value.currency)

    def head(self) -> dict[str, Any]:
        """Return the currency, None where none is set, and the moment."""
        return {"currency": self._value.currency or None, "as_of": self._value.at}

    def sum(self, cents: float | None) -> float | None:
        """Return a sum in the currency."""
        return None if cents is None else cents / self._one

    def gaps(self, gaps: Mapping[Gap, float]) -> list[dict[str, Any]]:
        """Return what is not known, and how many litres it concerns."""
        ranked = sorted(gaps.items(), key=lambda item: (-item[1], item[0]))
        return [{"what": kind, "of": self._value.name(name), "concerns_l": ml / 1000} for (kind, name), ml in ranked]

    def row(self, row: ValueRow) -> dict[str, Any]:
        """Return one line of the cellar's value."""
        return {
            "what": row.what,
            "volume_l": None if row.ml is None else row.ml / 1000,
            "bottles": row.bottles,
            "value": self.sum(row.cents) if row.is_known else None,
            "known_value": self.sum(row.cents),
            "value_per_l": self.sum(row.per_l),
            "cost_per_bottle": self.sum(row.filled_per_bottle),
        }

    def balance(self, balance: CostBalance) -> dict[str, Any]:
        """Return what came in and what became of it."""
        parts = {"came_in": balance.into, "left": balance.left, "went_out": balance.out, "lost": balance.lost}
        return {name: {what: self.sum(cents) for what, cents in each.items()} for name, each in parts.items()}

    def costed(self, each: Costed) -> dict[str, Any]:
        """Return what a code has cost."""
        found: dict[str, Any] = {
            "code": each.code,
            "kind": each.kind,
            "volume_l": each.ml / 1000,
            "cost": None if each.gaps else self.sum(each.cents),
            "known_cost": self.sum(each.cents),
            "cost_per_l": self.sum(each.per_l),
            "parts": [{"for": line.what, "of": line.of, "cost": self.sum(line.cents)} for line in each.lines],
            "not_known": self.gaps(each.gaps),
        }
        if each.kind == "barrel":
            found |= {"price": self.sum(each.price), "book_value": self.sum(each.left_in_books)}
            found["book_value_when_retired"] = self.sum(each.let_go)
            found |= {"angels_took_l": each.angels_ml / 1000, "angels_cost": self.sum(each.angels)}
        if each.stock is not None:
            found |= {"bottles": each.bottles, "bottle_l": (each.bottle_ml or 0) / 1000}
            found |= {"cost_per_bottle": self.sum(each.per_bottle), "bottles_in_stock": each.stock[0]}
            found |= {"known_cost_in_stock": self.sum(each.stock[1])}
        if each.received is not None:
            found |= {"received_l": each.received[0] / 1000, "received_cost": self.sum(each.received[1])}
        return found

    def angels(self, by: str, row: AngelsRow) -> dict[str, Any]:
        """Return what the angels took of one group."""
        return {
            by: row.what,
            "taken_l": row.ml / 1000,
            "cost": None if row.unknown_ml else self.sum(row.cents),
            "known_cost": self.sum(row.cents),
            "of_unknown_cost_l": row.unknown_ml / 1000,
        }


def price_json(price: Price) -> dict[str, Any]:
    """Return one price as it was written."""
    return {
        "item": price.item,
        "bottle_l": None if price.bottle_ml is None else price.bottle_ml / 1000,
        "price": price.amount,
        "per": ITEMS[price.item].per,
        "currency": price.currency or None,
        "from": price.holds_from,
        "hand": price.hand,
        "id": price.id,
    }


def prices_json(every: Iterable[Price], in_force: Iterable[Price]) -> list[dict[str, Any]]:
    """Return prices, and whether each is in force."""
    standing = {each.id for each in in_force}
    return [price_json(each) | {"in_force": each.id in standing} for each in every]
