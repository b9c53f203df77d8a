"""The best blend of a surface, and how sure that is."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.blending import (
    Region,
    best_blend,
    draw_surfaces,
    fit_scheffe,
    simplex_centroid,
    simplex_lattice,
)
from cooperage.blending.mixture.best import NoSuchGoal
from cooperage.blending.mixture.surfaces import Surfaces
from cooperage.blending.mixture.terms import CannotFit
from cooperage.blending.stocks.pool import Floats
from tests.benchmarks.bench_trials import Size, bump, designed, panel, scored


def _certain(*coefficients: float) -> Surfaces:
    """Return surfaces of a quadratic that is known to the last digit."""
    return Surfaces("quadratic", np.tile(coefficients, (50, 1)), np.ones(50))


def _fitted(points: Floats, truth: Floats, sd: float, tasters: int = 4, seed: int = 0) -> Surfaces:
    rng = np.random.default_rng(seed)
    scores = np.tile(truth, tasters) + rng.normal(0, sd, tasters * len(points))
    blocks = {"taster": np.repeat(np.arange(tasters), len(points)).tolist()}
    return draw_surfaces(fit_scheffe(np.tile(points, (tasters, 1)), scores, 2, blocks=blocks), draws=1000)


def test_the_best_of_a_known_pair() -> None:
    """Y = 10 a + 12 b + 8 ab is greatest where its slope is none: at a = 3/8, with 10 3/8 + 12 5/8 + 8 15/64."""
    found = best_blend(_certain(10, 12, 8), Region.whole(2), tasted=[[0.5, 0.5]])
    assert found.shares == pytest.approx([3 / 8, 5 / 8], abs=1e-5)
    top = 10 * 3 / 8 + 12 * 5 / 8 + 8 * 15 / 64
    assert found.expected == pytest.approx(top)
    assert found.gain == pytest.approx(top - 12)
    assert found.interval == pytest.approx((top, top))
    assert found.chance_over_stocks == 1.0
    assert found.chance_over_tasted == pytest.approx([1.0])


def test_the_best_under_bounds_and_limits() -> None:
    """Bounds and linear limits are kept: with a at most a quarter the best has a quarter, by limits too."""
    for region in (
        Region.of([0, 0], [0.25, 1]),
        Region.of([0, 0], [1, 1], [([4.0, 0.0], None, 1.0)]),
        Region.of([0, 0], [1, 1], [([0.0, 1.0], 0.75, None)]),
    ):
        found = best_blend(_certain(10, 12, 8), region)
        assert found.shares == pytest.approx([0.25, 0.75], abs=1e-6)
        assert region.holds(found.shares).all()


def test_low_and_a_target() -> None:
    """The least score, and the blend whose score is asked for."""
    assert best_blend(_certain(10, 12, -8), Region.whole(2), goal="low").shares == pytest.approx(
        [5 / 8, 3 / 8], abs=1e-5
    )
    near = best_blend(_certain(10, 12, 0), Region.whole(2), goal=10.5)
    assert near.expected == pytest.approx(10.5, abs=1e-4)
    assert near.gain == pytest.approx(0.5, abs=1e-4)  # nearer to it than the nearer stock, by half a point


def test_a_target_is_met_where_the_score_is_best_known() -> None:
    """Many blends have the score that is asked for: the one that is least in doubt is taken."""
    rng = np.random.default_rng(0)
    draws = np.array([10.0, 12.0, 11.0]) + rng.normal(0, [1.0, 1.0, 0.01], (400, 3))
    found = best_blend(Surfaces("linear", draws, np.ones(400)), Region.whole(3), goal=11.0)
    assert found.shares == pytest.approx([0, 0, 1], abs=0.02)


def test_no_stock_stands_alone() -> None:
    """Where no single stock may be poured alone there is nothing it gains on; given stocks are held against it."""
    region = Region.of([0.1, 0.1], [0.9, 0.9])
    found = best_blend(_certain(10, 12, 8), region)
    assert (found.gain, found.gain_interval, found.chance_over_stocks) == (None, None, None)
    assert best_blend(_certain(10, 12, 8), region, stocks=np.eye(2)).gain == pytest.approx(13.125 - 12, abs=1e-6)


def test_a_clear_pair_is_found() -> None:
    """Four tasters of ten blends: a strong pair is found, and nearly sure; nothing else is alike far from it."""
    lattice = simplex_lattice(3, 3)
    truth = lattice @ [10.0, 10.0, 7.0] + 12 * lattice[:, 0] * lattice[:, 1]
    found = best_blend(_fitted(lattice, truth, sd=0.7), Region.whole(3), tasted=lattice)
    assert found.shares == pytest.approx([0.5, 0.5, 0], abs=0.12)
    assert found.chance_over_stocks is not None
    assert found.gain is not None
    assert found.chance_over_stocks > 0.95
    assert found.gain == pytest.approx(3.0, abs=1.0)
    assert np.abs(found.alike - found.shares).max() < 0.3
    assert (found.share_range[:, 0] <= [0.5, 0.5, 0.05]).all()
    assert (found.share_range[:, 1] >= [0.5, 0.5, 0.0]).all()


def test_scores_of_nothing_claim_nothing() -> None:
    """Blends that all taste alike: over twelve panels one is seldom nearly sure to be better, and never by much."""
    centroid = simplex_centroid(3)
    chances, gains = [], []
    for seed in range(12):
        found = best_blend(_fitted(centroid, np.full(7, 10.0), sd=1.0, seed=seed), Region.whole(3))
        chances.append(found.chance_over_stocks or 0.0)
        gains.append(found.gain or 0.0)
    assert sum(chance > 0.9 for chance in chances) <= 1
    assert abs(np.mean(gains)) < 0.15


def test_a_gain_is_drawn_towards_none() -> None:
    """By two tasters who err by a point a true gain of 1.5 is thought smaller; by sixteen steady ones it is not."""
    lattice = simplex_lattice(2, 4)
    truth = lattice @ [10.0, 10.0] + 6 * lattice.prod(axis=1)
    unsure = [best_blend(_fitted(lattice, truth, 1.0, 2, seed), Region.whole(2)).gain or 0.0 for seed in range(6)]
    sure = best_blend(_fitted(lattice, truth, 0.2, 16), Region.whole(2)).gain
    assert np.mean(unsure) < 1.2
    assert sure == pytest.approx(1.5, abs=0.15)


def test_the_same_seed_gives_the_same_blend() -> None:
    """Nothing of an answer varies from run to run."""
    lattice = simplex_lattice(3, 2)
    fit = fit_scheffe(lattice.repeat(2, axis=0), np.arange(12.0), 1)
    one, same = (draw_surfaces(fit, seed=3) for _ in range(2))
    assert (one.coefficients == same.coefficients).all()
    assert (draw_surfaces(fit, seed=4).coefficients != one.coefficients).any()


def test_surfaces_do_not_depend_on_how_a_region_is_written() -> None:
    """Shares given as shares of what is free have the same surfaces: a region of two fifths against a whole one."""
    lattice, lower = simplex_lattice(3, 3), np.array([0.3, 0.2, 0.1])
    moved = lower + 0.4 * lattice
    scores = lattice @ [10.0, 12.0, 11.0] + 6 * lattice[:, 0] * lattice[:, 1] + np.sin(np.arange(10.0))
    whole = draw_surfaces(fit_scheffe(lattice, scores, 1), draws=8000)
    part = draw_surfaces(fit_scheffe(moved, scores, 1), Region.of(lower, lower + 0.4), draws=8000)
    assert part.at(moved).mean(axis=0) == pytest.approx(whole.at(lattice).mean(axis=0), abs=0.2)
    assert part.at(moved).std(axis=0) == pytest.approx(whole.at(lattice).std(axis=0), rel=0.15)


def test_the_level_moves_nothing_else() -> None:
    """A point added to all scores is a point added to every surface."""
    lattice = simplex_lattice(3, 3)
    scores = np.sin(np.arange(10.0))
    one = draw_surfaces(fit_scheffe(lattice, scores, 1))
    other = draw_surfaces(fit_scheffe(lattice, scores + 1000, 1))
    assert other.at(lattice) == pytest.approx(one.at(lattice) + 1000, abs=1e-6)


def test_a_published_confection(reference: Callable[[str], Any]) -> None:
    """The best of the region by the surface expected is about as good as by the published data's own fit."""
    data = next(each for each in reference("mixture_datasets.json")["datasets"] if each["id"] == "polvoron_sensory")
    points, scores = np.array([row["x"] for row in data["data"]]), np.array([row["y"] for row in data["data"]])
    region = Region.of([0, 0.1, 0.05], [0.8, 0.95, 0.5])
    fit = fit_scheffe(points, scores, 2)
    found = best_blend(draw_surfaces(fit, region), region, tasted=points)
    grid = region.grid()
    assert region.holds(found.shares).all()
    assert fit.predict(found.shares) == pytest.approx([fit.predict(grid).max()], abs=0.15)
    assert found.interval[0] < fit.predict(grid).max() < found.interval[1]
    assert found.chance_over_stocks is None  # no component may stand alone
    assert (found.chance_over_tasted >= 0.5).all()


def test_few_of_those_alike_lie_apart() -> None:
    """A few blends stand for the many that are alike: far from the best, and from each other."""
    lattice = simplex_lattice(3, 2)
    found = best_blend(_fitted(lattice, np.full(6, 10.0), sd=1.0, tasters=2), Region.whole(3))
    few = found.few_alike(3)
    assert few.shape == (3, 3)
    assert {tuple(each) for each in few.tolist()} <= {tuple(each) for each in found.alike.tolist()}
    together = np.concatenate([few, found.shares[None]])
    apart = np.abs(together[:, None] - together).max(axis=2)[np.triu_indices(4, 1)]
    assert apart.min() > 0.3
    assert len(found.few_alike(0)) == 0


@pytest.mark.parametrize("goal", ["best", float("nan")])
def test_a_goal_is_one_of_three(goal: str | float) -> None:
    """Neither another word nor an unknown number is a goal."""
    with pytest.raises(NoSuchGoal, match='"high", "low", or near to a number'):
        best_blend(_certain(10, 12, 8), Region.whole(2), goal=goal)


def test_one_component_is_no_blend() -> None:
    """A single stock has no surface."""
    with pytest.raises(CannotFit, match="two components"):
        draw_surfaces(fit_scheffe([[1.0], [1.0]], [9.0, 10.0], 1))


def test_seven_components_draw_quadratics() -> None:
    """With more components than six, what threes add is left out."""
    centroid = simplex_centroid(7)[:28]
    rng = np.random.default_rng(0)
    fit = fit_scheffe(np.tile(centroid, (2, 1)), np.tile(centroid @ np.arange(7.0), 2) + rng.normal(0, 0.5, 56), 1)
    surfaces = draw_surfaces(fit, draws=200)
    assert surfaces.degree == "quadratic"
    assert best_blend(surfaces, Region.whole(7)).shares[6] == pytest.approx(1.0, abs=0.3)


def test_a_narrow_hill_of_four_stocks_is_not_surer_than_it_is() -> None:
    """Twenty panels, a hill that no surface follows: what is claimed 95 times in 100 of its best is so."""
    size = Size(4, 4, 16, 0.5)
    points, session = designed(size.q, size.glasses)
    region, held = Region.whole(size.q), 0
    for seed in range(20):
        each = panel(bump, size.q, size.tasters, size.own, seed)
        surfaces = draw_surfaces(scored(each, points, session), region)
        best = region.grid()[(surfaces.rows(region.grid()) @ surfaces.mean).argmax()]
        low, high = np.quantile(surfaces.at(best), [0.025, 0.975])
        held += low <= float(each.truth(best[None])[0]) <= high
    assert held >= 18
