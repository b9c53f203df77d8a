"""Sugar in water against printed tables; tolerances are those of tests/reference/README.md."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.errors import OutOfRange
from cooperage.liquid import (
    OutsideFormula,
    apparent_sg,
    brix_from_density,
    brix_from_refractive_index,
    brix_from_sg,
    brix_from_sugar_g_l,
    correct_refractometer,
    potential_abv,
    sg_at_basis,
    sg_from_brix,
    sucrose_density,
    sugar_g_l_from_brix,
    true_sg,
    water_density,
)
from cooperage.liquid import sucrose as module

AIR, BRASS, US_GALLON_L, POUND_KG = 1.2, 8400.0, 3.785411784, 0.45359237


def test_the_coefficients_are_those_of_the_formula_to_the_last_bit(facts: Callable[[str], dict[str, Any]]) -> None:
    """No digit of ICUMSA SPS-4 slipped."""
    given = facts("sucrose_density_icumsa.json")
    assert list(module.SOLUTE) == given["b"]
    assert [list(row) for row in module.WARMING] == given["c"]
    assert list(module.WATER_NUMERATOR) == given["water"]["numerator"]
    assert list(module.WATER_DENOMINATOR) == [1.0, given["water"]["denominator_t"]]


@pytest.mark.parametrize(("above", "up_to", "tolerance"), [(0, 40, 1.2e-4), (40, 70, 3e-4), (70, 85, 1e-3)])
def test_sucrose_density(
    published: Callable[..., dict[str, np.ndarray]],
    agrees: Callable[..., None],
    above: int,
    up_to: int,
    tolerance: float,
) -> None:
    """CRC Handbook, by strength."""
    table = published("sugar_density_crc_20c.csv", sugar="sucrose")
    kept = (table["mass_percent"] > above) & (table["mass_percent"] <= up_to)
    ours = sucrose_density(table["mass_percent"][kept] / 100) / 1000
    agrees(ours, table["density_g_mL_20C"][kept], tolerance)


def test_honeys_own_sugars_lie_where_the_handbook_says(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """At 30 % fructose is 0.0006 g/mL heavier than our sucrose and glucose 0.0024 lighter (CRC Handbook)."""
    for sugar, gap in {"fructose": 0.0006, "glucose": -0.0024}.items():
        table = published("sugar_density_crc_20c.csv", sugar=sugar)
        at_30 = table["density_g_mL_20C"][table["mass_percent"] == 30][0]
        assert at_30 - sucrose_density(0.30) / 1000 == pytest.approx(gap, abs=1e-4)


def test_grams_per_litre(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """Older CRC table."""
    table = published("sucrose_mass_vs_volume_20c.csv")
    agrees(sugar_g_l_from_brix(table["brix_g_per_100g"]), table["g_sucrose_per_L_20C"], 0.1)


def test_apparent_gravity(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """NBS C440, weighed in air."""
    table = published("brix_sg_nbs_c440.csv")
    agrees(apparent_sg(sg_from_brix(table["brix_g_per_100g"])), table["apparent_sg_20_20_in_air"], 2.5e-5)


def test_brix_from_apparent_gravity(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """NBS C440, the other way."""
    table = published("brix_sg_nbs_c440.csv")
    agrees(brix_from_sg(true_sg(table["apparent_sg_20_20_in_air"])), table["brix_g_per_100g"], 0.006)


@pytest.mark.parametrize("fit", ["nbs_c440_brix_from_sg", "asbc_plato_from_sg"])
def test_brix_and_plato_polynomials(
    facts: Callable[[str], dict[str, Any]], agrees: Callable[..., None], fit: str
) -> None:
    """The sugar and the beer makers' polynomials over their ranges.

    They rest on older densities; 1.2e-4 g/mL (README, sucrose to 40 %) is 0.03 Brix at 4.0e-3 g/mL per Brix.
    """
    given = facts("extract_polynomials.json")[fit]
    low, high = given["valid_sg"]
    apparent = np.linspace(low, high, 50)[1:]
    agrees(brix_from_sg(true_sg(apparent)), np.polyval(given["coef_high_to_low"], apparent), 0.03)


def test_brix_and_plato_at_the_published_check(facts: Callable[[str], dict[str, Any]]) -> None:
    """SG 1.040 in air is 9.993 by both printed polynomials (tables: 0.006)."""
    check = facts("extract_polynomials.json")["published_check"]
    ours = brix_from_sg(true_sg(check["apparent_sg_20_20"]))
    assert ours == pytest.approx(check["nbs_brix"], abs=0.006)
    assert ours == pytest.approx(check["asbc_plato"], abs=0.006)


def test_pounds_per_gallon_in_air(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """NBS C440, after buoyancy in air of 1.2 kg/m3 on weights of 8400 kg/m3."""
    table = published("brix_lb_per_us_gallon_air.csv")
    rho = sucrose_density(table["brix_g_per_100g"] / 100)
    pounds = US_GALLON_L / 1000 * (rho - AIR) / (1 - AIR / BRASS) / POUND_KG
    agrees(pounds, table["lb_solution_per_us_gal_in_air_20C"], 0.001)


@pytest.mark.parametrize(("basis", "celsius", "tolerance"), [("15/15", 15.0, 0.012), ("20/20", 20.0, 0.03)])
def test_extract_tables(
    published: Callable[..., dict[str, np.ndarray]],
    agrees: Callable[..., None],
    basis: str,
    celsius: float,
    tolerance: float,
) -> None:
    """Grams per 100 mL from SG, German (15/15) and GOST (20/20) tables."""
    table = published("extract_from_sg.csv", sg_basis_degC=basis)
    rho = table["sg"] * water_density(celsius)
    agrees(brix_from_density(rho, celsius) / 100 * rho / 10, table["extract_g_per_100mL"], tolerance)


def test_gravity_on_another_basis(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """The German table from extract to SG 15/15; its 0.012 g/100 mL are 4.7e-5 of SG (0.0039 per g/100 mL)."""
    table = published("extract_from_sg.csv", sg_basis_degC="15/15")
    brix = 1000 * table["extract_g_per_100mL"] / (table["sg"] * water_density(15.0))
    agrees(sg_at_basis(brix, 15.0), table["sg"], 4.7e-5)


def test_refractive_index(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """CRC Handbook, sucrose to 70 %."""
    table = published("sugar_density_crc_20c.csv", sugar="sucrose")
    kept = table["mass_percent"] <= 70
    ours = brix_from_refractive_index(table["refractive_index_20C"][kept])
    agrees(ours, table["mass_percent"][kept], 0.05)


def test_the_published_check_of_the_index_polynomial(facts: Callable[[str], dict[str, Any]]) -> None:
    """SG 1.040 by three polynomials: ours is the refractive one, coefficient by coefficient."""
    given = facts("extract_polynomials.json")["icumsa_brix_from_refractive_index"]["coef_high_to_low"]
    n = np.linspace(1.334, 1.50, 20)
    assert brix_from_refractive_index(n) == pytest.approx(np.polyval(given, n), abs=1e-7)


def test_must_refractometer(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """OIV must table: index to Brix."""
    table = published("must_refractometer_oiv.csv")
    agrees(brix_from_refractive_index(table["refractive_index_20C"]), table["brix_sucrose_g_per_100g"], 0.025)


def test_potential_strength_of_must(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """OIV must table: 16.83 g/L per % vol."""
    table = published("must_refractometer_oiv.csv")
    ours = potential_abv(table["must_sugar_g_per_L"])
    agrees(ours, table["potential_abv_percent_at_16.83_g_per_L_per_percent"], 0.01)


@pytest.mark.parametrize(
    "name", ["refractometer_temperature_correction", "refractometer_temperature_correction_warm_from_memory"]
)
def test_refractometer_temperature_nodes(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None], name: str
) -> None:
    """Every row of the tables, 5 to 16 and 21 to 30 °C; the one that looks misprinted within 0.02."""
    table = published(f"{name}.csv")
    reading, t, add = table["measured_sucrose_percent"], table["t_degC"], table["add_percent"]
    ours = correct_refractometer(reading, t) - reading
    misprinted = (t == 6) & (reading == 10)
    agrees(ours[~misprinted], add[~misprinted], 1e-12)
    assert (np.abs(ours - add)[misprinted] <= 0.02 + 1e-9).all()


def test_a_warm_must_is_corrected_about_as_its_colder_rows_go_on(
    published: Callable[..., dict[str, np.ndarray]],
) -> None:
    """The index of a sugar solution falls faster as it warms: each degree up adds no less than the one before it took.

    So the rows from memory continue the printed ones, at every strength, to the hundredth they are rounded to.
    """
    for brix in (10.0, 25.0, 40.0, 70.0):
        steps = np.diff(correct_refractometer(brix, np.array([10.0, 15.0, 20.0, 25.0, 30.0])))
        assert (np.diff(steps) >= -0.02).all()
        assert steps[-1] < 1.6 * steps[0]


def test_a_cold_must_is_corrected_where_the_table_goes() -> None:
    """Below 10 °C to 25 °Brix, at its edges too; a sweeter one is refused, as is colder and warmer than the table."""
    assert float(correct_refractometer(25.0, 9.5)) - 25.0 == pytest.approx((-0.73 - 0.67) / 2)
    assert float(correct_refractometer(15.0, 5.0)) - 15.0 == pytest.approx((-0.82 - 0.92) / 2)
    with pytest.raises(OutsideFormula, match=r"sugar below 10 °C must be between 10 and 25 °Brix, not 40"):
        correct_refractometer([20.0, 40.0, 40.0], [9.0, 12.0, 9.0])
    for celsius in (4.9, 30.1):
        with pytest.raises(OutsideFormula, match="temperature"):
            correct_refractometer(20.0, celsius)


def test_refractometer_temperature_between_the_lines(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Leave out each inner column of the table; reading between its neighbours is good to 0.02 (README)."""
    table = published("refractometer_temperature_correction.csv", t_degC="13")
    brix, add = table["measured_sucrose_percent"], table["add_percent"]
    between = [np.interp(brix[i], np.delete(brix, i), np.delete(add, i)) for i in range(1, len(brix) - 1)]
    assert np.abs(between - add[1:-1]).max() <= 0.02
    assert float(correct_refractometer(22.5, 13.0)) - 22.5 == pytest.approx((-0.47 - 0.48) / 2)


def test_brix_continues_below_water() -> None:
    """A dry mead at SG 0.990 shows about -2.6 °Brix: 10 divided by the 3.87 points that a degree is worth near zero."""
    assert brix_from_sg(0.990) == pytest.approx(-10 / 3.87, abs=0.05)
    assert sg_from_brix(brix_from_sg(0.990)) == pytest.approx(0.990, abs=1e-12)


@pytest.mark.parametrize("celsius", [0.0, 15.0, 20.0, 60.0])
def test_brix_from_density_inverts_density(celsius: float) -> None:
    """At any temperature."""
    w = np.linspace(0, 0.85, 200)
    assert brix_from_density(sucrose_density(w, celsius), celsius) == pytest.approx(100 * w, abs=1e-9)


def test_a_density_no_sugar_solution_has_is_refused() -> None:
    """Lighter than water at that temperature."""
    with pytest.raises(OutOfRange, match="density of a sugar solution"):
        brix_from_density(998.0, 15.0)


def test_grams_and_percent_invert() -> None:
    """20 °Brix is 216 g/L, and back."""
    brix = np.linspace(-1, 84, 100)
    assert brix_from_sugar_g_l(sugar_g_l_from_brix(brix)) == pytest.approx(brix, abs=1e-11)
