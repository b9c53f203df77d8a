"""A brief as a person types it: one short text a field, in the person's units, to the mapping a solve reads, and back.

A limit is one text: "13.4-13.6" lies between, "60 ± 2" is a target, "max 0.6" and "min 3" leave one end open, and a
bare number is to be met exactly.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.brief.figures import figure_of
from cooperage.book.declared.from_text import BadField
from cooperage.book.declared.properties import SOLVABLE
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, read, show_exact, show_short

Texts = Mapping[str, str]
"""What stands in each field, by the field's name."""

LIMITED: tuple[str, ...] = (*SOLVABLE, "score")
"""The figures that have a field for their limit; a brief from a file may limit others too, and they are kept."""

AIMS: tuple[tuple[str, str], ...] = (
    ("least_cost", "least cost"),
    ("highest:score", "best mean score"),
    ("fewest_stocks", "fewest stocks"),
    ("least_leftover", "least left over"),
    ("lowest:va_g_l", "lowest volatile acidity"),
    ("highest:days_in_wood", "longest in wood"),
)
"""Objectives to choose from: as they stand in a brief, and as text."""

HOW_LIMITS_ARE_TYPED = "13.4-13.6   60±2   max 0.6   min 3"


# --- from texts to a brief ------------------------------------------------------------------------------------------

_MOST = re.compile(r"(?:max\.?|at most|up to|<=?|≤)\s*(?P<max>.+)", re.IGNORECASE)
_LEAST = re.compile(r"(?:min\.?|at least|>=?|≥)\s*(?P<min>.+)", re.IGNORECASE)
_TARGET = re.compile(r"(?P<target>.+?)\s*(?:±|\+/?-|within)\s*(?P<within>.+)", re.IGNORECASE)
_BETWEEN = re.compile(r"(?P<min>[^-–]+?)\s*(?:-|–|\.\.|\bto\b)\s*(?P<max>.+)", re.IGNORECASE)
_FORMS = (_MOST, _LEAST, _TARGET, _BETWEEN)
_FIELDS = ("litres", "bottles", "cases", "objective", "limits", "draws")  # what is wanted is said once, in litres
_RULES = ("whole", "max_stocks", "must", "never", "ready")
_SAID = (("must", "must draw"), ("never", "never"))
_AVOID = "avoid"  # what a cellar does by default (see from_cellar.py)


def parse_brief(
    texts: Texts, units: Units = DEFAULT, kept: Mapping[str, Any] | None = None, stocks: Iterable[str] = ()
) -> dict[str, Any]:
    """Make a brief from the texts of its fields; blanks ask nothing.

    `kept` is the brief it began from: what has no field of its own stays as it is there. `stocks` are the names as
    written, so that they may be typed in any case. Raises BadField naming the field; the solve checks the rest.
    """
    kept = kept or {}
    brief = {key: value for key, value in kept.items() if key not in _FIELDS}
    brief["litres"] = _litres(texts.get("litres", ""), units)
    if aims := _names(texts.get("objective", "")):
        brief["objective"] = aims
    limits = {name: limit for name, limit in kept.get("limits", {}).items() if name not in LIMITED}
    limits |= {name: parse_span(name, text, units) for name in LIMITED if (text := texts.get(name, "").strip())}
    draws = {rule: value for rule, value in kept.get("draws", {}).items() if rule not in _RULES}
    draws |= _draws(texts, units, {name.upper(): name for name in stocks})
    if texts.get("part_full", draws.get("part_full", _AVOID)) != draws.get("part_full", _AVOID):
        draws["part_full"] = texts["part_full"]
    return brief | {key: table for key, table in (("limits", limits), ("draws", draws)) if table}


def _litres(text: str, units: Units) -> float | dict[str, float]:
    if not text.strip():
        raise BadField("litres", "how much is wanted? Give a number such as 400, or a range such as 390-410")
    span = parse_span("litres", text, units)
    if set(span) == {"target"}:
        return span["target"]
    if "target" in span:
        return {"min": span["target"] - span["within"], "max": span["target"] + span["within"]}
    return span


def parse_span(name: str, text: str, units: Units = DEFAULT) -> dict[str, float]:
    """Read a limit on a figure into min, max, target and within; raises BadField naming the figure."""
    found = next((match for form in _FORMS if (match := form.fullmatch(text.strip()))), None)
    parts = found.groupdict() if found else {"target": text}
    return {end: _amount(name, part, units) for end, part in parts.items()}


def _amount(name: str, text: str, units: Units) -> float:
    figure = figure_of(name)
    try:
        value = read(figure.quantity, text, units)
    except BadInput as error:
        raise BadField(figure.label, f"{error.words(units)}; a limit is written as {HOW_LIMITS_ARE_TYPED}") from error
    return value / 1000 if figure.quantity is Quantity.VOLUME else value


def parse_ml(label: str, text: str, units: Units = DEFAULT) -> float:
    """Read millilitres such as a pipette has: "0.5", "0.5 ml"; raises BadField naming the field."""
    try:
        return float(read(Quantity.NUMBER, text.strip().lower().removesuffix("ml"), units))
    except BadInput as error:
        raise BadField(label, f"'{text}' is no number of millilitres; give one such as 100 or 0.5") from error


def _draws(texts: Texts, units: Units, written: Mapping[str, str]) -> dict[str, Any]:
    draws: dict[str, Any] = {}
    if texts.get("whole", "") == "yes":
        draws["whole"] = True
    if count := texts.get("max_stocks", "").strip():
        try:
            draws["max_stocks"] = int(read(Quantity.COUNT, count, units))
        except BadInput as error:
            raise BadField("most stocks", error.words(units)) from error
    if chance := texts.get("ready", "").strip():
        draws["ready"] = _chance(chance, units)
    for rule in ("must", "never"):
        if names := _names(texts.get(rule, "")):
            draws[rule] = [written.get(name.upper(), name) for name in names]
    return draws


def _chance(text: str, units: Units) -> float:
    """Read a chance in per cent as a fraction; raises BadField."""
    try:
        percent = float(read(Quantity.PERCENT, text, units))
    except BadInput as error:
        raise BadField("ready at least", error.words(units)) from error
    if not 0 <= percent <= 100:
        raise BadField("ready at least", f"'{text}' is no chance; give per cent from 0 to 100, such as 60")
    return round(percent / 100, 9)


def _names(text: str) -> list[str]:
    return [name for name in re.split(r"[\s,;]+", text) if name]


# --- and back -------------------------------------------------------------------------------------------------------


def format_brief(brief: Mapping[str, Any], units: Units = DEFAULT) -> dict[str, str]:
    """Write a brief as the texts of its fields; `parse_brief` of them, with `kept=brief`, is the brief again."""
    draws = brief.get("draws", {})
    texts = {name: _span_text(name, limit, units) for name, limit in brief.get("limits", {}).items() if name in LIMITED}
    return texts | {
        "litres": _wanted(brief, units),
        "objective": ", ".join(brief.get("objective", ())),
        "whole": "yes" if draws.get("whole") else "no",
        "part_full": draws.get("part_full", _AVOID),
        "max_stocks": str(draws.get("max_stocks", "")),
        "ready": show_short(Quantity.PERCENT, 100 * draws["ready"], units) if "ready" in draws else "",
        "must": " ".join(draws.get("must", ())),
        "never": " ".join(draws.get("never", ())),
    }


def _wanted(brief: Mapping[str, Any], units: Units) -> str:
    if "litres" in brief or not {"bottles", "cases"} & brief.keys():
        return _span_text("litres", brief["litres"], units) if "litres" in brief else ""
    span = read_brief(brief).litres
    ends = {"min": span.low, "max": span.high}
    return _span_text("litres", ends if span.target is None else span.target, units)


def _span_text(name: str, limit: float | Mapping[str, float], units: Units) -> str:
    if not isinstance(limit, Mapping):
        return _number(name, limit, units)
    texts = {end: _number(name, value, units) for end, value in limit.items()}
    if "target" in texts:
        return f"{texts['target']} ± {texts['within']}" if limit.get("within") else texts["target"]
    return f"{texts['min']}-{texts['max']}" if len(texts) > 1 else " ".join(next(iter(texts.items())))


def _number(name: str, value: float, units: Units) -> str:
    if figure_of(name).quantity is not Quantity.VOLUME:
        return f"{value:.10g}".replace(".", units.decimal)
    shown = show_exact(round(1000 * value), units, with_unit=False)
    return shown.rstrip("0").rstrip(units.decimal) if units.decimal in shown else shown


def rules_line(texts: Texts) -> str:
    """Return what a brief asks besides its limits, in one line: its aim, and its rules on stocks."""
    aim = dict(AIMS).get(texts.get("objective", "") or AIMS[0][0], texts.get("objective", ""))
    whole = "whole barrels" if texts.get("whole") == "yes" else ""
    part_full = "part-full allowed" if texts.get("part_full") == "any" else ""
    rules = [
        f"{words} {', '.join(_names(texts.get(rule, '')))}" for rule, words in _SAID if texts.get(rule, "").strip()
    ]
    most = texts.get("max_stocks", "").strip()
    stocks = f"at most {most} stocks" if most else ""
    chance = texts.get("ready", "").strip().removesuffix("%").strip()
    ready = f"ready at least {chance} %" if chance else ""
    return " · ".join(part for part in (aim, stocks, whole, ready, *rules, part_full) if part)


def toggled(texts: Texts, rule: str, stock: str) -> dict[str, str]:
    """Return the texts with a stock put under `must` or `never`, or taken from it; it never stands under both."""
    names = {key: _names(texts.get(key, "")) for key in ("must", "never")}
    stood_there = stock in names[rule]
    names = {key: [name for name in listed if name != stock] for key, listed in names.items()}
    if not stood_there:
        names[rule].append(stock)
    return {**texts, **{key: " ".join(listed) for key, listed in names.items()}}
