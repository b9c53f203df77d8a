"""How long it takes to give 40 parts of lots their barrels among 200, and how near scores bring the wood to the truth.

Run with `python -m tests.benchmarks.bench_wood`.
"""

from time import perf_counter

import numpy as np

from cooperage.programme.wood.assign import assign
from cooperage.programme.wood.effect import effect_left
from tests.programme.wood.test_effect import simulated


def milliseconds(table: np.ndarray, *rule: list[str]) -> float:
    """Return the median time of a few solutions [ms]."""
    took = []
    for _ in range(5):
        began = perf_counter()
        assign(table, *rule)
        took.append(1000 * (perf_counter() - began))
    return float(np.median(took))


def near_the_truth(cellars: int) -> tuple[float, float, float]:
    """Return the error by fills alone and with scores [% of a new barrel], and how often bands hold."""
    alone, scored, held = [], [], []
    for seed in range(cellars):
        uses, scores, truth = simulated(seed)
        by_fill, by_score = effect_left(uses), effect_left(uses, scores)
        alone += [(by_fill[tag].percent - true) ** 2 for tag, true in truth.items()]
        scored += [(by_score[tag].percent - true) ** 2 for tag, true in truth.items()]
        held += [by_score[tag].low <= true <= by_score[tag].high for tag, true in truth.items()]
    return float(np.mean(alone) ** 0.5), float(np.mean(scored) ** 0.5), float(np.mean(held))


if __name__ == "__main__":
    chance = np.random.default_rng(1)
    table = chance.uniform(0, 60, (40, 200))
    rooms = [f"room {place % 6}" for place in range(200)]
    print(f"40 parts, 200 barrels, with what each is worth: {milliseconds(table):.1f} ms")
    print(
        f"the same, ten lots each in one room: {milliseconds(table, [f'L{n % 10}' for n in range(40)], rooms):.0f} ms"
    )
    print("error by fills {:.1f}, with scores {:.1f}, bands hold {:.3f}".format(*near_the_truth(40)))
