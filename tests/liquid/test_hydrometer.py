"""Floating instruments away from their temperature."""

from collections.abc import Callable

import numpy as np
import pytest

from cooperage.errors import OutOfRange
from cooperage.liquid import (
    abv_from_mass_fraction,
    correct_alcoholometer,
    correct_hydrometer,
    correct_us_proof,
    ethanol_water_density,
    mass_fraction_from_abv,
    sucrose_density,
    water_density,
)


def test_alcoholometer_by_volume(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """OIML R 22 Table VIIIb; several points sit on a rounding edge, so a wrong glass fails."""
    table = published("alcoholometer_glass_correction.csv", scale="abv_percent")
    ours = correct_alcoholometer(table["glass_instrument_reading"], table["t_degC"])
    agrees(ours, table["true_value_at_20C"], 0.051)


def test_alcoholometer_by_mass(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """OIML R 22 Table VIIIa, the same correction read in % mass."""
    table = published("alcoholometer_glass_correction.csv", scale="mass_percent")
    reading = abv_from_mass_fraction(table["glass_instrument_reading"] / 100)
    ours = 100 * mass_fraction_from_abv(correct_alcoholometer(reading, table["t_degC"]))
    agrees(ours, table["true_value_at_20C"], 0.051)


def test_us_proof(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """27 CFR 30.23 and the Gauging Manual rows it quotes."""
    table = published("us_proof_glass_correction.csv")
    ours = correct_us_proof(table["glass_instrument_reading_us_proof"], table["t_degF"])
    agrees(ours, table["true_us_proof_at_60F"], 0.06)


WATER_ROWS = "water expansion, 59 degF (15 degC) hydrometer"
COARSE_ROWS = "coarse table, 60 degF hydrometer"


def test_water_swells_as_the_brewers_table_says(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """59 °F hydrometers to 50 °C, water alone without glass."""
    table = published("hydrometer_temperature_correction.csv", source=WATER_ROWS)
    agrees(water_density(15.0) / water_density(table["t_degC"]) - 1.0, table["add_to_sg"], 2e-4)


def test_hydrometer_by_the_brewers_table(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """The same by the whole correction, to 35 °C; hotter, what reads 1.000 is sugary and swells more than water."""
    table = published("hydrometer_temperature_correction.csv", source=WATER_ROWS)
    kept = table["t_degC"] <= 35
    reading = table["sg_reading"][kept]
    ours = correct_hydrometer(reading, table["t_degC"][kept], calibrated_at=15.0, glass=0.0) - reading
    agrees(ours, table["add_to_sg"][kept], 2e-4)


def test_hydrometer_by_the_coarse_table(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """60 °F hydrometer with glass, to SG 1."""
    table = published("hydrometer_temperature_correction.csv", source=COARSE_ROWS)
    kept = table["sg_reading"] <= 1.0
    reading = table["sg_reading"][kept]
    ours = correct_hydrometer(reading, table["t_degC"][kept], calibrated_at=15.5556) - reading
    agrees(ours, table["add_to_sg"][kept], 4.5e-4)


def test_sugar_swells_more_than_the_coarse_table_allows(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """Above SG 1 that table lets must swell as water; by ICUMSA SPS-4 it swells more, so ours adds more.

    44 °Brix swells by 0.0052 from 15.56 to 30 °C, water by 0.0034; times 1.2 that is 0.0022 more. The print is
    rounded by up to 0.0005.
    """
    table = published("hydrometer_temperature_correction.csv", source=COARSE_ROWS)
    kept = (table["sg_reading"] > 1.0) & (table["t_degC"] == 30)
    reading, made_for = table["sg_reading"][kept], 15.5556
    warmth = correct_hydrometer(reading, 30.0, made_for) - correct_hydrometer(reading, made_for, made_for)
    beyond = warmth - table["add_to_sg"][kept]
    assert ((beyond > 0) & (beyond < 0.0022 + 0.0005)).all()


@pytest.mark.parametrize("calibrated_at", [15.0, 15.56, 20.0])
def test_must_read_warm_comes_out_as_at_20c(calibrated_at: float) -> None:
    """Float a glass hydrometer in 25 °Brix must of 28 °C, from densities alone, and correct it back."""
    floats_at = sucrose_density(0.25, 28.0) * (1 + 25e-6 * (28.0 - calibrated_at)) / water_density(calibrated_at)
    expected = sucrose_density(0.25, 20.0) / water_density(20.0)
    assert correct_hydrometer(floats_at, 28.0, calibrated_at) == pytest.approx(expected, abs=2e-9)


def test_spirit_read_cold_comes_out_as_at_20c() -> None:
    """The same with 13.5 % vol and no sugar at 10 °C."""
    p = mass_fraction_from_abv(13.5)
    reading = ethanol_water_density(p, 10.0) * (1 - 25e-6 * 10) / water_density(20.0)
    expected = ethanol_water_density(p, 20.0) / ethanol_water_density(0.0, 20.0)
    assert correct_hydrometer(reading, 10.0, abv=13.5) == pytest.approx(expected, abs=1e-5)


def test_reading_at_its_own_temperature_needs_nothing() -> None:
    """A 20 °C hydrometer at 20 °C is right."""
    sg = np.linspace(0.98, 1.2, 12)
    assert correct_hydrometer(sg, 20.0) == pytest.approx(sg, abs=1e-12)


def test_hot_mead_is_refused() -> None:
    """How alcohol swells is known to 40 °C."""
    with pytest.raises(OutOfRange, match="let it cool"):
        correct_hydrometer(1.02, 45.0, abv=12.0)
