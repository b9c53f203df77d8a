"""The blend told in the cellar's words: units, limits, prices, misses."""

import math
from dataclasses import dataclass, replace

from cooperage.blending.aims import Aim
from cooperage.blending.limits import Limit
from cooperage.blending.pool import Floats

_UNITS = {
    "abv": "% vol",
    "litres": "l",
    "cost_per_l": "a litre",
    "price_per_l": "a litre",
    "max_stocks": "stocks",
    "max_partly_full": "stocks",
}
_SUFFIXES = {"_mg_l": "mg/l", "_g_l": "g/l", "_per_l": "a litre"}
_NAMES = {
    "abv": "strength",
    "sugar_g_l": "sugar",
    "ta_g_l": "TA",
    "va_g_l": "VA",
    "cost_per_l": "cost",
    "price_per_l": "price",
    "max_stocks": "stocks drawn on",
    "max_partly_full": "left partly full",
}
_COUNTED = {"max_stocks": "stocks drawn on", "max_partly_full": "left partly full"}
_SIDES = {"min": "at least", "max": "at most", "exact": "exactly"}


def unit_of(name: str) -> str:
    """Return the unit a property's name promises, or nothing."""
    return _UNITS.get(name) or next((unit for suffix, unit in _SUFFIXES.items() if name.endswith(suffix)), "")


def name_of(name: str) -> str:
    """Return how a property is called in a sentence."""
    bare = next((name.removesuffix(suffix) for suffix in _SUFFIXES if name.endswith(suffix)), name)
    return _NAMES.get(name, bare.replace("_", " "))


def figure(value: float, name: str) -> str:
    """Return a figure with its unit, to six digits."""
    return f"{value:.6g} {unit_of(name)}".rstrip()


def limit_words(limit: Limit) -> str:
    """Say what a limit asks."""
    side = _SIDES[limit.side]
    match limit.kind:
        case "litres":
            return f"{side} {figure(limit.value, 'litres')} of blend"
        case "share":
            return f"{side} {limit.value * 100:.6g} % of the blend from {_members(limit.subject)}"
        case "must":
            return f"at least {figure(limit.value, 'litres')} drawn from {limit.subject}"
        case "count":
            return f"at most {limit.value:.0f} {_COUNTED[limit.subject]}"
    surely = ", whatever the readings' doubt" if limit.kind == "sure" else ""
    return f"{name_of(limit.subject)} {side} {figure(limit.value, limit.subject)}{surely}"


def _members(subject: str) -> str:
    column, colon, label = subject.partition(":")
    return f"the {column} {label!r}" if colon else subject


def miss_words(limit: Limit, got: float) -> str:
    """Say how far a blend stays from a limit."""
    percent = 100.0 if limit.kind == "share" else 1.0
    unit = "%" if limit.kind == "share" else unit_of("litres" if limit.kind == "must" else limit.subject)
    way = "over" if got > limit.value else "short of"
    by, reached = abs(got - limit.value) * percent, got * percent
    return (
        f"{limit_words(limit)}: comes to {reached:.6g} {unit}".rstrip() + f", {by:.3g} {unit}".rstrip() + f" {way} it"
    )


def range_words(limit: Limit, per_litre: Floats) -> str:
    """Say that no stock on its own reaches a limit; empty when some stock does."""
    low, high = float(per_litre.min()), float(per_litre.max())
    if limit.value > high and limit.side != "max":
        return f"; no stock has more than {figure(high, limit.subject)}"
    if limit.value < low and limit.side != "min":
        return f"; no stock has less than {figure(low, limit.subject)}"
    return ""


def step_of(limit: Limit) -> float:
    """Return a small round step of a limit, such as a taster would ask for: 0.1 % vol, 1 g/l, 1 % of the blend."""
    if limit.kind == "share":
        return 0.01
    if limit.subject == "abv":
        return 0.1
    if limit.kind in ("must", "count") or limit.value == 0:
        return 1.0
    return float(10.0 ** min(0, math.floor(math.log10(abs(limit.value)) - 1)))


@dataclass(frozen=True, slots=True)
class Size:
    """What a price is shared out over: litres of blend, and the bottle if the brief speaks of bottles."""

    litres: float
    bottle_ml: float | None = None
    fixed_stocks: bool = False

    def each(self, worth: float) -> str:
        """Return what something is worth to a bottle, else to a litre."""
        if self.litres == 1:
            return f"{worth:.3g}"
        if self.bottle_ml is None:
            return f"{worth / self.litres:.2g} per litre"
        return f"{worth / self.litres * self.bottle_ml / 1000:.2g} a bottle"


def price_words(limit: Limit, aim: Aim, gain: float, rises: bool, size: Size) -> str:
    """Say what easing a limit by one step would be worth to the first objective.

    `gain` is the objective's improvement per unit of the limit; `rises` tells which way easing it moves its value.
    """
    step = step_of(limit)
    asked = limit_words(limit)
    worth = gain * step
    if worth <= 1e-9 * max(1.0, size.litres):
        return f"{asked}; easing it gains nothing"
    same = " with the same stocks drawn" if size.fixed_stocks else ""
    over = replace(size, litres=1.0) if limit.kind == "litres" else size
    return f"{asked}; {_step_words(limit, step, rises)} would {gain_words(aim, worth, over)}{same}"


def _step_words(limit: Limit, step: float, rises: bool) -> str:
    way = "more" if rises else "less"
    if limit.kind == "share":
        return f"{step * 100:g} % {way} of {_members(limit.subject)} allowed"
    if limit.kind == "litres":
        return f"{step:g} litre {way}"
    if limit.kind == "must":
        return f"{step:g} litre {way} of {limit.subject}"
    amount = "one" if step == 1 else f"{step:g}"
    return f"{amount} {unit_of(limit.subject)} ".replace("  ", " ") + f"{way} {name_of(limit.subject)} allowed"


def gain_words(aim: Aim, worth: float, size: Size) -> str:
    """Say what improving the first objective by so much is."""
    name = aim.objective.property or ""
    each = size.each(worth)
    match aim.objective.kind:
        case "least_cost":
            return f"save {each}"
        case "most_profit":
            return f"earn {each} more"
        case "least_leftover":
            return f"leave {worth:.3g} l less behind"
        case "fewest_stocks":
            return f"spare {worth:.3g} stocks"
        case "nearest":
            return f"bring {name_of(name)} nearer by {worth:.3g} {unit_of(name)}".rstrip()
    verb = "raise" if aim.objective.kind == "highest" else "lower"
    return f"{verb} {name_of(name)} by {worth:.3g} {unit_of(name)}".rstrip()
