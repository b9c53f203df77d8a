"""What a designed trial finds for its glasses, and whether its claims are true: simulated panels whose truth is known.

Run with `python tests/benchmarks/bench_trials.py`; all seeds are fixed. Tasters lie somewhere else on the scale each
(1.5 points), err by 1 point a glass, and like each stock a little differently (`own` points); scores are whole points
from 0 to 20. The truth is the mean of the panel's own surfaces. Three ways use the same number of glasses: a designed
trial in two sessions, each stock alone several times, and each point of an even grid once, best mean taken. These
figures of panels are common practice (no source).
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cooperage.blending import (
    Region,
    best_blend,
    candidate_points,
    choose_degree,
    d_optimal,
    draw_surfaces,
    simplex_centroid,
    simplex_lattice,
)
from cooperage.blending.stocks.pool import Floats

PANELS = 100
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

    def scores(self, points: Floats) -> Floats:
        """Return whole points, shape (tasters, blends)."""
        liked = 11 + self.surface(points) + self.bias[:, None] + self.own @ points.T
        return np.clip(np.round(liked + self.rng.normal(0, 1, liked.shape)), 0, 20)

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


def run(world: Callable[..., Surface], q: int, tasters: int, glasses: int, own: float) -> dict[str, Floats]:
    """Return what each panel showed, by name, one row a panel."""
    region = Region.whole(q)
    grid = region.grid()
    points, session = designed(q, glasses)
    even = simplex_lattice(q, 3) if q == 3 else simplex_centroid(q)
    rows: dict[str, list[list[float]]] = {}
    for seed in range(PANELS):
        each = panel(world, q, tasters, own, seed)
        best, single = each.truth(grid).max(), each.truth(np.eye(q)).max()
        blocks = {
            "taster": np.repeat(np.arange(tasters), len(points)).tolist(),
            "session": np.tile(session, tasters).tolist(),
        }
        scores = each.scores(points) + np.where(session, each.rng.normal(0, 0.3), 0.0)
        chosen = choose_degree(np.tile(points, (tasters, 1)), scores.ravel(), blocks=blocks)
        fit = chosen.fit
        surfaces = draw_surfaces(fit, region, seed=seed)
        answers = [best_blend(surfaces, region, tasted=points, level=level) for level in LEVELS]
        answer = answers[0]
        true = each.truth(answer.shares[None])[0]
        alone = each.scores(np.eye(q).repeat(max(1, glasses // q), axis=0)).reshape(tasters, q, -1).mean(axis=(0, 2))
        stock = each.truth(np.eye(q)[[alone.argmax()]])[0]
        top = even[each.scores(even).mean(axis=0).argmax()]
        of_grid = each.truth(top[None])[0]
        near = each.truth(points)
        gains = [[one.gain_interval[0] <= true - single <= one.gain_interval[1]] for one in answers]
        over_mean = [[one.interval[0] <= true <= one.interval[1]] for one in answers]
        for name, row in {
            "regret": [best - true, best - stock, best - of_grid],
            "gain": [true - single, answer.gain],
            "sure": [answer.chance_over_stocks, true > single],
            "of_tasted": [float(answer.chance_over_tasted.mean()), float((true > near).mean())],
            "gains": [float(held[0]) for held in gains],
            "means": [float(held[0]) for held in over_mean],
            "shares": [
                float(
                    (
                        (one.share_range[:, 0] - 1e-9 <= (t := grid[each.truth(grid).argmax()]))
                        & (t <= one.share_range[:, 1] + 1e-9)
                    ).mean()
                )
                for one in answers
            ],
            "degree": [len(fit.coefficients)],
        }.items():
            rows.setdefault(name, []).append(row)
    return {name: np.array(row, dtype=float) for name, row in rows.items()}


def main() -> None:
    """Print the figures of every world and size."""
    only = sys.argv[1:]
    pooled: list[Floats] = []
    for world in (linear, quadratic, ideal, bump):
        for q, tasters, glasses, own in ((3, 3, 9, 0.0), (3, 5, 10, 0.5), (4, 4, 16, 0.5)):
            if only and world.__name__ not in only:
                continue
            shown = run(world, q, tasters, glasses, own)
            near = (shown["regret"] < NEAR).mean(axis=0)
            print(
                f"{world.__name__:9} q {q} tasters {tasters} glasses {glasses} own {own}:"
                f" within {NEAR}: trial {near[0]:.2f} stocks {near[1]:.2f} grid {near[2]:.2f};"
                f" regret {' '.join(f'{m:.2f}' for m in shown['regret'].mean(axis=0))};"
                f" gain {shown['gain'][:, 0].mean():.2f} claimed {shown['gain'][:, 1].mean():.2f};"
                f" chance claimed {shown['sure'][:, 0].mean():.2f} true {shown['sure'][:, 1].mean():.2f};"
                f" over tasted {shown['of_tasted'][:, 0].mean():.3f} {shown['of_tasted'][:, 1].mean():.3f};"
                f" gain in {' '.join(f'{m:.2f}' for m in shown['gains'].mean(axis=0))};"
                f" score in {' '.join(f'{m:.2f}' for m in shown['means'].mean(axis=0))};"
                f" share in {' '.join(f'{m:.2f}' for m in shown['shares'].mean(axis=0))};"
                f" terms {shown['degree'].mean():.1f}",
                flush=True,
            )
            pooled.append(shown["sure"])
    claimed = np.concatenate(pooled)
    for low in np.arange(0, 1, 0.1):
        inside = (claimed[:, 0] >= low) & (claimed[:, 0] < low + 0.1 + (low > 0.85))
        if inside.sum():
            print(
                f"chance {low:.1f}: n {inside.sum()} claimed {claimed[inside, 0].mean():.3f} true {claimed[inside, 1].mean():.3f}"
            )


if __name__ == "__main__":
    main()
