"""Random blends against an independent formulation: dense, hand-built, and handed to SciPy directly."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from cooperage.blending import solve
from cooperage.blending.stocks.pool import Floats
from tests.examples import tried_on

Problem: TypeAlias = tuple[pd.DataFrame, dict[str, Any]]
"""A pool, and a brief over it."""

figure = st.integers(0, 40).map(lambda tenths: tenths / 4)


@st.composite
def problems(draw: st.DrawFn, most: int = 9) -> Problem:
    """Return a pool of stocks with two figures, and a brief that may or may not be possible."""
    count = draw(st.integers(1, most))
    column = st.lists(figure, min_size=count, max_size=count).map(np.array)
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(count)],
            "litres": draw(
                st.lists(st.integers(1, 9), min_size=count, max_size=count).map(lambda x: np.array(x) * 25.0)
            ),
            "ta_g_l": draw(column),
            "oak": draw(column),
            "cost_per_l": draw(column),
        }
    )
    low, width = draw(figure), draw(figure)
    brief = {
        "litres": {"min": draw(st.integers(1, 20)) * 10.0, "max": 400.0},
        "objective": ["least_cost"],
        "limits": {"ta_g_l": {"min": low, "max": low + width}, "oak": {"max": draw(figure)}},
    }
    return pool, brief


def matrices(pool: pd.DataFrame, brief: Mapping[str, Any]) -> tuple[Floats, Floats]:
    """Return the rows of a brief, written out by hand."""
    limits, litres = brief["limits"], brief["litres"]
    ta, oak = pool["ta_g_l"].to_numpy(), pool["oak"].to_numpy()
    rows = [
        limits["ta_g_l"]["min"] - ta,
        ta - limits["ta_g_l"]["max"],
        oak - limits["oak"]["max"],
        -np.ones(len(pool)),
        np.ones(len(pool)),
    ]
    return np.array(rows), np.array([0.0, 0.0, 0.0, -litres["min"], litres["max"]])


@pytest.mark.slow
@tried_on(150)
@given(problems())
def test_litres_agree_with_a_dense_programme(problem: Problem) -> None:
    """Status and cost are those of the same programme written densely."""
    pool, brief = problem
    rows, bounds = matrices(pool, brief)
    bare = linprog(
        pool["cost_per_l"],
        rows,
        bounds,
        bounds=list(zip(np.zeros(len(pool)), pool["litres"], strict=True)),
        method="highs-ipm",
    )
    answer = solve(pool, brief)
    assert answer.status == ("optimal" if bare.status == 0 else "infeasible")
    if bare.status == 0:
        assert answer.objective == pytest.approx(bare.fun, rel=1e-6, abs=1e-5)


@pytest.mark.slow
@tried_on(60)
@given(problems(most=8))
def test_whole_barrels_agree_with_trying_them_all(problem: Problem) -> None:
    """Draining barrels whole costs what the cheapest of all possible sets of barrels costs."""
    pool, brief = problem
    rows, bounds = matrices(pool, brief)
    sets = np.array(list(product([0.0, 1.0], repeat=len(pool)))) * pool["litres"].to_numpy()
    possible = (sets @ rows.T <= bounds + 1e-9).all(axis=1)
    answer = solve(pool, brief | {"draws": {"whole": True}})
    assert answer.status == ("optimal" if possible.any() else "infeasible")
    if possible.any():
        assert answer.objective == pytest.approx((sets[possible] @ pool["cost_per_l"].to_numpy()).min(), abs=1e-6)
        assert all(draw.left_l == pytest.approx(0.0, abs=1e-9) for draw in answer.draws)


@pytest.mark.slow
@tried_on(60)
@given(problems(most=6), st.integers(1, 3), st.integers(1, 4))
def test_counted_draws_agree_with_trying_every_choice(problem: Problem, most: int, least: int) -> None:
    """At most so many stocks, each drawn by its least or not at all: the best linear programme over all choices."""
    pool, brief = problem
    least_draw = 20.0 * least
    pool = pool[pool["litres"] >= least_draw].assign(min_litres=least_draw).reset_index(drop=True)
    rows, bounds = matrices(pool, brief)
    costs: list[float] = []
    for chosen in product([0.0, 1.0], repeat=len(pool)):
        if 0 < sum(chosen) <= most:
            reach = [(least_draw * on, litres * on) for on, litres in zip(chosen, pool["litres"], strict=True)]
            bare = linprog(pool["cost_per_l"], rows, bounds, bounds=reach)
            if bare.status == 0:
                assert bare.fun is not None
                costs.append(bare.fun)
    answer = solve(pool, brief | {"draws": {"max_stocks": most}})
    assert answer.status == ("optimal" if costs else "infeasible")
    if costs:
        assert answer.objective == pytest.approx(min(costs), rel=1e-6, abs=1e-5)
        assert len(answer.draws) <= most


@pytest.mark.slow
@tried_on(60)
@given(problems())
def test_highest_figure_agrees_with_the_scaled_programme(problem: Problem) -> None:
    """The highest average over a free number of litres is that of the Charnes-Cooper programme, solved on its own."""
    pool, brief = problem
    rows, bounds = matrices(pool, brief)
    count = len(pool)
    # u = x / V and s = 1 / V turn the ratio into a linear programme with sum(u) = 1
    scaled = np.vstack([np.column_stack([rows, -bounds]), np.column_stack([np.eye(count), -pool["litres"].to_numpy()])])
    bare = linprog(
        np.append(-pool["oak"], 0.0), scaled, np.zeros(len(scaled)), [[*np.ones(count), 0.0]], [1.0], method="highs-ipm"
    )
    answer = solve(pool, brief | {"objective": ["highest:oak"]})
    assert answer.status == ("optimal" if bare.status == 0 else "infeasible")
    if bare.status == 0:
        assert bare.fun is not None
        assert answer.objective == pytest.approx(-bare.fun, rel=1e-5, abs=1e-5)


@pytest.mark.slow
@tried_on(60)
@given(problems())
def test_impossible_briefs_name_a_set_that_cannot_be_spared(problem: Problem) -> None:
    """The clashing limits clash on their own, and stop clashing when any one of them is dropped."""
    pool, brief = problem
    answer = solve(pool, brief)
    if answer.status != "infeasible":
        return
    sides = [(clash.limit, clash.side) for clash in answer.conflict]
    assert solve(pool, only(brief, sides)).status == "infeasible"
    for spared in sides:
        assert solve(pool, only(brief, [side for side in sides if side != spared])).status == "optimal"


def only(brief: Mapping[str, Any], sides: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Return a brief that asks nothing but these sides, and for some litres at all."""
    limits: dict[str, dict[str, float]] = {}
    for name, side in sides:
        if name != "litres":
            ends = ("min", "max") if side == "exact" else (side,)
            limits.setdefault(name, {}).update({end: brief["limits"][name][end] for end in ends})
    litres = {"min": 0.25, "max": 4000.0} | {side: brief["litres"][side] for name, side in sides if name == "litres"}
    return {"litres": litres, "objective": ["least_cost"], "limits": limits}


@pytest.mark.slow
@tried_on(60)
@given(problems())
def test_price_is_what_easing_the_limit_gains(problem: Problem) -> None:
    """Easing a limit by a little gains no more than its price times that little, and never loses."""
    pool, brief = problem
    answer, step = solve(pool, brief), 1e-3
    for limit in answer.binding:
        if limit.side == "exact" or limit.value < step:
            continue
        moved = {limit.side: limit.value + (step if limit.side == "max" else -step)}
        if limit.limit == "litres":
            eased = brief | {"litres": brief["litres"] | moved}
        else:
            eased = brief | {"limits": brief["limits"] | {limit.limit: brief["limits"][limit.limit] | moved}}
        best = solve(pool, eased).objective
        assert answer.objective is not None
        assert best is not None
        assert limit.price is not None
        gained = answer.objective - best
        # the gain is concave in the step; the volume a figure is over may grow by what the step lets in
        assert -1e-6 <= gained <= limit.price * step * 1.01 + 1e-3 * step + 1e-6
