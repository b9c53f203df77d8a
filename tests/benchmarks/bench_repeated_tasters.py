"""How often repeated answers of simulated tasters hold the truth in their interval, and claim what is not there.

Run with `python tests/benchmarks/bench_repeated_tasters.py`; all seeds are fixed. Each taster tastes the difference in
a share of the sets drawn from a beta distribution, and guesses in the others. Printed are how often the interval of
90 % holds the mean share, how often its upper end lies below it (a false claim that fewer taste it: 5 % at most are
wanted), and how often the plain binomial over all answers finds a difference where every taster guesses.
"""

from functools import cache

import numpy as np

from cooperage.tasting.statistics.difference.counts import TESTS, by_guessing
from cooperage.tasting.statistics.difference.replicated import repeated_answers

PANELS = 1000
TEST = TESTS["triangle"]


@cache
def ends_of(counts: tuple[tuple[int, int], ...]) -> tuple[float, float]:
    """The ends of the share for tasters with so many right of so many."""
    found = repeated_answers(TEST, counts, 0.9)
    return (0.0, 1.0) if found is None else found.share_between


def simulated(tasters: int, rounds: int, share: float, spread: float) -> tuple[float, float, float]:
    """Shares of panels whose interval holds the truth, whose upper end is below it, and p at 0.05 or less."""
    rng = np.random.default_rng([tasters, rounds, int(100 * share), int(100 * spread)])
    held = below = found = 0
    for _ in range(PANELS):
        own = (
            rng.beta(share * (1 / spread - 1), (1 - share) * (1 / spread - 1), tasters) if share else np.zeros(tasters)
        )
        right = rng.binomial(rounds, own + (1 - own) / 3)
        low, high = ends_of(tuple(sorted((int(each), rounds) for each in right)))
        held += low <= share <= high
        below += high < share
        found += by_guessing(TEST, int(right.sum()), tasters * rounds) <= 0.05
    return held / PANELS, below / PANELS, found / PANELS


if __name__ == "__main__":
    print(f"{'tasters':>7} {'rounds':>6} {'share':>6} {'spread':>6}   holds  below  p <= 0.05")
    for tasters in (3, 4, 6, 10):
        for rounds in (2, 4):
            for share, spread in ((0.0, 0.5), (0.3, 0.1), (0.3, 0.5), (0.3, 0.9), (0.6, 0.5)):
                held, below, found = simulated(tasters, rounds, share, spread)
                print(
                    f"{tasters:>7} {rounds:>6} {share:>6} {spread:>6}   {held:.3f}  {below:.3f}  {found:.3f}",
                    flush=True,
                )
