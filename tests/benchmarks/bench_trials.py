"""What a designed trial finds for its glasses, and whether its claims are true: simulated panels whose truth is known.

Run with `python tests/benchmarks/bench_trials.py`; all seeds are fixed. Tasters lie somewhere else on the scale each
(1.5 points), err by 1 point a glass, and like each stock a little differently (`own` points); scores are whole points
from 0 to 20. The truth is the mean of the panel's own surfaces. Three ways use the same number of glasses: a designed
trial in two sessions, each stock alone several times, and each point of an even grid once, best mean taken. These
figures of panels are common practice (no source).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cooperage.blending import (
    Region,
    ScheffeFit,
    best_blend,
    candidate_points,
    choose_degree,
    d_optimal,
    draw_surfaces,
    simplex_centroid,
    simplex_lattice,
)
from cooperage.blending.stocks.pool import Floats

PANELS = 200
LEVELS = (0.5, 0.8, 0.95)
NEAR = 0.5
"""Points of the score within which a blend counts as the best."""
Surface = Callable[[Floats], Floats]


def linear(q: int, rng: np.random.Generator) -> Surface:
    """Blends taste as their parts: none is better than the best stock."""
    parts = rng.normal(0, 1.5, q)
    return lambda x: x @ parts


def quadratic(q: int, rng: np.random.Generator) -> Surface:
    """Pairs gain or lose by each other, at most by a point or so."""
    parts, pairs = rng.normal(0, 1.5, q), np.triu(rng.normal(0, 4, (q, q)), 1)
    return lambda x: x @ parts + np.einsum("ni,ij,nj->n", x, pairs, x)


def ideal(q: int, rng: np.random.Generator) -> Surface:
    """Each stock has two traits; the panel likes a blend the more, the nearer its traits are to an ideal."""
    traits, wanted = rng.normal(0, 1, (q, 2)), rng.normal(0, 0.5, 2)
    return lambda x: -1.5 * ((x @ traits - wanted) ** 2).sum(axis=1)


def bump(q: int, rng: np.random.Generator) -> Surface:
    """A round hill about one blend, which no polynomial is."""
    top, high, wide = rng.dirichlet(np.ones(q)), rng.uniform(2, 5), rng.uniform(0.3, 0.6)
    return lambda x: high * np.exp(-((x - top) ** 2).sum(axis=1) / (2 * wide**2))


@dataclass(frozen=True)
class Panel:
    """Tasters of one truth: `surface` is what they like on average."""

    surface: Surface
    own: Floats
    bias: Floats
    rng: np.random.Generator

    def scores(self, points: Floats, apart: Floats | float = 0.0) -> Floats:
        """Return whole points, shape (tasters, blends); sessions lie `apart`."""
        liked = 11 + self.surface(points) + self.bias[:, None] + self.own @ points.T + apart
        return np.asarray(np.clip(np.round(liked + self.rng.normal(0, 1, liked.shape)), 0, 20), dtype=np.float64)

    def truth(self, points: Floats) -> Floats:
        """Return what the panel likes on average, shape (blends,)."""
        return 11 + self.surface(points) + self.own.mean(axis=0) @ points.T + self.bias.mean()


def panel(world: Callable[..., Surface], q: int, tasters: int, own: float, seed: int) -> Panel:
    """Return a panel drawn with a fixed seed."""
    rng = np.random.default_rng([seed, q, tasters])
    return Panel(world(q, rng), rng.normal(0, own, (tasters, q)), rng.normal(0, 1.5, tasters), rng)


def designed(q: int, glasses: int) -> tuple[Floats, np.ndarray]:
    """Return the blends of a designed trial in two sessions, and their session."""
    half = glasses // 2
    candidates = candidate_points(Region.whole(q)).points
    inner = [np.full(q, 1 / q)] * 2
    found = d_optimal(candidates, glasses, 2, blocks=[half, glasses - half], fixed=inner)
    return found.points, found.session


@dataclass(frozen=True)
class Size:
    """How large a trial is: stocks, tasters, glasses of each, and how far tasters differ in what they like (points)."""

    q: int
    tasters: int
    glasses: int
    own: float


SIZES = (Size(3, 3, 9, 0.0), Size(3, 5, 10, 0.5), Size(4, 4, 16, 0.5))
WORLDS = (linear, quadratic, ideal, bump)


@dataclass(frozen=True)
class Shown:
    """What one panel showed. Pairs are what was claimed, and what is true."""

    regret: tuple[float, float, float]
    gain: tuple[float, float]
    chance: tuple[float, float]
    over_tasted: tuple[float, float]
    gain_held: tuple[bool, ...]
    score_held: tuple[bool, ...]
    share_held: tuple[float, ...]


def scored(each: Panel, points: Floats, session: np.ndarray) -> ScheffeFit:
    """Return the fit to a panel's scores of two sessions, which lie a little apart."""
    tasters = len(each.bias)
    scores = each.scores(points, each.rng.normal(0, 0.5) * (session - session.mean()))
    blocks = {
        "taster": np.repeat(np.arange(tasters), len(points)).tolist(),
        "session": np.tile(session, tasters).tolist(),
    }
    return choose_degree(np.tile(points, (tasters, 1)), scores.ravel(), blocks=blocks).fit


def other_ways(each: Panel, size: Size) -> tuple[float, float]:
    """Return the true score of the stock, and of the grid's point, that the same number of glasses shows best."""
    alone = np.eye(size.q).repeat(max(1, size.glasses // size.q), axis=0)
    means = each.scores(alone).reshape(size.tasters, size.q, -1).mean(axis=(0, 2))
    even = simplex_lattice(size.q, 3) if size.q == 3 else simplex_centroid(size.q)
    top = even[each.scores(even).mean(axis=0).argmax()]
    return float(each.truth(np.eye(size.q))[means.argmax()]), float(each.truth(top[None])[0])


def shown_by(each: Panel, size: Size, points: Floats, session: np.ndarray) -> Shown:
    """Return what one panel shows, beside the truth."""
    region = Region.whole(size.q)
    grid = region.grid()
    truth = each.truth(grid)
    single = float(each.truth(np.eye(size.q)).max())
    surfaces = draw_surfaces(scored(each, points, session), region)
    answers = [best_blend(surfaces, region, tasted=points, level=level) for level in LEVELS]
    first, true = answers[0], float(each.truth(answers[0].shares[None])[0])
    spans = [one.share_range + np.array([-1e-9, 1e-9]) for one in answers]
    top = grid[truth.argmax()]
    return Shown(
        regret=(truth.max() - true, *(truth.max() - other for other in other_ways(each, size))),
        gain=(first.gain or 0.0, true - single),
        chance=(first.chance_over_stocks or 0.0, float(true > single)),
        over_tasted=(float(first.chance_over_tasted.mean()), float((true > each.truth(points)).mean())),
        gain_held=tuple(held(one.gain_interval, true - single) for one in answers),
        score_held=tuple(held(one.interval, true) for one in answers),
        share_held=tuple(float(((span[:, 0] <= top) & (top <= span[:, 1])).mean()) for span in spans),
    )


def held(interval: tuple[float, float] | None, true: float) -> bool:
    """Return whether an interval holds the truth."""
    return interval is not None and interval[0] - 1e-9 <= true <= interval[1] + 1e-9


def figures(shown: list[Shown]) -> str:
    """Return a line of figures of many panels."""

    def mean(name: str) -> list[float]:
        return [float(part) for part in np.mean([getattr(each, name) for each in shown], axis=0)]

    near = np.mean(np.array([each.regret for each in shown]) < NEAR, axis=0)
    parts = {f"within {NEAR} of the best: trial, stocks, grid": near, "short of it": mean("regret")}
    parts |= {"gain claimed, true": mean("gain"), "chance claimed, true": mean("chance")}
    parts |= {"over tasted": mean("over_tasted"), "gain held": mean("gain_held")}
    parts |= {"score held": mean("score_held"), "share held": mean("share_held")}
    return "; ".join(f"{name} {' '.join(f'{each:.2f}' for each in part)}" for name, part in parts.items())


def chances(shown: list[Shown]) -> None:
    """Print how often each claimed chance came true."""
    pairs = np.array([each.chance for each in shown])
    for low, high in ((0, 0.05), (0.05, 0.25), (0.25, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 1.01)):
        some = pairs[(pairs[:, 0] >= low) & (pairs[:, 0] < high)]
        if len(some):
            claimed, true = some.mean(axis=0)
            off = 3 * np.sqrt(claimed * (1 - claimed) / len(some))
            print(f"claimed {claimed:.3f}, true {true:.3f} of {len(some)} (three deviations {off:.3f})")


def off_by(shown: list[Shown]) -> None:
    """Print how often intervals hold the truth, and whether within three binomial deviations."""
    for name in ("gain_held", "score_held"):
        for at, level in enumerate(LEVELS):
            share = float(np.mean([getattr(each, name)[at] for each in shown]))
            off = 3 * np.sqrt(level * (1 - level) / len(shown))
            print(f"{name} {level:.0%}: {share:.3f} of {len(shown)} (three deviations {off:.3f})")


def main() -> None:
    """Print the figures of every world and size, then those of all together."""
    every: list[Shown] = []
    for world in WORLDS:
        for size in SIZES:
            points, session = designed(size.q, size.glasses)
            panels = [panel(world, size.q, size.tasters, size.own, seed) for seed in range(PANELS)]
            shown = [shown_by(each, size, points, session) for each in panels]
            print(f"{world.__name__} {size}: {figures(shown)}", flush=True)
            every += shown
    off_by(every)
    chances(every)


if __name__ == "__main__":
    main()
