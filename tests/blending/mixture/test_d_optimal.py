"""Optimal designs against exhaustive and published ones, and sessions that hide no blend."""

from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest

from cooperage.blending import Region, allocate, candidate_points, d_optimal, precision_of, simplex_lattice
from cooperage.blending.mixture.d_optimal import session_orthogonality
from cooperage.blending.mixture.designs import NoSuchDesign
from cooperage.blending.mixture.exchange import best_rows, log_determinant
from cooperage.blending.mixture.terms import CannotFit, model_matrix
from cooperage.blending.stocks.pool import Floats

CONTINUOUS = 0.4745937646
"""The sixth root of the greatest determinant per run on the square (Atkinson and Donev 1992, ch. 11)."""


def _two_factors(points: Floats) -> Floats:
    a, b = points.T
    return np.column_stack([np.ones(len(points)), a, b, a**2, b**2, a * b])


def test_exhaustive_optima_on_the_square(reference: Callable[[str], Any]) -> None:
    """The exchange reaches the greatest determinant of all designs, and the printed efficiencies."""
    grid = _two_factors(np.array(list(product((-1.0, 0.0, 1.0), repeat=2))))
    for case in reference("d_optimal_cases.json")["cases"]:
        if case["id"].startswith("quad2_grid"):
            _, reached = best_rows([grid], [case["runs"]])
            assert np.exp(reached) == pytest.approx(case["det_XtX"], rel=1e-9), case["id"]
            efficiency = np.exp(reached / 6) / case["runs"] / CONTINUOUS
            assert efficiency == pytest.approx(case["D_efficiency_vs_continuous_square"], abs=1e-8)
            if case["published_D_efficiency"] and case["runs"] > 6:  # six are printed for points off the grid
                assert round(efficiency, 4) == case["published_D_efficiency"]


def test_published_design_off_the_grid(reference: Callable[[str], Any]) -> None:
    """Box and Draper's six points have their determinant."""
    case = next(each for each in reference("d_optimal_cases.json")["cases"] if each["id"].startswith("box_draper"))
    found = log_determinant(_two_factors(np.array(case["design"], dtype=float)))
    assert np.exp(found) == pytest.approx(case["det_XtX"], rel=1e-9)
    assert round(np.exp(found / 6) / 6 / CONTINUOUS, 4) == case["published_D_efficiency"]


def test_exhaustive_optima_in_a_region(reference: Callable[[str], Any]) -> None:
    """Blends of a restricted region, each once: the best of all choices is found."""
    for case in reference("d_optimal_cases.json")["cases"]:
        if case["id"].startswith("region"):
            found = d_optimal(case["candidates"], case["runs"], 2, repeats=False)
            assert len(np.unique(found.points, axis=0)) == case["runs"]
            # the case's candidates are printed to six digits, its determinant is of all digits
            assert np.exp(found.log_determinant) == pytest.approx(case["det_XtX"], rel=2e-5), case["id"]


def test_candidates_of_a_region_are_those_of_the_exhaustive_cases(reference: Callable[[str], Any]) -> None:
    """Corners, midpoints of edges and the centre are the thirteen candidates that the case lists."""
    case = next(each for each in reference("d_optimal_cases.json")["cases"] if each["id"] == "region_6vertex_n6")
    found = candidate_points(Region.of(case["lower"], case["upper"])).of("corner", "edge", "centre")
    expected = np.array(case["candidates"])
    apart = np.abs(found[:, None] - expected).max(axis=2)
    assert len(found) == len(expected)
    assert apart.min(axis=0).max() < 1e-6


@pytest.mark.parametrize("q", [3, 4])
def test_lattices_are_optimal(q: int, reference: Callable[[str], Any]) -> None:
    """By the equivalence theorem no blend is predicted worse than by p/n, and no fine grid gives a better design."""
    case = next(
        each for each in reference("d_optimal_cases.json")["cases"] if each["id"] == f"mixture_q{q}_quadratic_lattice"
    )
    lattice = simplex_lattice(q, 2)
    scaled = precision_of(lattice).standard_error(simplex_lattice(q, 20)) ** 2 * len(lattice)
    assert scaled.max() == pytest.approx(case["max_scaled_variance"], rel=1e-9) == case["parameters"]
    found = d_optimal(simplex_lattice(q, 4), case["parameters"])
    assert np.exp(found.log_determinant) == pytest.approx(case["det_XtX_one_replicate"], rel=1e-9)


def test_candidates_of_the_flares(reference: Callable[[str], Any]) -> None:
    """McLean and Anderson's fifteen blends: eight corners, six faces, and the centre; twelve edges beside them."""
    region = next(each for each in reference("mixture_regions.json")["regions"] if each["id"] == "flare")
    rows = next(
        each for each in reference("mixture_datasets.json")["datasets"] if each["id"] == "flare_extreme_vertices"
    )
    found = candidate_points(Region.of(region["lower"], region["upper"]))
    published = np.array([row["x"] for row in rows["data"]])
    ours = found.of("corner", "face", "centre")
    assert len(ours) == len(published) == 15
    assert np.abs(ours[:, None] - published).max(axis=2).min(axis=0).max() < 2e-3  # printed to three or four digits
    assert len(found.of("edge")) == 12


def test_candidates_under_linear_limits(reference: Callable[[str], Any]) -> None:
    """Piepel's region has six corners and six edges, and all candidates keep its limits."""
    each = next(row for row in reference("mixture_regions.json")["regions"] if row["id"] == "piepel_1988")
    linear = [(row["coefficients"], row["lower"], row["upper"]) for row in each["linear"]]
    region = Region.of(each["lower"], each["upper"], linear)
    found = candidate_points(region)
    assert (len(found.of("corner")), len(found.of("edge"))) == (6, 6)
    assert region.holds(found.points).all()
    assert region.holds(region.grid()).all()
    assert not region.holds([[0.2, 0.2, 0.2], [0.5, 0.5, 0.0]]).any()  # no mixture, and off a limit


def test_small_shares_do_not_hide_an_optimum() -> None:
    """A region of a hundredth has designs of the whole, moved there: as good a one is found."""
    whole = d_optimal(simplex_lattice(3, 4), 8)
    lower = np.array([0.6, 0.25, 0.14])
    found = d_optimal(lower + 0.01 * simplex_lattice(3, 4), 8)
    back = log_determinant(model_matrix((found.points - lower) / 0.01, 2))
    assert back == pytest.approx(whole.log_determinant, abs=1e-6)


def test_the_same_seed_gives_the_same_design() -> None:
    """Designs do not vary from run to run; another seed finds as good a one."""
    candidates = candidate_points(Region.of([0.1, 0.2, 0.1], [0.6, 0.7, 0.5])).points
    one, same, other = (d_optimal(candidates, 10, blocks=[5, 5], seed=seed) for seed in (4, 4, 5))
    assert (one.points == same.points).all()
    assert other.log_determinant == pytest.approx(one.log_determinant, abs=1e-9)


def test_fixed_blends_are_in_it() -> None:
    """Blends that are tasted anyway are among those chosen, and the rest is chosen for them."""
    centre = np.full((2, 3), 1 / 3)
    found = d_optimal(simplex_lattice(3, 2), 8, fixed=centre)
    assert (np.abs(found.points - 1 / 3).max(axis=1) < 1e-9).sum() == 2
    assert {tuple(point) for point in found.points.tolist()} >= {
        tuple(point) for point in simplex_lattice(3, 2).tolist()
    }


def test_sessions_of_two_lattices_hide_nothing() -> None:
    """Two sessions of the whole lattice each: their difference says nothing of a blend, and the exchange finds that."""
    twice = simplex_lattice(3, 2).repeat(2, axis=0)
    session = allocate(twice, [6, 6])
    assert sorted(session[::2] + session[1::2]) == [1] * 6
    assert session_orthogonality(twice, session, 2) == pytest.approx(1)


def test_sessions_are_as_good_as_the_best_of_all() -> None:
    """Eight blends in two sessions of four: none of the 35 ways to share them out hides less."""
    blends = d_optimal(candidate_points(Region.whole(3)).points, 8).points
    ways = [np.array(way) for way in product((0, 1), repeat=8) if sum(way) == 4]
    best = max(session_orthogonality(blends, way, 2) for way in ways)
    assert session_orthogonality(blends, allocate(blends, [4, 4]), 2) == pytest.approx(best, rel=1e-3)


def test_designs_in_sessions_beat_those_shared_out_afterwards() -> None:
    """What is chosen for two sessions has a determinant at least that of the best design shared out after it."""
    candidates = candidate_points(Region.whole(3)).points
    found = d_optimal(candidates, 9, blocks=[5, 4])
    plain = d_optimal(candidates, 9).points
    marks = allocate(plain, [5, 4])[:, None].astype(float)
    assert found.log_determinant >= log_determinant(np.column_stack([model_matrix(plain, 2), marks])) - 1e-9
    assert np.bincount(found.session).tolist() == [5, 4]
    assert 0 < found.orthogonality <= 1


@pytest.mark.parametrize(
    ("n", "given", "says"),
    [
        (5, {}, "6 terms: it needs 6 glasses, not 5"),
        (6, {"blocks": [3, 3]}, "over 2 sessions: it needs 7 glasses, not 6"),
        (8, {"blocks": [4, 3]}, "the sessions have 7 glasses of 8"),
        (8, {"fixed": np.full((9, 3), 1 / 3)}, "no more fixed blends"),
        (8, {"repeats": False}, "cannot separate"),
    ],
)
def test_designs_that_cannot_be(n: int, given: dict[str, Any], says: str) -> None:
    """Too few glasses, or numbers that do not match, are bad input that says which."""
    with pytest.raises(NoSuchDesign, match=says):
        d_optimal(simplex_lattice(3, 2), n, **given)


def test_candidates_that_separate_nothing() -> None:
    """Blends along one line cannot carry three components."""
    with pytest.raises(NoSuchDesign, match="cannot separate the terms of a linear model"):
        d_optimal([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.5, 0.5, 0.0]], 6, 1)


def test_precision_of_the_lattice() -> None:
    """A pure blend and a half tasted once are known as well as one glass; four tasters halve that."""
    found = precision_of(simplex_lattice(3, 2))
    assert found.standard_error([[1.0, 0.0, 0.0], [0.5, 0.5, 0.0]]) == pytest.approx([1, 1])
    assert found.leverage == pytest.approx(np.ones(6))
    assert found.residual_df == 0
    assert np.isnan(found.chance_found(1, [[1, 0, 0]], [[0, 1, 0]])).all()
    four = precision_of(simplex_lattice(3, 2), tasters=4)
    assert four.standard_error([[1, 0, 0]]) == pytest.approx([0.5])
    assert four.difference_error([[1, 0, 0]], [[0, 1, 0]]) == pytest.approx([0.5**0.5])
    assert four.residual_df == 24 - 6 - 3
    assert np.isnan(four.chance_found(1, [[1, 0, 0]], [[1, 0, 0]])).all()
    typical, worst = four.over(Region.whole(3))
    assert 0 < typical < worst == pytest.approx(0.5)


def test_a_session_that_hides_blends_costs_precision() -> None:
    """Each half of the lattice in a session of its own cannot be separated; shared out well, it costs little."""
    twice = simplex_lattice(3, 2).repeat(2, axis=0)
    apart = np.repeat([0, 1], 6)
    with_sessions = precision_of(twice, session=allocate(twice, [6, 6])).difference_error([[1, 0, 0]], [[0, 1, 0]])
    assert with_sessions == pytest.approx(precision_of(twice).difference_error([[1, 0, 0]], [[0, 1, 0]]))
    with pytest.raises(CannotFit, match="cannot separate"):
        precision_of(twice, session=apart)


def test_chance_to_find_a_difference() -> None:
    """It is alpha where there is none, grows with it, and agrees with simulated panels."""
    found = precision_of(simplex_lattice(2, 1).repeat(6, axis=0), 1)
    one, other = [[1, 0]], [[0, 1]]
    chances = [float(found.chance_found(gain, one, other)[0]) for gain in (0.0, 1.0, 2.0)]
    assert chances[0] == pytest.approx(0.05, abs=1e-9)
    rng = np.random.default_rng(1)
    scores = rng.normal(0, 1, (20000, 2, 6)) + np.array([2.0, 0.0])[:, None]
    means, pooled = scores.mean(axis=2), scores.var(axis=2, ddof=1).mean(axis=1)
    shown = float((np.abs(means[:, 0] - means[:, 1]) / np.sqrt(pooled / 3) > 2.228).mean())
    assert chances[2] == pytest.approx(shown, abs=0.01)
    assert chances[0] < chances[1] < chances[2]


def test_bounds_that_cannot_be_met_are_named() -> None:
    """Shares that come to more or less than one, and more components than a trial takes, are refused with why."""
    with pytest.raises(NoSuchDesign, match=r"least shares come to 1\.2 together"):
        Region.of([0.6, 0.6], [1, 1])
    with pytest.raises(NoSuchDesign, match=r"greatest shares come to 0\.8 together"):
        Region.of([0, 0], [0.4, 0.4])
    with pytest.raises(NoSuchDesign, match="within all limits; widen one"):
        Region.of([0, 0], [1, 1], [([1.0, 0.0], 0.9, None), ([0.0, 1.0], 0.9, None)])
    with pytest.raises(NoSuchDesign, match="12 components at most, not 13"):
        Region.of(np.zeros(13), np.ones(13))
