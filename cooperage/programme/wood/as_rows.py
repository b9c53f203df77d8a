"""The wood as scripts read it: keys with their units, None where a figure is unknown."""

from dataclasses import asdict
from math import isinf
from typing import Any

from cooperage.programme.wood.cost import BarrelCost
from cooperage.programme.wood.need import Band90, KindNeed, YearNeed
from cooperage.programme.wood.pairs import LotInBarrel
from cooperage.programme.wood.retired import Retirement
from cooperage.programme.wood.standings import WoodStanding


def wood_json(each: WoodStanding) -> dict[str, Any]:
    """Return one barrel's wood: litres in L, money in what prices were typed in, shares from 0 to 1."""
    effect, advice = each.effect, each.advice
    return {
        "barrel": each.tag,
        "rank": each.rank,
        "of": each.of,
        "verdict": advice.verdict.value,
        "sure": advice.sure,
        "why": advice.why,
        "let_go_cost": advice.let_go_cost,
        "used_wrongly_l": advice.used_l,
        "fill_number": each.standing.fill_number,
        "left_percent": None if effect is None else effect.percent,
        "low_percent": None if effect is None else effect.low,
        "high_percent": None if effect is None else effect.high,
        "scores": 0 if effect is None else effect.scores,
        "basis": None if effect is None else effect.basis,
        "fills_days": [fill.days(each.standing.at.timestamp()) for fill in each.past.fills],
        "cost": _cost(each.cost) | {"currency": each.standing.facts.currency or None},
        "faults": asdict(each.past.faults),
        "cautions": each.cautions,
    }


def _cost(cost: BarrelCost) -> dict[str, Any]:
    price = cost.price
    return {
        "price": None if price is None else price.price,
        "charges": None if price is None else price.charges,
        "left": None if price is None else price.left,
        "spread": None if price is None else price.spread,
        "lost_l": cost.lost_l,
        "lost_cost": _cents(cost.lost),
        "days_worked": cost.days_worked,
        "work_cost": _cents(cost.work),
        "litre_months": round(cost.litre_months, 1),
        "per_litre_month": None if cost.per_l_month is None else round(cost.per_l_month, 5),
        "not_known": cost.not_known,
    }


def _cents(sum_: float | None) -> float | None:
    return None if sum_ is None else round(sum_, 2)


def retired_json(retired: Retirement) -> dict[str, Any]:
    """Return what became of a retired barrel."""
    return asdict(retired) | {"written_off": retired.written_off}


def need_json(need: YearNeed) -> dict[str, Any]:
    """Return what is needed in a year."""
    return {
        "kinds": [_kind(each) for each in need.kinds],
        "budget": _band(need.budget),
        "kinds_without_price": need.unpriced,
        "waiting_l": need.waiting_ml / 1000,
        "empty_barrels_l": need.empty_ml / 1000,
        "without_room_l": need.without_room_ml / 1000,
    }


def _kind(need: KindNeed) -> dict[str, Any]:
    return {
        "wood": need.kind.wood,
        "size_l": need.kind.capacity_ml / 1000,
        "held": need.kind.past,
        "there": need.there,
        "neutral": need.neutral,
        "drop_out": asdict(need.drop_out),
        "filled_last_year": need.fills_last_year,
        "buy": need.buy,
        "price": _band(need.price),
        "budget": _band(need.budget),
    }


def _band(band: Band90 | None) -> dict[str, float] | None:
    return None if band is None else {name: round(each, 2) for name, each in asdict(band).items()}


def pair_json(pair: LotInBarrel) -> dict[str, Any]:
    """Return a part of a lot and its barrel; "if_not_l" is None where there is no other way, or it was not asked."""
    if_not = pair.if_not_l
    return {
        "lot": pair.part.lot,
        "part": pair.part.part,
        "of": pair.part.of,
        "volume_l": pair.part.ml / 1000,
        "wants": pair.part.wish.value,
        "barrel": None if pair.barrel is None else pair.barrel.tag,
        "costs_l": pair.costs_l,
        "gives_up_l": pair.gives_up_l,
        "if_not_l": None if if_not is None or isinf(if_not) else if_not,
        "rules": [{"rule": cost.rule, "costs_l": cost.litres, "why": cost.why} for cost in pair.costs],
        "cautions": pair.cautions,
    }
