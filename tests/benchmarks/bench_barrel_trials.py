"""Trials across barrels whose truth is known: false claims, intervals, and the power claimed against that found.

Run with `python -m tests.benchmarks.bench_barrel_trials [SHARE OF THE TRIALS] [SEED]`. Barrels differ within their
block, tasters have a height of their own in every flight, scores come in half points; a design is even, or glasses are
missing. Of trials without a difference at most one in twenty may find one; intervals must hold the truth as often as
they say within three binomial deviations, those for all pairs together at least so often; and a difference must be
found as often as was claimed beforehand for as many glasses as are tasted, within three binomial deviations. Where
some are missing barrels and tasters weigh unevenly: power may fall short of that by 0.4 of the share that is missing.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace

import numpy as np

from cooperage.programme.compared.analysis import BarrelValues, TreatmentComparison, compare
from cooperage.programme.compared.layout import BarrelLayout, assign
from cooperage.programme.compared.power import of_layout

_BARREL, _SCORE, _TASTER, _BLOCK = 1.0, 1.4, 1.5, 2.0
_STEP = 0.5
_UNEVEN = 0.4
"""How much less often a difference may be found than was claimed, by the share of glasses that is missing."""


@dataclass(frozen=True)
class Design:
    """A design that is tried so many times; `missing` of the glasses are not tasted."""

    name: str
    blocks: tuple[int, ...]
    treatments: int
    flights: int
    tasters: int
    missing: float
    trials: int

    def drawn(self, rng: np.random.Generator) -> BarrelLayout:
        """Draw which barrel gets which treatment."""
        block = [at for at, size in enumerate(self.blocks) for _ in range(size)]
        return assign(block, self.treatments, int(rng.integers(2**31)))


DESIGNS = (
    Design("2 treatments, 4 blocks of 2", (2,) * 4, 2, 2, 4, 0, 2000),
    Design("2 treatments, 1 block of 6", (6,), 2, 1, 3, 0, 2000),
    Design("3 treatments, 4 blocks of 3", (3,) * 4, 3, 2, 4, 0, 2000),
    Design("3 treatments, 6 short blocks of 2", (2,) * 6, 3, 2, 4, 0, 2000),
    Design("2 treatments, 4 blocks of 2, glasses missing", (2,) * 4, 2, 2, 4, 0.125, 2000),
    Design("3 treatments, 4 blocks of 3, glasses missing", (3,) * 4, 3, 2, 3, 0.125, 2000),
    Design("2 treatments, 4 blocks of 2, a third missing", (2,) * 4, 2, 2, 4, 1 / 3, 2000),
)


def tasted(
    design: Design, layout: BarrelLayout, effects: np.ndarray, barrel_sd: float, rng: np.random.Generator
) -> BarrelValues:
    """Simulate what a panel gives the barrels of a layout."""
    barrels = rng.normal(0, barrel_sd, layout.barrels) + rng.normal(0, _BLOCK, layout.blocks)[list(layout.block)]
    barrels += effects[list(layout.treatment)]
    barrel, column = (each.ravel() for each in np.indices((layout.barrels, design.flights * design.tasters)))
    heights = rng.normal(10, _TASTER, design.flights * design.tasters)
    exact = barrels[barrel] + heights[column] + rng.normal(0, _SCORE, len(barrel))
    kept = rng.random(len(barrel)) >= design.missing
    value = np.round(exact / _STEP) * _STEP
    return BarrelValues(value[kept], barrel[kept], column[kept], (column // design.tasters)[kept], 20)


def run(
    design: Design, barrel_sd: float, difference: float, seed: int
) -> list[tuple[BarrelLayout, TreatmentComparison, TreatmentComparison]]:
    """Try a design; each trial is compared at 95 and at 80 %."""
    rng = np.random.default_rng(seed)
    effects = np.zeros(design.treatments)
    effects[0] = difference
    found = []
    for _ in range(design.trials):
        layout = design.drawn(rng)
        scores = tasted(design, layout, effects, barrel_sd, rng)
        at = [compare(scores, layout.treatment, layout.block, level=level) for level in (0.95, 0.80)]
        found.append((layout, at[0], at[1]))
    return found


def deviation(share: float, trials: int) -> float:
    """Three binomial deviations."""
    return 3 * math.sqrt(share * (1 - share) / trials)


def held(compared: TreatmentComparison, difference: float) -> bool:
    """Return True if the intervals of all pairs hold the truth."""
    return all(each.low <= (difference if each.first == 0 else 0) <= each.high for each in compared.pairs)


def main() -> int:
    """Print what was found, and fail where a promise does not hold."""
    failed, part = 0, float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    for number, whole in enumerate(DESIGNS, seed):
        design = replace(whole, trials=round(part * whole.trials))
        for barrel_sd in (_BARREL, 0.0):
            null = run(design, barrel_sd, 0.0, 1000 + number)
            claimed = sum(any(each.is_found for each in at.pairs) for _, at, _ in null) / design.trials
            cover = [sum(held(at, 0.0) for at in each) / design.trials for each in list(zip(*null, strict=True))[1:]]
            layout = design.drawn(np.random.default_rng(0))
            glasses = design.flights * design.tasters * (1 - design.missing)
            variance = barrel_sd**2 + (_SCORE**2 + _STEP**2 / 12) / glasses
            comparing = of_layout(layout)
            difference = comparing.least(variance)
            real = run(design, barrel_sd, difference, 2000 + number)
            power = sum(at.pairs[0].is_found for _, at, _ in real) / design.trials
            promised = np.mean([of_layout(each).power(difference, variance) for each, _, _ in real[:100]])
            checks = [claimed <= 0.05 + deviation(0.05, design.trials)]
            for share, level in zip(cover, (0.95, 0.80), strict=True):
                checks.append(share >= level - deviation(level, design.trials))
                if not design.missing and design.treatments == 2:
                    checks.append(share <= level + deviation(level, design.trials))
            short = deviation(0.8, design.trials) + _UNEVEN * design.missing
            checks.append(-short <= power - float(promised) <= deviation(0.8, design.trials))
            failed += not all(checks)
            print(
                f"{design.name}, barrels {barrel_sd:g}: false claims {100 * claimed:.1f} %, held "
                f"{100 * cover[0]:.1f} of 95 and {100 * cover[1]:.1f} of 80 %, a difference of {difference:.2f} "
                f"found {100 * power:.1f} %, promised {100 * promised:.1f} % {'ok' if all(checks) else 'FAILED'}"
            )
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
