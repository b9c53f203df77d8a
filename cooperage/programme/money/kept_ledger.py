"""The ledger of costs as JSON, so that a pass over the book is kept until the book changes."""

from collections.abc import Callable
from datetime import date
from typing import Any

from cooperage.programme.money.bottles import BottledWorth
from cooperage.programme.money.ledger import AngelsTake, HeldWorth, MoneyLedger
from cooperage.programme.money.worth import MeadCost


def ledger_as_json(ledger: MoneyLedger) -> dict[str, Any]:
    """Return all that entries have changed in a ledger, in the order in which it stands there."""
    return {
        "held": {id_: _held_as_json(held) for id_, held in ledger.held.items()},
        "into": ledger.into,
        "lost": ledger.lost,
        "out": ledger.out,
        "lost_gaps": [[*gap, ml] for gap, ml in ledger.lost_gaps.items()],
        "bottlings": [_bottled_as_json(each) for each in ledger.bottlings.values()],
        "angels": [[each.at, each.vessel.id, each.room, each.ml, each.cents] for each in ledger.angels],
        "received": ledger.received,
    }


def ledger_of(kept: dict[str, Any], new: Callable[[], MoneyLedger]) -> MoneyLedger:
    """Return a new ledger with what `ledger_as_json` wrote of one; raises KeyError, TypeError, ValueError."""
    ledger = new()
    for id_, row in kept["held"].items():
        _restore(ledger.held[id_], *row)
    ledger.into.update(kept["into"])
    ledger.lost.update(kept["lost"])
    ledger.out.update(kept["out"])
    ledger.lost_gaps = {(kind, name): ml for kind, name, ml in kept["lost_gaps"]}
    ledger.bottlings = {row[0]: _bottled_of(*row) for row in kept["bottlings"]}
    ledger.angels = [
        AngelsTake(at, ledger.held[id_].vessel, room, ml, cents) for at, id_, room, ml, cents in kept["angels"]
    ]
    ledger.received = {id_: (ml, cents) for id_, (ml, cents) in kept["received"].items()}
    return ledger


def _held_as_json(held: HeldWorth) -> list[Any]:
    books = held.books and [
        held.books.used,
        held.books.filled_at,
        held.books.left,
        held.books.retired,
        held.books.let_go,
    ]
    return [held.ml, _worth_as_json(held.worth), books, held.room, held.worked_on and held.worked_on.isoformat()]


def _restore(
    held: HeldWorth, ml: int, worth: list[Any], books: list[Any] | None, room: str, worked_on: str | None
) -> None:
    held.ml, held.worth, held.room = ml, _worth_of(*worth), room
    held.worked_on = date.fromisoformat(worked_on) if worked_on else None
    if held.books is not None and books is not None:
        own = held.books
        own.used, own.filled_at, own.left, own.retired, own.let_go = books


def _worth_as_json(worth: MeadCost) -> list[Any]:
    parts = [[*part, cents] for part, cents in worth.parts.items()]
    return [parts, [[*gap, ml] for gap, ml in worth.gaps.items()], worth.origins]


def _worth_of(parts: list[Any], gaps: list[Any], origins: dict[str, float]) -> MeadCost:
    return MeadCost(
        {(what, of): cents for what, of, cents in parts}, {(kind, name): ml for kind, name, ml in gaps}, origins
    )


def _bottled_as_json(bottled: BottledWorth) -> list[Any]:
    places = [[name, bottles, _worth_as_json(worth)] for name, (bottles, worth) in bottled.places.items()]
    size = (bottled.ml, bottled.bottles, bottled.bottle_ml)
    return [bottled.id, bottled.code, bottled.at, *size, _worth_as_json(bottled.filled), places]


def _bottled_of(
    id_: str, code: str, at: float, ml: int, bottles: int, bottle_ml: int, filled: list[Any], places: list[Any]
) -> BottledWorth:
    made = {name: (count, _worth_of(*worth)) for name, count, worth in places}
    return BottledWorth(id_, code, at, ml, bottles, bottle_ml, _worth_of(*filled), made)
