"""A million densities and a million-stream mix against the bare polynomials they contain, in one run.

Run with `python tests/benchmarks/bench_liquid.py`. The bare cost is NumPy's own `polyval` on the published coefficients
and the same figures: OIML R 22 for a density of spirit, both OIML R 22 and ICUMSA SPS-4 for every stream of a mix. What
the package adds is the check of ranges, % vol to % mass, the search for the volume, and a blend's three figures. Each
time is the best of several.
"""

import time
from collections.abc import Callable
from functools import partial
from typing import TypeAlias

import numpy as np
from numpy.polynomial.polynomial import polyval, polyval2d
from numpy.typing import NDArray

from cooperage.liquid import density_of, ethanol_water_density, mix
from cooperage.liquid.ethanol import A, B, C
from cooperage.liquid.sucrose import SOLUTE, WATER_20C

Floats: TypeAlias = NDArray[np.floating]

MILLION = 1_000_000
TIMES = 7


def best_of(call: Callable[[], object]) -> float:
    """Return the shortest time of several calls, in milliseconds."""
    taken = []
    for _ in range(TIMES):
        started = time.perf_counter()
        call()
        taken.append(time.perf_counter() - started)
    return min(taken) * 1e3


def bare_spirit(p: Floats, celsius: Floats) -> Floats:
    """OIML R 22 as one polynomial in both, the way NumPy evaluates those."""
    both = np.zeros((len(A), len(B) + 1))
    both[:, 0], both[0, 1:] = A, B
    for power, row in enumerate(C, start=1):
        both[1 : len(row) + 1, power] = row
    rho: Floats = polyval2d(p, celsius - 20.0, both)
    return rho


def bare_liquid(p: Floats, w: Floats) -> tuple[Floats, Floats]:
    """Return the two densities at 20 °C that Tabarié's rule adds."""
    alcohol: Floats = polyval(p, A)
    sugar: Floats = polyval(w, (WATER_20C, *SOLUTE))
    return alcohol, sugar


def line(what: str, ours: Callable[[], object], bare: Callable[[], object]) -> str:
    """Return one line of the table."""
    mine, plain = best_of(ours), best_of(bare)
    return f"{what:46s} {mine:8.1f} ms, bare polynomials {plain:8.1f} ms (x{mine / plain:.2f})"


def main() -> None:
    """Print the table."""
    random = np.random.default_rng(5)
    p, celsius = random.uniform(0.0, 1.0, MILLION), random.uniform(-20.0, 40.0, MILLION)
    litres, abv = random.uniform(1.0, 300.0, MILLION), random.uniform(0.0, 40.0, MILLION)
    extract = random.uniform(0.0, 300.0, MILLION)
    w = extract / 1200.0
    print(line("densities of spirit at 20 °C", lambda: ethanol_water_density(p), lambda: polyval(p, A)))
    print(
        line(
            "densities of spirit, each at its temperature",
            lambda: ethanol_water_density(p, celsius),
            lambda: bare_spirit(p, celsius),
        )
    )
    print(line("densities of mead", lambda: density_of(abv, extract), lambda: bare_liquid(p, w)))
    for streams in (1, 2, 5, 40, MILLION):
        shape = (MILLION // streams, streams)
        figures = [each.reshape(shape) for each in (litres, abv, extract)]
        print(
            line(
                f"mix of {shape[0]} x {streams} streams",
                partial(mix, *figures),
                lambda: bare_liquid(p, w),
            ),
            flush=True,
        )


if __name__ == "__main__":
    main()
