"""The answer of a solve: frozen values that read as attributes, as a mapping, or as plain JSON."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Literal, TypeAlias

Plain: TypeAlias = Any  # dicts, lists, numbers, text and None, nested: what JSON holds
Status: TypeAlias = Literal["optimal", "feasible", "infeasible", "unbounded", "no_plan"]

_EXIT = {"optimal": 0, "feasible": 0, "infeasible": 3, "unbounded": 3, "no_plan": 4}


def _plain(value: object) -> Plain:
    """Return a value as JSON knows it; what is not a finite number is null."""
    if isinstance(value, AnswerPart):
        return {name: _plain(getattr(value, name)) for name in value}
    if isinstance(value, Mapping):
        return {str(name): _plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return value


class AnswerPart(Mapping[str, Plain]):
    """A frozen dataclass that is also a mapping of its fields, with plain built-in values."""

    def __getitem__(self, key: str) -> Plain:
        if key not in self._names():
            raise KeyError(key)
        return _plain(getattr(self, key))

    def __iter__(self) -> Iterator[str]:
        return iter(self._names())

    def __len__(self) -> int:
        return len(self._names())

    @classmethod
    def _names(cls) -> tuple[str, ...]:
        return tuple(each.name for each in fields(cls))  # type: ignore[arg-type]  # every subclass is a dataclass

    def to_json(self) -> dict[str, Any]:
        """Return plain dicts, lists, numbers and text."""
        plain: dict[str, Any] = _plain(self)
        return plain


@dataclass(frozen=True)
class Draw(AnswerPart):
    """Litres taken from a stock, and what is left in it (None: without end)."""

    stock: str
    litres: float
    left_l: float | None


@dataclass(frozen=True)
class Binding(AnswerPart):
    """A limit met exactly. `price` is what the first objective gains for each `unit` by which the limit is eased.

    `step` is the price of one round step of it, in short; empty where no price is known.
    """

    limit: str
    side: str
    value: float
    price: float | None
    words: str
    unit: str
    step: str = ""


@dataclass(frozen=True)
class Clash(AnswerPart):
    """One of a set of limits that cannot all be met; without any one of them, the rest can."""

    limit: str
    side: str
    value: float | None
    words: str
    unit: str = ""


@dataclass(frozen=True)
class Miss(AnswerPart):
    """A limit the nearest blend does not meet: what it asks, what the blend comes to, and the distance."""

    limit: str
    side: str
    value: float
    got: float
    by: float
    words: str
    unit: str


@dataclass(frozen=True)
class MissingDose(AnswerPart):
    """Litres of honey, water or spirit that, added to a blend of these stocks, would meet the brief."""

    stock: str
    litres: float


@dataclass(frozen=True)
class Nearest(AnswerPart):
    """The blend that misses an impossible brief by least; where time ran out, the nearest that had been found."""

    draws: tuple[Draw, ...]
    blend: Mapping[str, float | None]
    misses: tuple[Miss, ...]
    dosing: tuple[MissingDose, ...] = ()


@dataclass(frozen=True)
class Bottling(AnswerPart):
    """What the blend fills: bottles of `bottle_ml`, whole ones, and what each costs (None: cost unknown)."""

    bottle_ml: float
    bottles: int
    cases: int | None
    cost_per_bottle: float | None


@dataclass(frozen=True)
class Chance(AnswerPart):
    """The chance that a limit is met by the blend itself, whatever an instrument shows of it.

    `uncertainty` is one standard deviation of the blend's figure, in its unit.
    """

    limit: str
    chance: float
    uncertainty: float
    words: str
    unit: str


@dataclass(frozen=True)
class Worth(AnswerPart):
    """What measuring one stock again would decide about a limit.

    `chance` is how sure the limit is now; after the reading it lies between `chance_low` and `chance_high` in two cases
    of three. `wrong` is how often the likelier side is the wrong one now, `wrong_after` once the reading is known.
    """

    stock: str
    limit: str
    chance: float
    chance_low: float
    chance_high: float
    wrong: float
    wrong_after: float
    words: str


@dataclass(frozen=True)
class Reach(AnswerPart):
    """How far one input may move, all else the same, before other stocks are drawn on (None: without end).

    `what` is "cost" for a stock's part in the first objective per litre, "limit" for the value of a limit.
    """

    what: str
    name: str
    value: float
    low: float | None
    high: float | None
    words: str
    unit: str


@dataclass(frozen=True)
class Tidiness(AnswerPart):
    """What fewer part-full barrels and tiny draws cost against the best plan.

    `price` is how much worse the first objective is, in `unit`, and `price_percent` of the best; `price_per_l` is that
    for a litre of blend where it is money. A plan that is itself the best has a price of 0.
    """

    price: float | None
    unit: str
    price_percent: float | None
    price_per_l: float | None
    part_full_of_best: int
    tiny_draws_of_best: int
    words: str


@dataclass(frozen=True)
class LeftOut(AnswerPart):
    """A stock the solve could not consider, and why."""

    stock: str
    why: str


@dataclass(frozen=True)
class Answer(AnswerPart):
    """What came of a brief.

    `status` is "optimal" (proved), "feasible" (time ran out with a plan in hand; `gap` is its relative distance
    to the best that may exist, None if unknown), "infeasible", "unbounded" or "no_plan" (time ran out with none;
    `nearest` is what had been found, of which nothing is proved).
    `objective` is the value of the first objective; `blend` holds litres and every property, None where a stock
    drawn has no figure. `draws` are in the order to pull them. `uncertainty` is one standard deviation of the blend's
    figures, where the stocks' are known, `chance_of_all` the chance that all limits in `chances` are met, `readings`
    those that would decide most about its limits. `ranging` holds for a linear programme with one objective.
    `part_full` counts the barrels drawn on but not drained, `tiny_draws` those of them opened for a few litres. Where
    the brief avoids these, `best_objective` is that of the best plan, and `price_of_tidiness` the difference.

    >>> from cooperage.blending import solve
    >>> import pandas as pd
    >>> pool = pd.DataFrame(
    ...     {"stock": ["B-001", "B-002", "B-003"], "litres": 225, "abv": [11, 14, 13], "cost_per_l": [6, 8, 7.5]}
    ... )
    >>> brief = {"litres": 100, "mixing": "plain", "objective": ["least_cost"], "limits": {"abv": {"min": 12.5}}}
    >>> answer = solve(pool, brief)
    >>> round(answer["blend"]["abv"], 2)  # also as a mapping, of plain values
    12.5
    """

    status: Status
    objective: float | None = None
    gap: float | None = None
    draws: tuple[Draw, ...] = ()
    blend: Mapping[str, float | None] = field(default_factory=dict)
    binding: tuple[Binding, ...] = ()
    conflict: tuple[Clash, ...] = ()
    nearest: Nearest | None = None
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()
    bottling: Bottling | None = None
    uncertainty: Mapping[str, float] = field(default_factory=dict)
    chances: tuple[Chance, ...] = ()
    chance_of_all: float | None = None
    readings: tuple[Worth, ...] = ()
    ranging: tuple[Reach, ...] = ()
    part_full: int | None = None
    tiny_draws: int | None = None
    best_objective: float | None = None
    price_of_tidiness: Tidiness | None = None

    @property
    def exit_status(self) -> int:
        """0 with a plan, 3 when there can be none, 4 when time ran out without one."""
        return _EXIT[self.status]
