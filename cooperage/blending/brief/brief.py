"""The brief: what a blend must meet, read from a mapping or a TOML file and checked key by key.

| key | holds |
| --- | --- |
| `litres` | how much is wanted: a number, or `{ min, max }`; or instead of it one of the next two |
| `bottles`, `cases` | the same, counted; with `bottle_ml` (750) and `per_case` (12) |
| `mixing` | `"liquid"` (mass balance) or `"plain"`; the pool decides where it is not written |
| `objective` | ranked: least_cost, most_profit, fewest_stocks, least_leftover, highest:, lowest:, nearest:PROPERTY |
| `slack` | the fraction of a higher rank that may be given up for the next |
| `price_per_l` | what a litre of the blend sells for |
| `[limits]` | a property: `{ min, max }` or `{ target, within }` |
| `under` | lines of law to keep below, as in `["16 % vol"]` (see brief/law_lines.py) |
| `confidence` | the chance with which each limit is to be met, from how sure the readings are (see answer/chance.py) |
| `[share]` | a share of the blend, 0 to 1, by stock or by any label: `"wood:acacia" = { max = 0.3 }` |
| `[draws]` | `whole`, `max_stocks`, `max_partly_full`, `min_draw_l`, `heel_l`, `must`, `never`, `ready`; `part_full` |
| `ready` | there: the least chance, 0 to 1, that each barrel drawn on is ready by its definition |
| `part_full` | there: `"avoid"` barrels left part full and tiny draws, or `"any"`; a cellar's own barrels avoid them |
| `part_full_within` | there: the fraction of the first objective that this may cost (0.02) |
| `[dosing]` | honey, water and spirit to be had besides the stocks (see stocks/dosing.py) |
| `weight`, `rank` | among several briefs over the same stocks (see together.py) |
"""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

from cooperage.blending.brief.law_lines import narrowed, under_of
from cooperage.blending.brief.values import (
    BadBrief,
    Bound,
    Table,
    check_keys,
    read_above_zero,
    read_amount,
    read_at_least_zero,
    read_bound,
    read_flag,
    read_limit,
    read_names,
    read_number,
    read_string,
    read_table,
    read_whole_number,
    short_repr,
)
from cooperage.errors import BadInput, choose_from
from cooperage.infile import NotToml, at_home, read_toml
from cooperage.plaintext import refuse_controls

__all__ = [
    "BadBrief",
    "Bound",
    "Brief",
    "BriefFileUnusable",
    "Dosing",
    "Draws",
    "Objective",
    "load_brief",
    "read_brief",
]

Reader: TypeAlias = Callable[[object, str], Any]

WHOLE_POOL_AIMS = ("least_cost", "most_profit", "fewest_stocks", "least_leftover")
PROPERTY_AIMS = ("highest", "lowest", "nearest")
MIXINGS = ("liquid", "plain")
PART_FULL = ("avoid", "any")
PART_FULL_WITHIN = 0.02
BOTTLE_ML = 750.0
PER_CASE = 12
# What a dosing stock's table may hold, and the range of the figure that gives its make.
DOSINGS: Mapping[str, tuple[str, float, float]] = {
    "honey": ("moisture", 15.0, 30.0),
    "water": ("", 0.0, 0.0),
    "spirit": ("abv", 20.0, 97.0),
}


class BriefFileUnusable(BadInput):
    """A brief's file that cannot be read or written."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        super().__init__(f"the brief {path} {why}")


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
    """Rules on the draws themselves; `heel_l` stays behind in every stock, `min_draw_l` is the least of a draw.

    `part_full` is "avoid", "any", or None where the brief leaves it to who solves it; `part_full_within` is the
    fraction of the first objective that fewer part-full barrels and tiny draws may cost (see tidy.py). `ready` is the
    least chance that a barrel is ready, for it to be drawn on.
    """

    whole: bool = False
    max_stocks: int | None = None
    max_partly_full: int | None = None
    min_draw_l: float = 0.0
    heel_l: float = 0.0
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    part_full: str | None = None
    part_full_within: float = PART_FULL_WITHIN
    ready: float | None = None


@dataclass(frozen=True, slots=True)
class Dosing:
    """Honey, water or spirit at hand: litres (None: without end), cost, and moisture [%] or strength [% vol]."""

    litres: float | None = None
    cost_per_l: float | None = None
    make: float | None = None


@dataclass(frozen=True, slots=True)
class Brief:
    """A brief in full; `mixing` is None until the pool decides it.

    `price_per_l` is what a litre of the blend sells for; it goes before any price in the pool. `slack` is the fraction
    of a higher-ranked objective that may be given up to improve the next (0: none). `bottle_ml` is None where the
    brief does not count in bottles.
    """

    litres: Bound
    objective: tuple[Objective, ...] | None = None
    mixing: str | None = None
    limits: Mapping[str, Bound] = field(default_factory=dict)
    under: tuple[str, ...] = ()
    confidence: float | None = None
    share: Mapping[str, Bound] = field(default_factory=dict)
    draws: Draws = Draws()
    dosing: Mapping[str, Dosing] = field(default_factory=dict)
    price_per_l: float | None = None
    slack: float = 0.0
    bottle_ml: float | None = None
    per_case: int | None = None
    weight: float = 1.0
    rank: int = 1


def read_brief(source: Table | str | os.PathLike[str]) -> Brief:
    """Read a brief from a mapping or the path of a TOML file; raises BadBrief naming the key and what is allowed."""
    if not isinstance(source, Mapping | str | os.PathLike):
        raise BadInput(f"a brief is a mapping or the path of a TOML file, not {type(source).__name__}")
    table = source if isinstance(source, Mapping) else load_brief(Path(source))
    check_keys(table, "the brief", _READERS)
    _refuse_hidden(table, "brief")
    read = {key: _READERS[key](value, key) for key, value in table.items()}
    return Brief(**_under_lines(_counted(read)))


def _refuse_hidden(value: object, key: str) -> None:
    """Refuse names, anywhere in the brief, that a terminal would not show as they were typed."""
    if isinstance(value, str):
        try:
            refuse_controls(value, "it")
        except BadInput as error:
            raise BadBrief(key, str(error)) from error
    elif isinstance(value, Mapping):
        for name, part in value.items():
            _refuse_hidden(str(name), key)
            _refuse_hidden(part, str(name))
    elif isinstance(value, list | tuple):
        for part in value:
            _refuse_hidden(part, key)


def load_brief(path: Path) -> dict[str, Any]:
    """Load a brief from a TOML file as a mapping, every key checked; raises BriefFileUnusable, BadBrief."""
    try:
        brief = read_toml(at_home(path))
    except OSError as error:
        raise BriefFileUnusable(path, f"cannot be read: {(error.strerror or '').lower()}") from error
    except NotToml as error:
        raise BriefFileUnusable(path, f"is not a TOML file: {error}") from error
    read_brief(brief)
    return brief


def _counted(read: dict[str, Any]) -> dict[str, Any]:
    """Turn bottles or cases into litres; how much is wanted is said once."""
    keys = [key for key in ("litres", "bottles", "cases") if key in read]
    if not keys:
        raise BadBrief("litres", "is missing; write litres = 400, or litres = { min = 390, max = 410 }")
    if len(keys) > 1:
        raise BadBrief(keys[1], f"gives a second time how much is wanted; keep it or {keys[0]}")
    if keys == ["litres"]:
        return read
    bottle_ml, per_case = read.get("bottle_ml", BOTTLE_ML), read.get("per_case", PER_CASE)
    litres = bottle_ml / 1000 * (per_case if keys == ["cases"] else 1)
    rest = {key: value for key, value in read.items() if key != keys[0]}
    counted = {"per_case": per_case} if keys == ["cases"] else {}
    return rest | counted | {"bottle_ml": bottle_ml, "litres": read[keys[0]].times(litres)}


def _under_lines(read: dict[str, Any]) -> dict[str, Any]:
    under = read.get("under", ())
    return read | {"limits": narrowed(read.get("limits", {}), under)} if under else read


def _limits(value: object, key: str) -> dict[str, Bound]:
    return {name: read_limit(limit, f"{key}.{name}") for name, limit in read_table(value, key).items()}


def _share(value: object, key: str) -> dict[str, Bound]:
    return {name: read_bound(span, f"{key}.{name}", 0.0, 1.0) for name, span in read_table(value, key).items()}


def _mixing(value: object, key: str) -> str:
    if value not in MIXINGS:
        raise BadBrief(key, f'must be "liquid" or "plain", not {short_repr(value)}')
    return str(value)


def _confidence(value: object, key: str) -> float:
    return read_number(value, key, low=0.5, high=0.9999)


def _part_full(value: object, key: str) -> str:
    if value not in PART_FULL:
        raise BadBrief(key, f'must be "avoid" or "any", not {short_repr(value)}')
    return str(value)


def _fraction(value: object, key: str) -> float:
    return read_number(value, key, low=0.0, high=1.0)


def _none_or_more(value: object, key: str) -> int:
    return read_whole_number(value, key, low=0)


_DRAW_READERS: Mapping[str, Reader] = {
    "whole": read_flag,
    "max_stocks": read_whole_number,
    "max_partly_full": _none_or_more,
    "min_draw_l": read_at_least_zero,
    "heel_l": read_at_least_zero,
    "must": read_names,
    "never": read_names,
    "part_full": _part_full,
    "part_full_within": _fraction,
    "ready": _fraction,
}


def _draws(value: object, key: str) -> Draws:
    table = read_table(value, key, *_DRAW_READERS)
    draws = Draws(**{name: _DRAW_READERS[name](rule, f"{key}.{name}") for name, rule in table.items()})
    if both := set(draws.must) & set(draws.never):
        raise BadBrief(key, f"{min(both)} stands under must and under never")
    return draws


def _dosing(value: object, key: str) -> dict[str, Dosing]:
    return {name: _dose(name, table, f"{key}.{name}") for name, table in read_table(value, key, *DOSINGS).items()}


def _dose(name: str, value: object, key: str) -> Dosing:
    make, low, high = DOSINGS[name]
    table = read_table(value, key, "litres", "cost_per_l", *([make] if make else []))
    return Dosing(
        read_above_zero(table["litres"], f"{key}.litres") if "litres" in table else None,
        read_at_least_zero(table["cost_per_l"], f"{key}.cost_per_l") if "cost_per_l" in table else None,
        read_number(table[make], f"{key}.{make}", low, high) if make in table else None,
    )


def _objectives(value: object, key: str) -> tuple[Objective, ...]:
    if not isinstance(value, list | tuple):
        raise BadBrief(key, f'must be a list such as ["least_cost"], not {short_repr(value)}')
    return tuple(_objective(read_string(rank, key), key) for rank in value)


def _objective(text: str, key: str) -> Objective:
    kind, _, steered = text.partition(":")
    if kind in WHOLE_POOL_AIMS and not steered:
        return Objective(kind)
    if kind not in PROPERTY_AIMS or not steered:
        forms = (*WHOLE_POOL_AIMS, *(f"{aim}:PROPERTY" for aim in PROPERTY_AIMS))
        raise BadBrief(key, f"knows no {text!r}{choose_from(text, forms)}")
    name, equals, figure = steered.partition("=")
    if not equals:
        return Objective(kind, name)
    if kind != "nearest":
        raise BadBrief(key, f"{text!r}: only nearest takes a figure, as in nearest:abv=13.5")
    return Objective(kind, name.strip(), _figure(figure, text, key))


def _figure(figure: str, text: str, key: str) -> float:
    try:
        return read_number(float(figure), key)
    except ValueError:
        raise BadBrief(key, f"{text!r}: {figure!r} is not a number") from None


_READERS: Mapping[str, Reader] = {
    "litres": read_amount,
    "mixing": _mixing,
    "objective": _objectives,
    "limits": _limits,
    "under": under_of,
    "confidence": _confidence,
    "share": _share,
    "draws": _draws,
    "dosing": _dosing,
    "price_per_l": read_at_least_zero,
    "slack": read_at_least_zero,
    "bottles": read_amount,
    "cases": read_amount,
    "bottle_ml": read_above_zero,
    "per_case": read_whole_number,
    "weight": read_above_zero,
    "rank": read_whole_number,
}
