"""The blend desk against the bare HiGHS call on the same matrices, in one run.

Run with `python tests/benchmarks/bench_blend.py`. The bare calls are recorded while `solve` makes its own, then
repeated alone through SciPy, so that both see exactly the same arrays; each figure is the best of several. "one call"
is the longest of them; for true volume a smaller one follows.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import pandas as pd

from cooperage.blending import solve, solver

Call = Callable[[], object]

LIMITS = {
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
    brief = {"litres": litres, "mixing": mixing, "objective": ["least_cost"], "limits": LIMITS}
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


def main() -> None:
    """Print the table."""
    for stocks, times in ((50, 30), (200, 30), (2_000, 20), (20_000, 3)):
        for mixing in ("plain", "liquid"):
            print(measure(stocks, mixing, whole=False, times=times), flush=True)
    for stocks in (200, 1_000):
        print(measure(stocks, "plain", whole=True, times=1), flush=True)


if __name__ == "__main__":
    main()
