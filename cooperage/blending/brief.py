"""The brief: what a blend must meet, read from a mapping or a TOML file and checked key by key."""

import math
import os
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from numbers import Real
from pathlib import Path
from typing import Any, TypeAlias

from cooperage.errors import BadInput

Table: TypeAlias = Mapping[str, Any]
Reader: TypeAlias = Callable[[object, str], Any]

WHOLE_POOL_AIMS = ("least_cost", "most_profit", "fewest_stocks", "least_leftover")
PROPERTY_AIMS = ("highest", "lowest", "nearest")
MIXINGS = ("liquid", "plain")


class BriefFileUnusable(BadInput):
    """A brief's file that cannot be read or written."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        super().__init__(f"the brief {path} {why}")


class BadBrief(BadInput):
    """A key of the brief is unknown, of the wrong type or contradicts itself; `key` names it."""

    def __init__(self, key: str, problem: str) -> None:
        self.key = key
        super().__init__(f"brief, {key}: {problem}")


@dataclass(frozen=True, slots=True)
class Span:
    """Where a figure may lie, ends included; an open end is infinite. `target` is the figure aimed at, if one was."""

    low: float = -math.inf
    high: float = math.inf
    target: float | None = None

    @property
    def middle(self) -> float:
        """The target, else half-way between the ends; infinite or NaN when an end is open."""
        return self.target if self.target is not None else (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Objective:
    """One rank of the objective: a kind, and for highest, lowest and nearest the property it steers."""

    kind: str
    property: str | None = None
    value: float | None = None

    def __str__(self) -> str:
        """As it is written in a brief."""
        aimed = "" if self.value is None else f"={self.value:g}"
        return self.kind if self.property is None else f"{self.kind}:{self.property}{aimed}"


@dataclass(frozen=True, slots=True)
class Draws:
    """Rules on the draws themselves."""

    whole: bool = False
    max_stocks: int | None = None
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Brief:
    """A brief in full; `mixing` is None until the pool decides it.

    `price_per_l` is what a litre of the blend sells for; it goes before any price in the pool. `slack` is the fraction
    of a higher-ranked objective that may be given up to improve the next (0: none).
    """

    litres: Span
    objective: tuple[Objective, ...] | None = None
    mixing: str | None = None
    limits: Mapping[str, Span] = field(default_factory=dict)
    share: Mapping[str, Span] = field(default_factory=dict)
    draws: Draws = Draws()
    price_per_l: float | None = None
    slack: float = 0.0


def read_brief(source: Table | str | os.PathLike[str]) -> Brief:
    """Read a brief from a mapping or the path of a TOML file; raises BadBrief naming the key and what is allowed."""
    if not isinstance(source, Mapping | str | os.PathLike):
        raise BadInput(f"a brief is a mapping or the path of a TOML file, not {type(source).__name__}")
    table = source if isinstance(source, Mapping) else load_brief(Path(source))
    _allow(table, "the brief", _READERS)
    if "litres" not in table:
        raise BadBrief("litres", "is missing; write litres = 400, or litres = { min = 390, max = 410 }")
    return Brief(**{key: _READERS[key](value, key) for key, value in table.items()})


def load_brief(path: Path) -> dict[str, Any]:
    """Load a brief from a TOML file as a mapping, every key checked; raises BriefFileUnusable, BadBrief."""
    try:
        brief = tomllib.loads(path.expanduser().read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise BriefFileUnusable(path, f"cannot be read: {(error.strerror or '').lower()}") from error
    except ValueError as error:  # not TOML, or not UTF-8
        raise BriefFileUnusable(path, f"is not a TOML file: {error}") from error
    read_brief(brief)
    return brief


def _allow(table: Table, key: str, allowed: Mapping[str, Any] | tuple[str, ...]) -> None:
    for name in table:
        if name not in allowed:
            raise BadBrief(key, f"knows no {name!r}; allowed here: {', '.join(allowed)}")


def _table(value: object, key: str, *allowed: str) -> Table:
    if not isinstance(value, Mapping):
        shape = f"{{ {allowed[0]} = ... }}" if allowed else f"[{key}]"
        raise BadBrief(key, f"must be a table such as {shape}, not {value!r}")
    if allowed:
        _allow(value, key, allowed)
    return value


def _number(value: object, key: str, low: float = -math.inf, high: float = math.inf) -> float:
    if isinstance(value, bool) or not isinstance(value, Real) or not math.isfinite(value):
        raise BadBrief(key, f"must be a number, not {value!r}")
    number = float(value)
    if not low <= number <= high:
        raise BadBrief(key, f"must lie {_between(low, high)}, not {number:g}")
    return number


def _between(low: float, high: float) -> str:
    return f"between {low:g} and {high:g}" if math.isfinite(high) else f"at or above {low:g}"


def _span(value: object, key: str, low: float = -math.inf, high: float = math.inf) -> Span:
    """Read { min, max }, either of which may be missing, with both inside low..high."""
    table = _table(value, key, "min", "max")
    ends = {end: _number(table[end], f"{key}.{end}", low, high) for end in table}
    if not ends:
        raise BadBrief(key, "needs a min or a max")
    span = Span(ends.get("min", -math.inf), ends.get("max", math.inf))
    if span.low > span.high:
        raise BadBrief(key, f"min {span.low:g} is above max {span.high:g}")
    return span


def _litres(value: object, key: str) -> Span:
    if isinstance(value, Mapping):
        span = _span(value, key, low=0.0)
    else:
        exact = _number(value, key, low=0.0)
        span = Span(exact, exact, exact)
    if span.high <= 0:
        raise BadBrief(key, "must be above 0: a blend of no litres is no blend")
    return Span(max(span.low, 0.0), span.high, span.target)


def _limit(value: object, key: str) -> Span:
    """Read { min, max } or { target, within }."""
    if isinstance(value, Mapping) and "target" in value:
        table = _table(value, key, "target", "within")
        target = _number(table["target"], f"{key}.target")
        within = _number(table.get("within", 0.0), f"{key}.within", low=0.0)
        return Span(target - within, target + within, target)
    if isinstance(value, Mapping) and "within" in value:
        raise BadBrief(key, "within needs a target: { target = 60, within = 2 }")
    if not isinstance(value, Mapping):
        raise BadBrief(key, f"must be {{ min, max }} or {{ target, within }}, not {value!r}")
    return _span(value, key)


def _limits(value: object, key: str) -> dict[str, Span]:
    return {name: _limit(limit, f"{key}.{name}") for name, limit in _table(value, key).items()}


def _share(value: object, key: str) -> dict[str, Span]:
    return {name: _span(span, f"{key}.{name}", 0.0, 1.0) for name, span in _table(value, key).items()}


def _text(value: object, key: str) -> str:
    if not isinstance(value, str):
        raise BadBrief(key, f"must be text in quotes, not {value!r}")
    return value


def _mixing(value: object, key: str) -> str:
    if value not in MIXINGS:
        raise BadBrief(key, f'must be "liquid" or "plain", not {value!r}')
    return str(value)


def _names(value: object, key: str) -> tuple[str, ...]:
    if not isinstance(value, list | tuple):
        raise BadBrief(key, f'must be a list such as ["B-003"], not {value!r}')
    return tuple(dict.fromkeys(_text(name, key) for name in value))


def _whole(value: object, key: str) -> bool:
    if not isinstance(value, bool):
        raise BadBrief(key, f"must be true or false, not {value!r}")
    return value


def _max_stocks(value: object, key: str) -> int:
    number = _number(value, key, low=1)
    if number != int(number):
        raise BadBrief(key, f"must be a whole number, not {value!r}")
    return int(number)


_DRAW_READERS: Mapping[str, Reader] = {
    "whole": _whole,
    "max_stocks": _max_stocks,
    "must": _names,
    "never": _names,
}


def _draws(value: object, key: str) -> Draws:
    table = _table(value, key, *_DRAW_READERS)
    draws = Draws(**{name: _DRAW_READERS[name](rule, f"{key}.{name}") for name, rule in table.items()})
    if both := set(draws.must) & set(draws.never):
        raise BadBrief(key, f"{min(both)} stands under must and under never")
    return draws


def _objectives(value: object, key: str) -> tuple[Objective, ...]:
    if not isinstance(value, list | tuple):
        raise BadBrief(key, f'must be a list such as ["least_cost"], not {value!r}')
    return tuple(_objective(_text(rank, key), key) for rank in value)


def _objective(text: str, key: str) -> Objective:
    kind, _, steered = text.partition(":")
    if kind in WHOLE_POOL_AIMS and not steered:
        return Objective(kind)
    if kind not in PROPERTY_AIMS or not steered:
        forms = ", ".join((*WHOLE_POOL_AIMS, *(f"{aim}:PROPERTY" for aim in PROPERTY_AIMS)))
        raise BadBrief(key, f"knows no {text!r}; allowed here: {forms}")
    name, equals, figure = steered.partition("=")
    if not equals:
        return Objective(kind, name)
    if kind != "nearest":
        raise BadBrief(key, f"{text!r}: only nearest takes a figure, as in nearest:abv=13.5")
    return Objective(kind, name.strip(), _figure(figure, text, key))


def _figure(figure: str, text: str, key: str) -> float:
    try:
        return _number(float(figure), key)
    except ValueError:
        raise BadBrief(key, f"{text!r}: {figure!r} is not a number") from None


def _above_zero(value: object, key: str) -> float:
    return _number(value, key, low=0.0)


_READERS: Mapping[str, Reader] = {
    "litres": _litres,
    "mixing": _mixing,
    "objective": _objectives,
    "limits": _limits,
    "share": _share,
    "draws": _draws,
    "price_per_l": _above_zero,
    "slack": _above_zero,
}
