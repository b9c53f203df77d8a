"""How often simulated panels claim what is not there, find what is, and hold the truth in their intervals.

Run with `python tests/benchmarks/bench_panels.py`; all seeds are fixed. Tasters lie somewhere else on the scale each
(1.5 points), stretch it by a fifth, and err by `sd` points; scores are whole points, a share of the glasses is missed.
Errors twice as wide for one taster in three are tried too: common practice (no source).
"""

import math
from collections.abc import Iterator

import numpy as np

from cooperage.tasting.panel import summarise
from cooperage.tasting.statistics.agreement import friedman
from cooperage.tasting.statistics.products import analyse_products
from cooperage.tasting.statistics.quantiles import student
from cooperage.tasting.statistics.rank_pairs import nemenyi
from cooperage.tasting.statistics.records import TastedTable, taster_records

PANELS = 1000
SIZES = [(tasters, glasses) for tasters in (2, 3, 4, 6) for glasses in (2, 4, 6)]
LEVELS = (0.5, 0.8, 0.95)


def panels(tasters: int, glasses: int, sd: float, missed: float = 0.0, better: float = 0.0) -> Iterator[np.ndarray]:
    """Yield tables of whole points from 0 to 20; the first glass is better by so many."""
    rng = np.random.default_rng([tasters, glasses, int(10 * sd), int(100 * missed), int(better)])
    wide = np.where(np.arange(tasters) % 3 == 2, 2.0, 1.0)
    for _ in range(PANELS):
        scores = 10 + rng.normal(0, 1.5, tasters) + rng.normal(0, sd, (glasses, tasters)) * wide
        scores[0] += better * rng.uniform(0.8, 1.2, tasters)
        scores = np.clip(np.round(scores), 0, 20)
        scores[rng.random(scores.shape) < missed] = np.nan
        yield scores


def claims(tasters: int, glasses: int, sd: float, missed: float, better: float) -> list[float]:
    """Share of panels that name a difference: by means, Friedman with Nemenyi, F with tasters at random, shuffling."""
    named = np.zeros(4)
    for scores in panels(tasters, glasses, sd, missed, better):
        named[0] += "apart differ" in summarise(scores, width=20).words[0]
        if not missed and np.ptp(scores, axis=0).any():
            pairs = nemenyi(scores)
            named[1] += friedman(scores, "chi2")[1] <= 0.05 and bool(pairs.differ())
        if not missed and glasses * tasters <= 24:
            found = analyse_products(scores)
            named[2] += found.product.p <= 0.05
            named[3] += found.p_shuffled <= 0.05
    return [float(share) for share in named / PANELS]


def coverage(tasters: int, glasses: int, sd: float, missed: float) -> list[float]:
    """How often the interval of the first glass's mean holds the truth of the panel, at each level."""
    rng = np.random.default_rng([tasters, glasses, int(10 * sd)])
    held, counted = np.zeros(len(LEVELS)), 0
    for _ in range(PANELS):
        bias = rng.normal(0, 1.5, tasters)
        scores = np.round(10 + bias + rng.normal(0, sd, (glasses, tasters)))
        scores[rng.random(scores.shape) < missed] = np.nan
        found = summarise(scores)
        degrees = int(np.isfinite(scores).sum()) - glasses - tasters + 1
        if degrees > 0 and math.isfinite(found.standard_error[0]):
            counted += 1
            off = abs(found.adjusted[0] - 10 - bias.mean()) / found.standard_error[0]
            held += [off <= student(degrees, (1 - level) / 2) for level in LEVELS]
    return [float(share) for share in held / max(counted, 1)]


def records(flights: int) -> list[float]:
    """How often the interval of a taster's bias over so many flights of six glasses holds the truth, at each level."""
    rng, truth, held = np.random.default_rng(flights), np.array([1.5, -0.5, -1.0]), np.zeros(len(LEVELS))
    for _ in range(PANELS // 2):
        tables = []
        for _ in range(flights):
            scores = np.round(rng.normal(20, 2, (6, 1)) + truth + rng.normal(0, 1, (6, 3)))
            scores[rng.random(scores.shape) < 0.1] = np.nan
            tables.append(TastedTable(scores, ("a", "b", "c")))
        for at, level in enumerate(LEVELS):
            bias = taster_records(tables, level)[0].bias
            held[at] += bias.low <= truth[0] * 1.5 <= bias.high
    return [float(share) for share in 2 * held / PANELS]


def shown(shares: list[float]) -> str:
    """Shares in per cent."""
    return "  ".join(f"{100 * share:5.1f}" for share in shares)


def main() -> None:
    """Print every table."""
    print("tasters glasses  sd missed better   claims in 100 panels: means, ranks, F, shuffled")
    for sd in (0.3, 1.0, 2.0):
        for tasters, glasses in SIZES:
            for missed, better in ((0.0, 0.0), (0.15, 0.0), (0.0, 4.0)):
                row = shown(claims(tasters, glasses, sd, missed, better))
                print(f"{tasters:7} {glasses:7} {sd:4} {missed:5} {better:5}   {row}")
    print(f"tasters glasses missed   truth held at {LEVELS}")
    for tasters, glasses in SIZES:
        for missed in (0.0, 0.15):
            print(f"{tasters:7} {glasses:7} {missed:5}   {shown(coverage(tasters, glasses, 1.0, missed))}")
    print("flights   bias held")
    for flights in (2, 4, 8, 16):
        print(f"{flights:7}   {shown(records(flights))}")


if __name__ == "__main__":
    main()
