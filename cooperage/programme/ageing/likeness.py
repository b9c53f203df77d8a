"""What makes vessels alike, as columns of a design with what is expected of each column before the record shows it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from cooperage.book import Standing
from cooperage.programme.ageing.models import USUAL_ML, Ageing
from cooperage.programme.ageing.side_by_side import Floats

_HALF = 0.5


@dataclass(frozen=True)
class Likeness:
    """How vessels differ, column by column: mean and standard deviation of each coefficient, of shape (p,).

    `effects` names the columns that are figures of a vessel, `lots` and `rooms` those that are one or zero.
    """

    effects: tuple[str, ...]
    lots: tuple[str, ...]
    rooms: tuple[str, ...]
    means: Floats
    doubts: Floats

    def is_like(self, other: "Likeness") -> bool:
        """Return True if both have the same columns."""
        return (self.effects, self.lots, self.rooms) == (other.effects, other.lots, other.rooms)

    def moved(self, usual: float) -> "Likeness":
        """Return the same with what is usual for all moved by an amount."""
        return replace(self, means=np.concatenate([[self.means[0] + usual], self.means[1:]]))

    def columns(self, standings: Sequence[Standing]) -> Floats:
        """Return the columns of some vessels, of shape (vessels, p); a lot or room not known yet is like none."""
        rows = [
            (
                1.0,
                *(_EFFECTS[effect](standing) for effect in self.effects),
                *_one_of(self.lots, _lot(standing)),
                *_one_of(self.rooms, _room(standing)),
            )
            for standing in standings
        ]
        return np.array(rows, dtype=np.float64).reshape(len(rows), len(self.means))


def likeness_of(standings: Sequence[Standing], ageing: Ageing) -> Likeness:
    """Find how the vessels of a cellar differ, as far as the declaration lets it matter."""
    declared = {
        "tank": ageing.of_tank,
        "new wood": ageing.of_new_wood,
        "size": ageing.of_size,
        "any size": ageing.of_any_size,
    }
    effects = {name: effect for name, effect in declared.items() if effect and _differs(standings, name)}
    lots = _kinds(map(_lot, standings)) if ageing.of_lot else ()
    rooms = _kinds(map(_room, standings)) if ageing.of_room else ()
    means = [ageing.usual, *effects.values(), *(0.0 for _ in (*lots, *rooms))]
    doubts = [
        ageing.usual_doubt,
        *(abs(effect) * _HALF for effect in effects.values()),
        *(ageing.of_lot for _ in lots),
        *(ageing.of_room for _ in rooms),
    ]
    return Likeness(tuple(effects), lots, rooms, np.array(means), np.array(doubts))


def _is_tank(standing: Standing) -> float:
    return float(not standing.vessel.is_barrel)


def _is_new(standing: Standing) -> float:
    return float(standing.vessel.is_barrel and standing.fill_number == 1)


def _smallness(standing: Standing) -> float:
    """Return for a barrel how many e-folds it is smaller than 225 L; wood's area over volume goes with it."""
    return _any_smallness(standing) if standing.vessel.is_barrel else 0.0


def _any_smallness(standing: Standing) -> float:
    """Return how many e-folds any vessel is smaller than 225 L."""
    return log(USUAL_ML / standing.vessel.capacity_ml)


_EFFECTS: dict[str, Callable[[Standing], float]] = {
    "tank": _is_tank,
    "new wood": _is_new,
    "size": _smallness,
    "any size": _any_smallness,
}


def _differs(standings: Sequence[Standing], effect: str) -> bool:
    return any(_EFFECTS[effect](standing) for standing in standings)


def _lot(standing: Standing) -> str:
    return next(iter(standing.lots), "")


def _room(standing: Standing) -> str:
    return standing.position[0] or ""


def _kinds(names: Iterable[str]) -> tuple[str, ...]:
    """Return the names there are; none where all are the same."""
    found = set(names)
    return tuple(sorted(found - {""})) if len(found) > 1 else ()


def _one_of(kinds: tuple[str, ...], name: str) -> tuple[float, ...]:
    return tuple(float(kind == name) for kind in kinds)
