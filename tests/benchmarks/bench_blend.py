"""The blend desk against the bare HiGHS call on the same matrices, in one run.

Run with `python tests/benchmarks/bench_blend.py`. The bare calls are recorded while `solve` makes its own, then
repeated alone through SciPy, so that both see exactly the same arrays; each figure is the best of several. "one call"
is the longest of them; for true volume a smaller one follows. Where PuLP or linopy (each with highspy) are installed,
they build and solve the same plain programme from the same table, up to the draws; `solve` also tells figures, prices,
ranges and bottles.
"""

import importlib.util
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from typing import Any

import numpy as np
import pandas as pd

from cooperage.blending import solve
from cooperage.blending.lp import highs as solver
from cooperage.blending.lp.silenced_stdout import silenced_stdout

Call = Callable[[], object]

LIMITS: dict[str, dict[str, float]] = {
    "abv": {"min": 13.4, "max": 13.6},
    "sugar_g_l": {"target": 60, "within": 2},
    "va_g_l": {"max": 0.42},
    "oak": {"min": 4.2},
}


def pool_of(stocks: int, seed: int = 4) -> pd.DataFrame:
    """Return barrels with figures spread as a cellar's are."""
    random = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "stock": [f"B-{number:05d}" for number in range(stocks)],
            "litres": random.uniform(150, 225, stocks).round(1),
            "abv": random.normal(13.5, 0.8, stocks).round(2),
            "sugar_g_l": random.normal(60, 20, stocks).clip(0).round(1),
            "va_g_l": random.normal(0.42, 0.1, stocks).clip(0.1).round(2),
            "oak": random.uniform(0, 8, stocks).round(1),
            "cost_per_l": random.uniform(2, 5, stocks).round(2),
        }
    )


def best_of(call: Call, times: int) -> float:
    """Return the shortest time of several calls, in milliseconds."""
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        call()
        taken.append(time.perf_counter() - started)
    return min(taken) * 1e3


@contextmanager
def recorded() -> Iterator[list[Call]]:
    """Record the bare calls made meanwhile."""
    calls: list[Call] = []
    kept = {name: getattr(solver, name) for name in ("linprog", "milp")}

    def recording(bare: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: object, **named: object) -> object:
            calls.append(lambda: bare(*given, **named))
            return bare(*given, **named)

        return call

    for name, bare in kept.items():
        setattr(solver, name, recording(bare))
    try:
        yield calls
    finally:
        for name, bare in kept.items():
            setattr(solver, name, bare)


def measure(stocks: int, mixing: str, whole: bool, times: int) -> str:
    """Return one line of the table."""
    pool = pool_of(stocks)
    there = float(pool["litres"].sum())
    litres = {"min": 0.2 * there, "max": 0.25 * there} if whole else 0.2 * there
    brief: dict[str, Any] = {"litres": litres, "mixing": mixing, "objective": ["least_cost"], "limits": LIMITS}
    brief["draws"] = {"whole": whole}
    with recorded() as calls:
        status = solve(pool, brief, time_limit=60).status
    bare = [best_of(call, times) for call in calls]
    ours = best_of(lambda: solve(pool, brief, time_limit=60), times)
    kind = "whole barrels" if whole else "litres"
    return (
        f"{stocks:6d} {kind:14s} {mixing:7s} {status:10s} solve {ours:8.2f} ms, {len(bare)} bare calls"
        f" {sum(bare):8.2f} ms (x{ours / sum(bare):.2f}), one call {max(bare):8.2f} ms (x{ours / max(bare):.2f})"
    )


def by_pulp(pool: pd.DataFrame, litres: tuple[float, float], whole: bool) -> float:
    """Return the least cost as PuLP finds it, with HiGHS in the same process."""
    pulp = import_module("pulp")
    there = pool["litres"].tolist()
    problem = pulp.LpProblem("blend", pulp.LpMinimize)
    kind, top = (pulp.LpBinary, [1.0] * len(there)) if whole else (pulp.LpContinuous, there)
    unit = there if whole else [1.0] * len(there)
    draws = [pulp.LpVariable(f"x{at}", 0, most, kind) for at, most in enumerate(top)]
    problem += pulp.lpDot([c * u for c, u in zip(pool["cost_per_l"], unit, strict=True)], draws)
    total = pulp.lpDot(unit, draws)
    problem += total >= litres[0]
    problem += total <= litres[1]
    for name, low, high in spans():
        for value, sign in ((low, -1.0), (high, 1.0)):
            if value is not None:
                row = [sign * u * (figure - value) for figure, u in zip(pool[name], unit, strict=True)]
                problem += pulp.lpDot(row, draws) <= 0
    problem.solve(pulp.HiGHS(msg=False, gapRel=0.0, timeLimit=60))
    return float(pulp.value(problem.objective))


def by_linopy(pool: pd.DataFrame, litres: tuple[float, float], whole: bool) -> float:
    """Return the least cost as linopy finds it, with HiGHS in the same process."""
    linopy = import_module("linopy")
    index = pd.RangeIndex(len(pool), name="stock")
    unit = pool["litres"].to_numpy() if whole else np.ones(len(pool))
    model = linopy.Model()
    if whole:
        draws = model.add_variables(coords=[index], binary=True, name="x")
    else:
        draws = model.add_variables(0, pd.Series(pool["litres"].to_numpy(), index), coords=[index], name="x")

    def over(row: np.ndarray) -> Any:
        return (pd.Series(row * unit, index) * draws).sum()

    model.add_constraints(over(np.ones(len(pool))) >= litres[0], name="least")
    model.add_constraints(over(np.ones(len(pool))) <= litres[1], name="most")
    for name, low, high in spans():
        for value, sign, side in ((low, -1.0, "low"), (high, 1.0, "high")):
            if value is not None:
                model.add_constraints(over(sign * (pool[name].to_numpy() - value)) <= 0, name=f"{name} {side}")
    model.add_objective(over(pool["cost_per_l"].to_numpy()))
    model.solve("highs", io_api="direct", output_flag=False, mip_rel_gap=0.0, time_limit=60.0)
    return float(model.objective.value)


def spans() -> Iterator[tuple[str, float | None, float | None]]:
    """Yield each limit as its two ends."""
    for name, limit in LIMITS.items():
        if "target" in limit:
            yield name, limit["target"] - limit["within"], limit["target"] + limit["within"]
        else:
            yield name, limit.get("min"), limit.get("max")


LIBRARIES = {"pulp": by_pulp, "linopy": by_linopy}


def against(stocks: int, whole: bool, times: int) -> Iterator[str]:
    """Yield one line a modelling library, with its time over ours and whether it agrees."""
    pool = pool_of(stocks)
    there = float(pool["litres"].sum())
    litres = (0.2 * there, 0.25 * there) if whole else (0.2 * there, 0.2 * there)
    span = {"min": litres[0], "max": litres[1]} if whole else litres[0]
    brief: dict[str, Any] = {"litres": span, "mixing": "plain", "objective": ["least_cost"], "limits": LIMITS}
    brief["draws"] = {"whole": whole}
    cost = solve(pool, brief, time_limit=60).objective or 0.0
    ours = best_of(lambda: solve(pool, brief, time_limit=60), times)
    for name, build in LIBRARIES.items():
        if importlib.util.find_spec(name) is None or importlib.util.find_spec("highspy") is None:
            yield f"{stocks:6d} {name}: not installed"
            continue
        with silenced_stdout():
            found = build(pool, litres, whole)
            theirs = best_of(partial(build, pool, litres, whole), times)
        agrees = abs(found - cost) <= 1e-6 * abs(cost)
        kind = "whole barrels" if whole else "litres"
        yield (
            f"{stocks:6d} {kind:14s} {name:7s} {theirs:9.2f} ms, solve {ours:9.2f} ms (x{theirs / ours:.2f} of ours)"
            f"{'' if agrees else f', differs: {found} against {cost}'}"
        )


def main() -> None:
    """Print the table."""
    for stocks, times in ((50, 30), (200, 30), (2_000, 20), (20_000, 3)):
        for mixing in ("plain", "liquid"):
            print(measure(stocks, mixing, whole=False, times=times), flush=True)
    for stocks in (200, 1_000):
        print(measure(stocks, "plain", whole=True, times=1), flush=True)
    for stocks, whole, times in (
        (50, False, 5),
        (200, False, 5),
        (2_000, False, 3),
        (20_000, False, 1),
        (200, True, 1),
        (1_000, True, 1),
    ):
        for line in against(stocks, whole, times):
            print(line, flush=True)


if __name__ == "__main__":
    main()
