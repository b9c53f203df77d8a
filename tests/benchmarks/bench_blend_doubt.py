"""How often blends of simulated cellars lie in the bands that are told for them, with and without common errors.

Run with `python tests/benchmarks/bench_blend_doubt.py [cellars]`. The cellars are those of `bench_ageing.py`, read on a
schedule of their own. Every quarter the barrels of each lot, and barrels drawn at random, are blended in parts drawn at
random, and the blend's true figure is held against the one told: as if every reading erred alone, and as the program
has it. In every third cellar the instruments are off for good.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterable, Iterator
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cooperage.blending.answer.chance import deviations
from cooperage.blending.from_cellar import pool_of
from cooperage.book import Cellar
from cooperage.book.declared.properties import SOLVABLE
from cooperage.programme.ageing.aged import aged
from cooperage.programme.ageing.figures import FiguresNow

if TYPE_CHECKING:
    from tests.benchmarks.ageing_world import Mead, World
    from tests.benchmarks.bench_ageing import SCHEDULE, Walked
else:
    _spec = spec_from_file_location("bench_ageing", Path(__file__).with_name("bench_ageing.py"))
    _bench = sys.modules["bench_ageing"] = module_from_spec(_spec)
    _spec.loader.exec_module(_bench)
    SCHEDULE, Walked, World = _bench.SCHEDULE, _bench.Walked, _bench.World

QUARTER = 13  # weeks
AT_RANDOM = 3
REACH = {50: 0.6745, 80: 1.2816, 95: 1.9600}  # normal table


class Blended(NamedTuple):
    """How far a blend's figure lies from the truth, in deviations as if readings erred alone, and as told."""

    name: str
    is_biased: bool
    stocks: int
    alone: float
    told: float


class Blending(Walked):
    """A simulated cellar whose barrels are blended every quarter, on paper."""

    def __init__(self, world: World, path: Path) -> None:
        super().__init__(world, SCHEDULE, path)
        self.blended: list[Blended] = []

    def _looks(self, week: int, held: list["Mead"]) -> set[str]:
        if week % QUARTER == 0 and week > 2 * QUARTER:
            self._blends(self._book.cellar(), [mead for mead in held if mead.is_barrel], np.random.default_rng(week))
        return {mead.tag for mead in held if week >= mead.read_next / 7}

    def _blends(self, book: Cellar, barrels: list["Mead"], chance: np.random.Generator) -> None:
        now = aged(book, figures=FiguresNow(book))
        stocks = pool_of(now, {})
        place = {str(tag): at for at, tag in enumerate(stocks.names)}
        for some in _chosen(barrels, chance):
            drawn = [place[mead.tag] for mead in some]
            litres = np.zeros(len(stocks))
            litres[drawn] = chance.dirichlet(np.ones(len(some)))
            told = deviations(stocks, litres, 1.0)
            for name in stocks.uncertainty:
                alone = [now[mead.tag].figure(name).uncertainty for mead in some]
                if None in alone:
                    continue
                truth = np.array([mead.truth[name] for mead in some])
                error = float(litres[drawn] @ (stocks.figures[name][drawn] - truth))
                by_squares = float(np.linalg.norm(litres[drawn] * np.array(alone, dtype=np.float64)))
                kept = Blended(name, self._world.is_biased, len(some), error / by_squares, error / told[name])
                self.blended.append(kept)


def _chosen(barrels: list["Mead"], chance: np.random.Generator) -> Iterator[list["Mead"]]:
    for lot in sorted({mead.lot for mead in barrels}):
        alike = [mead for mead in barrels if mead.lot == lot]
        if len(alike) > 1:
            yield alike
    for _ in range(AT_RANDOM if len(barrels) > 1 else 0):
        yield list(chance.choice(np.array(barrels, dtype=object), min(len(barrels), 6), replace=False))


def blended(seed: int) -> list[Blended]:
    """Walk one cellar and return what its blends came to."""
    with tempfile.TemporaryDirectory() as folder:
        walked = Blending(World(seed), Path(folder) / "cellar.db")
        walked.run()
        return walked.blended


def line(what: str, found: Iterable[Blended]) -> str:
    """Put how often blends lay within their bands in words, and how large errors are in deviations."""
    rows = list(found)
    cells = []
    for how in ("alone", "told"):
        off = np.abs([getattr(row, how) for row in rows])
        cells += [f"{100 * (off <= reach).mean():5.0f}" for reach in REACH.values()] + [
            f"{(off**2).mean() ** 0.5:6.2f}"
        ]
    return f"{what:<34}{len(rows):6d}   {' '.join(cells)}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cellars", type=int, nargs="?", default=24)
    cellars = parser.parse_args().cellars
    found = [each for seed in range(cellars) for each in blended(seed)]
    print(f"{cellars} cellars; in the band of 50, 80, 95 %, root mean square in deviations: readings alone; as told")
    for name in SOLVABLE:
        for is_biased in (False, True):
            some = [each for each in found if each.name == name and each.is_biased == is_biased]
            if some:
                print(line(f"{name}, instruments {'off' if is_biased else 'true'}", some))


if __name__ == "__main__":
    main()
