"""The cost of fewer part-full barrels and tiny draws, as figures and as a sentence."""

from dataclasses import replace

from cooperage.blending.answer.answer import Answer, Tidiness
from cooperage.blending.answer.words import PriceBase, gain_words
from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.figures import unit_of_limit
from cooperage.blending.brief.quantities import AmountText, QuantityText
from cooperage.blending.lp.aims import Aim
from cooperage.units import Quantity, counted

HALF_A_PENNY = 0.005  # of the whole blend: too little to be paid
_MONEY = ("least_cost", "most_profit")
_UNITS = {"least_cost": "money", "most_profit": "money", "fewest_stocks": "stocks", "least_leftover": "L"}


def unchanged(found: Answer, within: float, *, is_proved: bool) -> Answer:
    """Return the best plan as the one to keep, and why."""
    part_full, tiny = found.part_full or 0, found.tiny_draws or 0
    words = ""
    if part_full:
        near = AmountText(Quantity.PERCENT, 100 * within)
        doubt = "" if is_proved else ", as far as was looked"
        words = QuantityText(f"{_left(part_full, tiny)}: no plan within ", near, f" of the best has fewer{doubt}")
    price = Tidiness(0.0, "", 0.0, None, part_full, tiny, words)
    return replace(found, best_objective=found.objective, price_of_tidiness=price)


def with_price(answer: Answer, found: Answer, aim: Aim | None, brief: Brief) -> Answer:
    """Return a tidier plan with what it costs against the best one, whose proof stands for both."""
    litres = answer.blend["litres"] or 1.0
    worth = _worth(answer, found, aim)
    of_best = None if worth is None or not found.objective else 100 * worth / abs(found.objective)
    is_money = aim is not None and aim.objective.kind in _MONEY
    price = Tidiness(
        price=worth,
        unit=_unit(aim),
        price_percent=of_best,
        price_per_l=worth / litres if is_money and worth is not None else None,
        part_full_of_best=found.part_full or 0,
        tiny_draws_of_best=found.tiny_draws or 0,
        words=_words(_saved(answer, found), worth, aim, PriceBase(litres, brief.bottle_ml), found.objective),
    )
    return replace(answer, status=found.status, gap=found.gap, best_objective=found.objective, price_of_tidiness=price)


def _worth(answer: Answer, found: Answer, aim: Aim | None) -> float | None:
    if aim is None or answer.objective is None or found.objective is None:
        return None
    return max(0.0, aim.sign * (answer.objective - found.objective))


def _unit(aim: Aim | None) -> str:
    if aim is None:
        return ""
    return _UNITS.get(aim.objective.kind) or unit_of_limit(str(aim.objective.property))


def _saved(answer: Answer, found: Answer) -> str:
    before, tiny = found.part_full or 0, found.tiny_draws or 0
    now = _left(answer.part_full or 0, answer.tiny_draws or 0)
    return f"{now} instead of {before}{f' and {tiny}' if answer.tiny_draws else ''}" + (
        f" and {counted(tiny, 'tiny draw')}" if tiny and not answer.tiny_draws else ""
    )


def _left(part_full: int, tiny: int) -> str:
    barrels = counted(part_full, "part-full barrel") if part_full else "No part-full barrel"
    return f"{barrels} and {counted(tiny, 'tiny draw')}" if tiny else barrels


def _words(saved: str, worth: float | None, aim: Aim | None, size: PriceBase, best: float | None) -> QuantityText:
    if aim is None or worth is None or best is None:
        return QuantityText(saved)
    kind = aim.objective.kind
    if worth <= (HALF_A_PENNY if kind in _MONEY else 1e-6 * max(1.0, abs(best))):
        return QuantityText(f"{saved}, at no cost")
    if kind == "least_cost":
        return QuantityText(
            f"{saved}: costs ", size.each(worth), " more; with any allowed: ", size.each(best, figures=4)
        )
    return QuantityText(f"{saved}: with any allowed the plan would ", gain_words(aim, worth, size))
