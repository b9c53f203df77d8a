"""What it takes to avoid part-full barrels: the time of both solves over that of the best plan alone, in one run.

Run as `python -m tests.benchmarks.bench_blend_tidy`; each line is the middle of several invented cellars.
"""

from statistics import median
from time import perf_counter
from typing import Any

import numpy as np
import pandas as pd

from cooperage.blending import solve

CELLARS = 7


def cellar(stocks: int, seed: int, tanks: float) -> pd.DataFrame:
    """Return barrels, four in five of them full, and some tanks among them."""
    random = np.random.default_rng(seed)
    is_full = random.random(stocks) < 0.8
    litres = np.where(is_full, random.uniform(205, 228, stocks), random.uniform(20, 150, stocks)).round(1)
    return pd.DataFrame(
        {
            "stock": [f"B-{at:03}" for at in range(stocks)],
            "litres": litres,
            "min_litres": np.minimum(5.0, litres),
            "abv": random.normal(13, 0.8, stocks).round(2),
            "sugar_g_l": random.normal(65, 20, stocks).clip(2).round(1),
            "va_g_l": random.normal(0.4, 0.08, stocks).clip(0.1).round(3),
            "cost_per_l": random.uniform(4, 8, stocks).round(2),
            "group": np.where(random.random(stocks) < tanks, "tank", "used oak"),
        }
    )


BRIEF: dict[str, Any] = {
    "litres": 900,
    "objective": ["least_cost"],
    "limits": {
        "abv": {"min": 12.6, "max": 13.4},
        "sugar_g_l": {"target": 65, "within": 4},
        "va_g_l": {"max": 0.42},
    },
}


def main() -> None:
    """Print a line for each size of cellar."""
    for stocks in (12, 67, 200):
        for tanks in (0.06, 0.0):
            best_s, both_s, fewer = [], [], 0
            for seed in range(CELLARS):
                pool = cellar(stocks, seed, tanks)
                begun = perf_counter()
                best = solve(pool, BRIEF)
                between = perf_counter()
                tidy = solve(pool, BRIEF | {"draws": {"part_full": "avoid"}})
                best_s.append(between - begun)
                both_s.append(perf_counter() - between)
                fewer += (best.part_full or 0) - (tidy.part_full or 0)
            print(
                f"{stocks:>4} stocks, {'with' if tanks else 'no'} tanks: {median(best_s):.3f} s alone, "
                f"{median(both_s):.3f} s with fewer part full ({median(both_s) / median(best_s):.1f} times, "
                f"longest {max(both_s):.2f} s), {fewer / CELLARS:.1f} fewer"
            )


if __name__ == "__main__":
    main()
