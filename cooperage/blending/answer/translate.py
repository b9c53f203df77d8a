"""The translator: a settled plan becomes an answer."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cooperage.blending.answer import conflict as explain
from cooperage.blending.answer.answer import Answer, Binding, Clash, LeftOut, Miss, Nearest
from cooperage.blending.answer.drawn import MET, blend_figures, bottling, list_draws
from cooperage.blending.answer.ranging import ranging
from cooperage.blending.answer.result import result_notes
from cooperage.blending.answer.words import PriceBase, limit_words, miss_words, price_words, step_price
from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.figures import unit_of_limit
from cooperage.blending.brief.law_lines import LINES
from cooperage.blending.brief.quantities import FigureText, QuantityText
from cooperage.blending.lp.columns import total
from cooperage.blending.lp.highs import Ending, TimeBudget
from cooperage.blending.lp.limits import Limit
from cooperage.blending.lp.model import Model
from cooperage.blending.lp.passes import Settled
from cooperage.blending.lp.ranks import Plan
from cooperage.blending.lp.volume import Mixing
from cooperage.blending.stocks.pool import Floats

TRACE = 1e-9  # draws below this share of the blend are rounding, not mead


def answer_from(settled: Settled, mixing: Mixing, left_out: tuple[LeftOut, ...], clock: TimeBudget) -> Answer:
    """Return the answer of a settled solve."""
    model, plan = settled.model, settled.plan
    notes = tuple(_notes(settled))
    match plan.ending:
        case Ending.OPTIMAL | Ending.FEASIBLE:
            return _with_plan(model, plan, mixing, left_out, notes)
        case Ending.INFEASIBLE:
            clash = explain.conflict(model, clock)
            near = _nearest(model, plan, mixing, clock)
            notes += ("time ran out before the reasons were narrowed down",) if clock.out else ()
            return Answer("infeasible", conflict=clash, nearest=near, left_out=left_out, notes=notes)
        case Ending.UNBOUNDED:
            return Answer("unbounded", left_out=left_out, notes=notes)
    near = _so_far(settled, mixing, clock)
    if near is not None and not near.misses:
        notes += ("the nearest blend so far meets every limit; whether a better one exists is not known",)
    return Answer("no_plan", nearest=near, left_out=left_out, notes=notes)


def _so_far(settled: Settled, mixing: Mixing, clock: TimeBudget) -> Nearest | None:
    """Return the last plan of a solve that ended without one, with what it misses."""
    return _nearest(settled.model, replace(settled.plan, z=settled.so_far), mixing, clock)


def nothing_to_draw(brief: Brief, left_out: tuple[LeftOut, ...]) -> Answer:
    """Return the answer of a pool with no stock that can be considered."""
    asked = brief.litres.low or brief.litres.high
    words = QuantityText(FigureText("litres", asked), " of blend asked for; there is no stock to draw on")
    miss = Miss("litres", "min", asked, 0.0, asked, words, "L")
    clash = (Clash("litres", "min", asked, words, "L"),)
    return Answer(
        "infeasible", conflict=clash, nearest=Nearest((), {"litres": 0.0}, (miss,)), left_out=left_out, notes=(words,)
    )


def _notes(settled: Settled) -> Iterator[str]:
    plan, aims = settled.plan, settled.model.aims
    figures = settled.model.columns.stocks.figures
    yield from (LINES[name].words() for name in settled.model.brief.under)
    if any(aim.objective.kind == "most_profit" for aim in aims) and "cost_per_l" not in figures:
        yield "the pool has no cost_per_l: profit is what the blend sells for"
    if plan.ending is Ending.UNBOUNDED:
        yield "nothing keeps the objective within bounds: give litres a max, or stocks without end a figure"
    if not settled.settled:
        yield "the true volume did not settle: widen the limits on strength, sugar or litres a little"
    elif plan.ending is Ending.NO_PLAN:
        yield "time ran out before any plan was found"
    if plan.stopped_at is not None:
        yield f"time ran out while improving {aims[plan.stopped_at].objective}; what ranks before it is at its best"


def _with_plan(
    model: Model, plan: Plan, mixing: Mixing, left_out: tuple[LeftOut, ...], notes: tuple[str, ...]
) -> Answer:
    assert plan.z is not None
    litres = litres_drawn(model, plan.z)
    blend = blend_figures(model.columns.stocks, litres, mixing)
    return Answer(
        "optimal" if plan.ending is Ending.OPTIMAL else "feasible",
        objective=model.aims[0].quantity.of(plan.z) if model.aims else None,
        gap=None if plan.ending is Ending.OPTIMAL else plan.gap,
        draws=list_draws(model.brief, model.columns.stocks, litres),
        blend=blend,
        binding=tuple(_binding(model, plan, plan.z)),
        left_out=left_out,
        notes=(*notes, *result_notes(model.brief, model.columns.stocks, litres, blend)),
        bottling=bottling(model.brief, blend),
        ranging=ranging(model, plan.z),
    )


def litres_drawn(model: Model, z: Floats) -> Floats:
    """Return the litres of each draw, rounding noise cleared."""
    litres = np.clip(model.columns.litres(z), 0.0, model.columns.stocks.litres)
    cleared: Floats = np.where(litres > TRACE * litres.sum(), litres, 0.0)
    return cleared


def _binding(model: Model, plan: Plan, z: Floats) -> Iterator[Binding]:
    size = PriceBase(total(model.columns.volume, z), model.brief.bottle_ml, bool(model.integer.any()))
    for at, limit in enumerate(model.limits):
        if not abs(limit.quantity.of(z) - limit.value) <= MET * max(1.0, abs(limit.value)):
            continue
        slope = _slope(model, limit, None if plan.prices is None else float(plan.prices[at]), z)
        gain = abs(slope) if limit.side == "exact" else max(0.0, slope if limit.side == "min" else -slope)
        rises = slope < 0 if limit.side == "exact" else limit.side == "max"
        known = np.isfinite(gain) and bool(model.aims)
        words = price_words(limit, model.aims[0], gain, rises, size) if known else limit_words(limit)
        price, unit = gain if known else None, unit_of_limit(limit.name)
        step = step_price(limit, model.aims[0], gain, size) if known else ""
        yield Binding(limit.name, limit.side, limit.value, price, words, unit, step)


def _slope(model: Model, limit: Limit, price: float | None, z: Floats) -> float:
    """Return d(first objective, to be lowered)/d(value of the limit).

    A row reads sign * (amount - value * base) <= 0, so that raising the value by d is raising its bound by
    sign * d * base; and an objective that is a figure moves by 1/base of what its programme moves.
    """
    if price is None or not model.aims:
        return float("nan")
    sign = -1.0 if limit.side == "min" else 1.0
    return price * sign * limit.quantity.weight(z) / model.aims[0].quantity.weight(z)


def _nearest(model: Model, plan: Plan, mixing: Mixing, clock: TimeBudget) -> Nearest | None:
    if plan.z is None:
        return None
    stocks = model.columns.stocks
    litres = litres_drawn(model, plan.z)
    return Nearest(
        list_draws(model.brief, stocks, litres),
        blend_figures(stocks, litres, mixing),
        tuple(_misses(model, plan.z)),
        explain.dosing(model.brief, stocks, clock),
    )


def _misses(model: Model, z: Floats) -> Iterator[Miss]:
    for limit in model.limits:
        got = limit.quantity.of(z)
        if limit.excess(got) > MET * max(1.0, abs(limit.value)):
            words, unit = miss_words(limit, got), unit_of_limit(limit.name)
            yield Miss(limit.name, limit.side, limit.value, got, limit.excess(got), words, unit)
