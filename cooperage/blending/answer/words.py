"""The blend as text in the cellar's words: units, limits, prices, misses."""

import math
from dataclasses import dataclass, replace

from cooperage.blending.brief.figures import figure_name, unit_words
from cooperage.blending.brief.quantities import AmountText, FigureText, Part, QuantityText, VolumeStepText, WorthText
from cooperage.blending.lp.aims import Aim
from cooperage.blending.lp.limits import Limit
from cooperage.blending.stocks.pool import Floats
from cooperage.units import Quantity

_COUNTED = {"max_stocks": "stocks drawn on", "max_partly_full": "left partly full"}
_SIDES = {"min": "at least", "max": "at most", "exact": "exactly"}


def limit_words(limit: Limit) -> QuantityText:
    """Return what a limit asks."""
    side = _SIDES[limit.side]
    match limit.kind:
        case "litres":
            return QuantityText(f"{side} ", FigureText("litres", limit.value), " of blend")
        case "share":
            return QuantityText(f"{side} ", _percent(limit.value), f" of the blend from {_members(limit.subject)}")
        case "must":
            return QuantityText("at least ", FigureText("litres", limit.value), f" drawn from {limit.subject}")
        case "count":
            return QuantityText(f"at most {limit.value:.0f} {_COUNTED[limit.subject]}")
    surely = ", whatever the readings' doubt" if limit.kind == "sure" else ""
    return QuantityText(f"{figure_name(limit.subject)} {side} ", FigureText(limit.subject, limit.value), surely)


def _percent(share: float) -> AmountText:
    return AmountText(Quantity.PERCENT, 100 * share)


def _members(subject: str) -> str:
    column, colon, label = subject.partition(":")
    return f"the {column} {label!r}" if colon else subject


def miss_words(limit: Limit, got: float) -> QuantityText:
    """Return how far a blend stays from a limit."""

    def part(value: float) -> Part:
        if limit.kind == "share":
            return _percent(value)
        return FigureText("litres" if limit.kind == "must" else limit.subject, value)

    way = "over" if got > limit.value else "short of"
    return QuantityText(limit_words(limit), ": comes to ", part(got), ", ", part(abs(got - limit.value)), f" {way} it")


def range_words(limit: Limit, per_litre: Floats) -> QuantityText:
    """Return that no stock on its own reaches a limit; empty when some stock does."""
    low, high = float(per_litre.min()), float(per_litre.max())
    if limit.value > high and limit.side != "max":
        return QuantityText("; no stock has more than ", FigureText(limit.subject, high))
    if limit.value < low and limit.side != "min":
        return QuantityText("; no stock has less than ", FigureText(limit.subject, low))
    return QuantityText()


def limit_step(limit: Limit) -> float:
    """Return a small round step of a limit, such as a taster would ask for: 0.1 % vol, 1 g/L, 1 % of the blend."""
    if limit.kind == "share":
        return 0.01
    if limit.subject == "abv":
        return 0.1
    if limit.kind in ("must", "count") or limit.value == 0:
        return 1.0
    return float(10.0 ** min(0, math.floor(math.log10(abs(limit.value)) - 1)))


@dataclass(frozen=True, slots=True)
class PriceBase:
    """What a price is shared out over: litres of blend, and the bottle if the brief counts in bottles."""

    litres: float
    bottle_ml: float | None = None
    fixed_stocks: bool = False

    def each(self, worth: float, *, by_step: bool = False, figures: int = 2) -> QuantityText:
        """Return what something is worth to a bottle, else to a litre; alone for one litre of blend."""
        if self.litres == 1:
            return QuantityText(WorthText(worth, by_step=by_step))
        if self.bottle_ml is None:
            return QuantityText(WorthText(worth / self.litres, by_step=by_step, by_litre=True, figures=figures))
        return QuantityText(
            WorthText(worth / self.litres * self.bottle_ml / 1000, by_step=by_step, figures=figures), " a bottle"
        )


def price_words(limit: Limit, aim: Aim, gain: float, rises: bool, size: PriceBase) -> QuantityText:
    """Return what easing a limit by one step would be worth to the first objective.

    `gain` is the objective's improvement per unit of the limit; `rises` is which way easing it moves its value. A
    step of volume is one of the person's own unit.
    """
    step = limit_step(limit)
    asked = limit_words(limit)
    worth = gain * step
    if worth <= 1e-9 * max(1.0, size.litres):
        return QuantityText(asked, "; relaxing it gains nothing")
    same = " with the same stocks drawn" if size.fixed_stocks else ""
    over = replace(size, litres=1.0) if limit.kind == "litres" else size
    by_step = limit.kind in ("litres", "must")
    return QuantityText(
        asked, "; ", _step_words(limit, step, rises), " would ", gain_words(aim, worth, over, by_step), same
    )


def _step_words(limit: Limit, step: float, rises: bool) -> QuantityText:
    way = "more" if rises else "less"
    if limit.kind == "share":
        return QuantityText(_percent(step), f" {way} of {_members(limit.subject)} allowed")
    if limit.kind == "litres":
        return QuantityText(VolumeStepText(step), f" {way}")
    if limit.kind == "must":
        return QuantityText(VolumeStepText(step), f" {way} of {limit.subject}")
    amount = f"one {unit_words(limit.subject)}".rstrip() if step == 1 else FigureText(limit.subject, step)
    return QuantityText(amount, f" {way} {figure_name(limit.subject)} allowed")


def step_price(limit: Limit, aim: Aim, gain: float, size: PriceBase) -> QuantityText:
    """Return what one step of a limit is worth to the first objective, in short: "1 g/L: 0.014 per litre"."""
    step = limit_step(limit)
    worth = gain * step
    if worth <= 1e-9 * max(1.0, size.litres):
        return QuantityText("reached, at no cost")
    by_step = limit.kind in ("litres", "must")
    over = replace(size, litres=1.0) if limit.kind == "litres" else size
    return QuantityText(_step_alone(limit, step), ": ", _worth_words(aim, worth, over, by_step))


def _step_alone(limit: Limit, step: float) -> Part | str:
    if limit.kind == "share":
        return _percent(step)
    if limit.kind in ("litres", "must"):
        return VolumeStepText(step)
    return f"{step:.0f}" if limit.kind == "count" else FigureText(limit.subject, step)


def gain_words(aim: Aim, worth: float, size: PriceBase, by_step: bool = False) -> QuantityText:
    """Return what such a gain in the first objective is; `by_step`, if it is for a step of the person's volume."""
    name, amount = aim.objective.property or "", _worth_words(aim, worth, size, by_step)
    match aim.objective.kind:
        case "least_cost":
            return QuantityText("save ", amount)
        case "most_profit":
            return QuantityText("earn ", amount, " more")
        case "least_leftover":
            return QuantityText("leave ", amount, " less behind")
        case "fewest_stocks":
            return QuantityText("spare ", amount)
        case "nearest":
            return QuantityText(f"bring {figure_name(name)} nearer by ", amount)
    verb = "raise" if aim.objective.kind == "highest" else "lower"
    return QuantityText(f"{verb} {figure_name(name)} by ", amount)


def _worth_words(aim: Aim, worth: float, size: PriceBase, by_step: bool) -> QuantityText:
    match aim.objective.kind:
        case "least_cost" | "most_profit":
            return size.each(worth, by_step=by_step)
        case "least_leftover":
            return QuantityText(WorthText(worth, "litres", by_step))
        case "fewest_stocks":
            return QuantityText(WorthText(worth, by_step=by_step), " stocks")
    return QuantityText(WorthText(worth, aim.objective.property or "", by_step))
