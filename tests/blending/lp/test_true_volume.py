"""Blends at their true volume."""

from collections.abc import Callable, Sequence
from itertools import product
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.lp.volume import LiquidMixing
from cooperage.blending.stocks.pool import BadPool, Stocks
from cooperage.liquid import density_of, mix

Liquids: TypeAlias = list[tuple[float, float, float, float]]
"""Litres, % vol, grams of sugar a litre and cost a litre of each."""


def everything(rows: Sequence[tuple[str, float, float, float]]) -> Answer:
    """Pour whole stocks together."""
    pool = pd.DataFrame(rows, columns=["stock", "litres", "abv", "sugar_g_l"])
    names = [row[0] for row in rows]
    return solve(pool, {"litres": {"max": 10_000}, "objective": [], "draws": {"whole": True, "must": names}})


def test_mass_balance_table(reference: Callable[[str], Any]) -> None:
    """Two stocks poured together give the volume and strength of the mass-balance table."""
    for row in reference("true_volume_of_blends.csv").itertuples():
        answer = everything([("one", row.litres_1, row.abv_1, 0.0), ("two", row.litres_2, row.abv_2, 0.0)])
        assert answer.blend["litres"] == pytest.approx(row.true_litres, abs=0.0051)
        assert answer.blend["abv"] == pytest.approx(row.abv_by_mass_balance, abs=0.00051)


def test_published_contraction(reference: Callable[[str], Any]) -> None:
    """Spirit and water come to the published volumes, within each row's tolerance, at 20 °C."""
    table = reference("contraction_on_mixing.csv")
    for row in table[table["t_degC"] == 20].itertuples():
        answer = everything(
            [("spirit", row.spirit_volume, row.spirit_abv_percent, 0.0), ("water", row.water_volume, 0.0, 0.0)]
        )
        assert answer.blend["litres"] == pytest.approx(row.mixture_volume, abs=row.suggested_tolerance_volume)


def test_litres_asked_for_are_litres_of_blend() -> None:
    """A fortified 1000 L needs more than 1000 L poured, and exactly 1000 L come of it."""
    pool = pd.DataFrame({"stock": ["mead", "spirit"], "litres": 2000.0, "abv": [13.0, 96.0], "sugar_g_l": 0.0})
    answer = solve(pool, {"litres": 1000, "limits": {"abv": {"target": 21.48}}})
    poured = sum(draw.litres for draw in answer.draws)
    # true_volume_of_blends.csv, row 5: 900 L and 100 L come to 991.63 L of 21.480 % vol
    assert poured == pytest.approx(1000 * 1000 / 991.63, abs=0.05)
    assert answer.blend["litres"] == pytest.approx(1000.0, abs=1e-6)


def test_acids_are_per_litre_of_blend() -> None:
    """What is dissolved is shared out over the true volume: 100 L with 5 g/L and 100 L of spirit hold 500 g."""
    pool = pd.DataFrame(
        {"stock": ["mead", "spirit"], "litres": 100.0, "abv": [10.0, 96.0], "sugar_g_l": 0.0, "ta_g_l": [5.0, 0.0]}
    )
    answer = solve(pool, {"litres": {"max": 1000}, "draws": {"whole": True, "must": ["mead", "spirit"]}})
    assert answer.blend["litres"] is not None
    assert answer.blend["ta_g_l"] == pytest.approx(500.0 / answer.blend["litres"])
    assert answer.blend["litres"] < 199.0


@pytest.mark.parametrize("abv", [0.0, 0.005, 0.3, 0.99, 1.0, 12.0, 99.995])
@pytest.mark.parametrize("sugar", [0.0, 0.05, 80.0])
def test_a_factor_is_what_one_litre_more_adds(abv: float, sugar: float) -> None:
    """The litres by which a blend grows, by difference of `litres` itself: near the ends of the scale too.

    At the ends the slope of density is a difference to one side, over 0.01 % vol or 0.1 g/L: below 1e-4 of a litre.
    """
    sweet = sugar if abv < 50 else 0.0
    figures = {"abv": np.array([abv, 96.0, 0.0, 0.0]), "sugar_g_l": np.array([sweet, 0.0, 0.0, 300.0])}
    mixing = LiquidMixing(Stocks(np.array(list("abcd"), dtype=object), np.full(4, 200.0), np.zeros(4), figures, {}))
    poured = np.array([100.0, 0.0, 0.0, 0.0])
    grown = [(mixing.litres(poured + 1e-3 * added) - mixing.litres(poured)) / 1e-3 for added in np.eye(4)]
    assert mixing.factors(poured) == pytest.approx(grown, abs=1e-4)


def stocks(count: int) -> st.SearchStrategy[Liquids]:
    """Return liquids from dry mead to liqueur, honey and spirit."""
    return st.lists(
        st.tuples(
            st.floats(20, 400).map(lambda x: round(x, 1)),
            st.sampled_from([0.0, 8.0, 12.0, 13.5, 15.0, 18.0, 40.0, 60.0, 96.0]),
            st.sampled_from([0.0, 5.0, 20.0, 60.0, 110.0, 300.0]),
            st.floats(0.5, 9).map(lambda x: round(x, 2)),
        ).filter(lambda row: row[1] < 60 or row[2] <= 20),
        min_size=2,
        max_size=count,
    )


def test_a_small_sweet_blend_is_settled_as_finely_as_a_large_one() -> None:
    """Ten litres of mead at 150 g/L, within 1 g/L: what remains of the volume's error is not told as sugar."""
    pool = pd.DataFrame({"stock": ["dry", "sweet"], "litres": 20.0, "abv": 0.0, "sugar_g_l": [0.0, 300.0]})
    some = mix([5.0, 5.0], [0.0, 0.0], [0.0, 300.0])
    limits = {"sugar_g_l": {"target": float(some.extract_g_l), "within": 1.0}}
    answer = solve(pool.assign(cost_per_l=1.0), {"litres": float(some.litres), "limits": limits})
    blend = mix([draw.litres for draw in answer.draws], 0.0, [{"dry": 0, "sweet": 300}[d.stock] for d in answer.draws])
    assert abs(float(blend.extract_g_l) - float(some.extract_g_l)) <= 1.0 + 1e-6


@pytest.mark.slow
@settings(max_examples=60)
@given(rows=stocks(8), portions=st.lists(st.floats(0.05, 1), min_size=8, max_size=8), data=st.data())
def test_mixed_draws_meet_every_limit(rows: Liquids, portions: list[float], data: st.DataObject) -> None:
    """For any brief some blend meets, `mix` of the draws meets litres, strength and sugar to 1e-6."""
    litres, abv, sugar, cost = map(np.array, zip(*rows, strict=True))
    some = mix(litres * portions[: len(rows)], abv, sugar)
    within = data.draw(st.sampled_from([0.0, 0.05, 1.0]))
    brief = {
        "litres": float(some.litres),
        "objective": ["least_cost"],
        "limits": {
            "abv": {"target": float(some.abv), "within": within},
            "sugar_g_l": {"target": float(some.extract_g_l), "within": within},
        },
    }
    names = [f"B-{at}" for at in range(len(rows))]
    pool = pd.DataFrame({"stock": names, "litres": litres, "abv": abv, "sugar_g_l": sugar, "cost_per_l": cost})
    answer = solve(pool, brief)
    assert answer.status == "optimal"
    at = [names.index(draw.stock) for draw in answer.draws]
    blend = mix([draw.litres for draw in answer.draws], abv[at], sugar[at])
    assert float(blend.litres) == pytest.approx(float(some.litres), abs=1e-6)
    assert abs(float(blend.abv) - float(some.abv)) <= within + 1e-6
    assert abs(float(blend.extract_g_l) - float(some.extract_g_l)) <= within + 1e-6
    assert answer.objective is not None
    assert answer.objective <= float(cost @ (litres * portions[: len(rows)])) * (1 + 1e-7)


@pytest.mark.slow
@settings(max_examples=40)
@given(rows=stocks(7), weak=st.floats(0, 30), most=st.floats(50, 900))
def test_whole_barrels_at_true_volume_agree_with_trying_them_all(rows: Liquids, weak: float, most: float) -> None:
    """Whole barrels meet their limits at true volume, and no set of barrels that does is cheaper."""
    litres, abv, sugar, cost = map(np.array, zip(*rows, strict=True))
    brief = {
        "litres": {"min": most / 4, "max": most},
        "objective": ["least_cost"],
        "limits": {"abv": {"min": weak, "max": weak + 4}},
        "draws": {"whole": True},
    }
    names = [f"B-{at}" for at in range(len(rows))]
    pool = pd.DataFrame({"stock": names, "litres": litres, "abv": abv, "sugar_g_l": sugar, "cost_per_l": cost})
    sets = np.array(list(product([0.0, 1.0], repeat=len(rows)))[1:]) * litres
    blends = mix(sets, abv, sugar)
    inside = np.minimum.reduce(
        [blends.litres - most / 4, most - blends.litres, blends.abv - weak, weak + 4 - blends.abv]
    )
    answer = solve(pool, brief)
    if answer.status == "infeasible":
        assert not (inside > 1e-6).any()
        return
    chosen = np.array([name in {draw.stock for draw in answer.draws} for name in names]) * litres
    at = int((sets == chosen).all(axis=1).argmax())
    assert inside[at] >= -1e-6
    assert answer.objective is not None
    assert answer.objective <= (sets[inside > 1e-6] @ cost).min(initial=np.inf) + 1e-6


@settings(max_examples=40)
@given(rows=stocks(6), portions=st.lists(st.floats(0.05, 1), min_size=6, max_size=6))
def test_blend_conserves_mass(rows: Liquids, portions: list[float]) -> None:
    """The blend weighs what its draws weigh: litres times density, summed."""
    litres, abv, sugar, _ = map(np.array, zip(*rows, strict=True))
    poured = litres * portions[: len(rows)]
    names = [f"B-{at}" for at in range(len(rows))]
    pool = pd.DataFrame({"stock": names, "litres": poured, "abv": abv, "sugar_g_l": sugar})
    answer = solve(pool, {"litres": {"max": 1e5}, "draws": {"whole": True, "must": names}})
    blended, strength, sweetness = (answer.blend[name] for name in ("litres", "abv", "sugar_g_l"))
    assert blended is not None
    assert strength is not None
    assert sweetness is not None
    weight = blended * float(density_of(strength, sweetness))
    assert weight == pytest.approx(float(poured @ density_of(abv, sugar)), rel=1e-9)


def test_stock_that_is_no_liquid_is_named() -> None:
    """A stock with more sugar than its strength leaves room for is bad input that names it."""
    pool = pd.DataFrame({"stock": ["mead", "typo"], "litres": 100.0, "abv": [13.0, 96.0], "sugar_g_l": [60.0, 600.0]})
    with pytest.raises(BadPool, match="stock 'typo'"):
        solve(pool, {"litres": 100})
