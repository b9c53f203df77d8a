"""What a key of a brief may hold: each reader checks one kind of value, and names the key where it is wrong."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from reprlib import Repr
from typing import Any, TypeAlias

from cooperage.errors import BadInput, choose_from

Table: TypeAlias = Mapping[str, Any]

_MOST = 1e15  # of anything a brief counts; beyond it floats no longer separate one litre from the next
_SHORT = Repr()
_SHORT.maxstring = _SHORT.maxother = 60
_SHORT.maxlevel = 2


def short_repr(value: object) -> str:
    """Return a value as a message shows it: short, however long or deep it is."""
    return _SHORT.repr(value)


class BadBrief(BadInput):
    """A key of the brief is unknown, of the wrong type or contradicts itself; `key` names it."""

    def __init__(self, key: str, problem: str) -> None:
        self.key = key
        super().__init__(" ".join(f"brief, {key}: {problem}".split()))  # a key in quotes may hold line breaks


@dataclass(frozen=True, slots=True)
class Bound:
    """Where a figure may lie, ends included; an open end is infinite. `target` is the figure aimed at, if one was."""

    low: float = -math.inf
    high: float = math.inf
    target: float | None = None

    @property
    def middle(self) -> float:
        """The target, else half-way between the ends; infinite or NaN when an end is open."""
        return self.target if self.target is not None else (self.low + self.high) / 2

    def times(self, factor: float) -> "Bound":
        """Return the span in another unit: so many litres for so many bottles."""
        return Bound(self.low * factor, self.high * factor, None if self.target is None else self.target * factor)


def check_keys(table: Table, key: str, allowed: Mapping[str, Any] | tuple[str, ...]) -> None:
    """Refuse a key that is not among those allowed."""
    for name in table:
        if name not in allowed:
            raise BadBrief(key, f"knows no {name!r}{choose_from(name, allowed)}")


def read_table(value: object, key: str, *allowed: str) -> Table:
    """Read a table; with `allowed`, of these keys alone."""
    if not isinstance(value, Mapping):
        shape = f"{{ {allowed[0]} = ... }}" if allowed else f"[{key}]"
        raise BadBrief(key, f"must be a table such as {shape}, not {short_repr(value)}")
    if allowed:
        check_keys(value, key, allowed)
    return value


def read_number(value: object, key: str, low: float = -math.inf, high: float = math.inf) -> float:
    """Read a finite number from low to high."""
    read = _float(value)
    if not abs(read) <= _MOST:
        raise BadBrief(key, f"must be a number, not {short_repr(value)}")
    if not low <= read <= high:
        raise BadBrief(key, f"must lie {_between(low, high)}, not {read:g}")
    return read


def _float(value: object) -> float:
    """Return a number as a float, and NaN for what is none."""
    if isinstance(value, bool) or not isinstance(value, Real):
        return math.nan
    try:
        return float(value)
    except OverflowError:
        return math.nan


def _between(low: float, high: float) -> str:
    return f"between {low:g} and {high:g}" if math.isfinite(high) else f"at or above {low:g}"


def read_at_least_zero(value: object, key: str) -> float:
    """Read a number of 0 or more."""
    return read_number(value, key, low=0.0)


def read_above_zero(value: object, key: str) -> float:
    """Read a number above 0."""
    read = read_number(value, key, low=0.0)
    if read == 0:
        raise BadBrief(key, "must be above 0")
    return read


def read_whole_number(value: object, key: str, low: int = 1) -> int:
    """Read a whole number of `low` or more."""
    read = read_number(value, key, low=low)
    if read != int(read):
        raise BadBrief(key, f"must be a whole number, not {short_repr(value)}")
    return int(read)


def read_bound(value: object, key: str, low: float = -math.inf, high: float = math.inf) -> Bound:
    """Read { min, max }, either of which may be missing, with both inside low..high."""
    table = read_table(value, key, "min", "max")
    ends = {end: read_number(table[end], f"{key}.{end}", low, high) for end in table}
    if not ends:
        raise BadBrief(key, "needs a min or a max")
    span = Bound(ends.get("min", -math.inf), ends.get("max", math.inf))
    if span.low > span.high:
        raise BadBrief(key, f"min {span.low:g} is above max {span.high:g}")
    return span


def read_amount(value: object, key: str) -> Bound:
    """Read an amount of blend: a number, to be met exactly, or { min, max }."""
    if isinstance(value, Mapping):
        span = read_bound(value, key, low=0.0)
    else:
        exact = read_number(value, key, low=0.0)
        span = Bound(exact, exact, exact)
    if span.high <= 0:
        raise BadBrief(key, f"must be above 0: a blend of no {key} is no blend")
    return Bound(max(span.low, 0.0), span.high, span.target)


def read_limit(value: object, key: str) -> Bound:
    """Read { min, max } or { target, within }."""
    if isinstance(value, Mapping) and "target" in value:
        table = read_table(value, key, "target", "within")
        target = read_number(table["target"], f"{key}.target")
        within = read_number(table.get("within", 0.0), f"{key}.within", low=0.0)
        return Bound(target - within, target + within, target)
    if isinstance(value, Mapping) and "within" in value:
        raise BadBrief(key, "within needs a target: { target = 60, within = 2 }")
    if not isinstance(value, Mapping):
        raise BadBrief(key, f"must be {{ min, max }} or {{ target, within }}, not {short_repr(value)}")
    return read_bound(value, key)


def read_string(value: object, key: str) -> str:
    """Read text."""
    if not isinstance(value, str):
        raise BadBrief(key, f"must be text in quotes, not {short_repr(value)}")
    return value


def read_names(value: object, key: str, example: str = "B-003") -> tuple[str, ...]:
    """Read a list of texts, each once."""
    if not isinstance(value, list | tuple):
        raise BadBrief(key, f'must be a list such as ["{example}"], not {short_repr(value)}')
    return tuple(dict.fromkeys(read_string(name, key) for name in value))


def read_flag(value: object, key: str) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise BadBrief(key, f"must be true or false, not {short_repr(value)}")
    return value
