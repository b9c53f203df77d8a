"""Carrying uncertainty: the guides' own examples, and first order against drawing."""

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
import pytest
from numpy.typing import NDArray

from cooperage.errors import BadInput, OutOfRange
from cooperage.liquid import (
    abv_from_gravities,
    density_of,
    effective_degrees_of_freedom,
    extract_g_l,
    first_order,
    mix,
    molecular_so2,
    monte_carlo,
    standard_uncertainty,
)
from cooperage.liquid.uncertainty import Distribution

Floats: TypeAlias = NDArray[np.float64]
Readings: TypeAlias = tuple[Floats, Floats, Floats, dict[str, Any]]
"""Means, their standard uncertainties and correlations, and what is expected."""
Case: TypeAlias = tuple[list[float], list[Floats], list[Distribution], dict[str, Any]]
"""Values, standard uncertainties, distributions, and the rest."""


def _standard(m: Floats, p: Floats, v_flask: Floats, v_rep: Floats, v_t: Floats) -> Floats:
    return 1000 * m * p / (v_flask + v_rep + v_t)


def _titrant(*inputs: Floats) -> Floats:
    tare, gross, p, c, h, o, k, v_cal, v_temp, r = inputs
    return r * 1000 * (0.3888 + gross - tare) * p / ((8 * c + 5 * h + 4 * o + k) * (18.64 + v_cal + v_temp))


def _gauge_block(*inputs: Floats) -> Floats:
    l_s, d0, d1, d2, d_alpha, d_theta, alpha_s, theta_bar, delta = inputs
    return l_s + d0 + d1 + d2 - l_s * (d_alpha * (theta_bar + delta) + alpha_s * d_theta)


def _total(*parts: Floats) -> Floats:
    total: Floats = np.sum(np.broadcast_arrays(*parts), axis=0)
    return total


MODELS: dict[str, Callable[..., Floats]] = {
    "calibration_standard_A1": _standard,
    "titrant_standardisation_A2": _titrant,
    "gauge_block_H1": _gauge_block,
    "additive_normal": _total,
    "additive_three_unit_one_wide_rectangular": _total,
}


@pytest.fixture
def case(facts: Callable[[str], dict[str, Any]]) -> Callable[[str], Case]:
    """Values, standard uncertainties, distributions and the rest of a case by its name."""

    def read(name: str) -> Case:
        found = next(each for each in facts("uncertainty_cases.json")["cases"] if each["id"] == name)
        inputs = found["inputs"]
        spread = [
            i["standard_uncertainty"]
            if "standard_uncertainty" in i
            else standard_uncertainty(i["half_width"], i["distribution"])
            for i in inputs
        ]
        return [i["value"] for i in inputs], spread, [i["distribution"] for i in inputs], found

    return read


@pytest.mark.parametrize("name", ["calibration_standard_A1", "titrant_standardisation_A2", "gauge_block_H1"])
def test_first_order_examples(case: Callable[[str], Case], name: str) -> None:
    """EURACHEM/CITAC A1 and A2, GUM H.1, to 1e-6 relative (the gauge block's slopes end at 1e-5, float64 on 5e7 nm)."""
    values, spread, _, found = case(name)
    result, expected = first_order(MODELS[name], values, spread), found["verified"]["first_order"]
    assert result.value == pytest.approx(expected["estimate"], rel=1e-9)
    assert result.standard_uncertainty == pytest.approx(expected["u"], rel=1e-6)


def test_degrees_of_freedom_of_the_gauge_block(case: Callable[[str], Case]) -> None:
    """GUM H.1: 16.75 by Welch and Satterthwaite, with the three comparator terms kept apart."""
    values, spread, _, found = case("gauge_block_H1")
    result = first_order(_gauge_block, values, spread)
    freedom = [each.get("degrees_of_freedom") or np.inf for each in found["inputs"]]
    ours = effective_degrees_of_freedom(result.contributions, freedom)
    assert ours == pytest.approx(found["verified"]["welch_satterthwaite"], abs=0.1)


@pytest.mark.parametrize("quantity", ["R", "X", "Z"])
def test_correlated_readings(case_h2: Readings, quantity: str) -> None:
    """GUM H.2: resistance, reactance, impedance from five simultaneous readings."""
    means, spread, correlation, expected = case_h2
    models: dict[str, Callable[[Floats, Floats, Floats], Floats]] = {
        "R": lambda v, i, phi: v / i * np.cos(phi),
        "X": lambda v, i, phi: v / i * np.sin(phi),
        "Z": lambda v, i, phi: v / i + 0 * phi,
    }
    model = models[quantity]
    result = first_order(model, list(means), list(spread), correlation)
    assert result.value == pytest.approx(expected[quantity]["estimate"], rel=1e-6)
    assert result.standard_uncertainty == pytest.approx(expected[quantity]["u"], rel=1e-5)
    drawn = monte_carlo(model, list(means), list(spread), correlation=correlation, draws=100_000)
    assert drawn.standard_uncertainty == pytest.approx(expected[quantity]["u"], rel=0.01)


@pytest.fixture
def case_h2(facts: Callable[[str], dict[str, Any]]) -> Readings:
    """Means, their standard uncertainties and correlations from the readings."""
    found = next(each for each in facts("uncertainty_cases.json")["cases"] if each["id"] == "impedance_H2")
    readings = np.array([each["readings"] for each in found["inputs"]])
    spread = readings.std(axis=1, ddof=1) / np.sqrt(readings.shape[1])
    return readings.mean(axis=1), spread, np.corrcoef(readings), found["verified"]


@pytest.mark.parametrize(
    "name",
    [
        "calibration_standard_A1",
        "titrant_standardisation_A2",
        "additive_normal",
        "additive_three_unit_one_wide_rectangular",
    ],
)
def test_drawing_examples(case: Callable[[str], Case], name: str) -> None:
    """Standard uncertainty within 1 % and the 95 % limits within 1 % of their width, at 100 000 draws (README)."""
    values, spread, kinds, found = case(name)
    expected = found["verified"]["monte_carlo"]
    result = monte_carlo(MODELS[name], values, spread, kinds, draws=100_000)
    low, high = expected["interval_95_symmetric_probability"]
    assert result.standard_uncertainty == pytest.approx(expected["u"], rel=0.01)
    assert (result.low, result.high) == pytest.approx((low, high), abs=0.01 * (high - low))


@pytest.mark.parametrize(
    ("function", "values", "spread"),
    [
        (abv_from_gravities, [1.110, 1.012], [0.0005, 0.0005]),
        (extract_g_l, [1.012, 13.5], [0.0002, 0.1]),
        (density_of, [13.5, 80.0], [0.1, 1.0]),
        (lambda free, ph: molecular_so2(free, ph, 13.5, 15.0), [30.0, 3.40], [2.0, 0.02]),
    ],
)
def test_first_order_and_drawing_agree_on_cellar_figures(
    function: Callable[..., Floats], values: list[float], spread: list[float]
) -> None:
    """These functions are nearly straight over what instruments leave open: 1.5 %."""
    result, drawn = first_order(function, values, spread), monte_carlo(function, values, spread, draws=40_000)
    assert drawn.standard_uncertainty == pytest.approx(result.standard_uncertainty, rel=0.015)
    assert drawn.mean == pytest.approx(result.value, abs=0.1 * float(result.standard_uncertainty))


def test_a_blends_strength_has_an_uncertainty() -> None:
    """By hand, equal parts: half of each strength's uncertainty, in quadrature (mixing is nearly straight)."""
    result = first_order(
        lambda a, b: mix([100.0, 100.0], np.stack(np.broadcast_arrays(a, b), -1), 50.0).abv, [13.0, 14.0], [0.2, 0.1]
    )
    assert result.standard_uncertainty == pytest.approx(0.5 * np.hypot(0.2, 0.1), rel=0.01)


def test_many_barrels_at_once() -> None:
    """Arrays in, arrays out, with the contributions along the first axis."""
    result = first_order(extract_g_l, [np.array([1.010, 1.020, 1.030]), 13.5], [0.0002, 0.1])
    assert result.standard_uncertainty.shape == (3,)
    assert result.contributions.shape == (2, 3)
    assert np.sqrt((result.contributions**2).sum(0)) == pytest.approx(result.standard_uncertainty)
    assert monte_carlo(extract_g_l, [np.array([1.010, 1.020]), 13.5], [0.0002, 0.1], draws=200).mean.shape == (2,)


def test_at_the_edge_of_a_range_the_slope_is_taken_inwards() -> None:
    """Water has 0 % vol and no less; by hand the slope there is that of one side."""
    result = first_order(lambda abv: density_of(abv, 0.0), [0.0], [0.1])
    one_side = (density_of(0.001, 0.0) - density_of(0.0, 0.0)) / 0.001
    assert result.standard_uncertainty == pytest.approx(abs(one_side) * 0.1, rel=1e-4)


def test_the_same_seed_gives_the_same_answer() -> None:
    """No hidden state."""
    once, again = (monte_carlo(np.add, [1.0, 2.0], [0.1, 0.1], draws=100) for _ in range(2))
    assert once == again


def test_bad_wishes_are_refused() -> None:
    """A distribution nobody keeps, an uncertainty below zero."""
    with pytest.raises(BadInput, match="rectangular, triangular, arcsine"):
        standard_uncertainty(1.0, "uniform")  # type: ignore[arg-type]  # no such distribution
    with pytest.raises(BadInput, match="normal"):
        monte_carlo(np.add, [1.0, 2.0], [0.1, 0.1], ["normal", "cauchy"], draws=100)  # type: ignore[list-item]  # as above
    with pytest.raises(OutOfRange, match="0 or more"):
        first_order(np.add, [1.0, 2.0], [0.1, -0.1])
