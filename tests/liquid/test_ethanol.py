"""Ethanol and water against printed and measured tables; tolerances are those of tests/reference/README.md."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.errors import BadInput, OutOfRange
from cooperage.liquid import (
    abv_at_basis,
    abv_from_density,
    abv_from_mass_fraction,
    ethanol_water_density,
    mass_fraction_at_basis,
    mass_fraction_from_abv,
)
from cooperage.liquid import ethanol as module

AIR = 1.2  # kg/m3


def test_the_coefficients_are_those_of_the_formula_to_the_last_bit(facts: Callable[[str], dict[str, Any]]) -> None:
    """No digit of OIML R 22 slipped."""
    given = facts("oiml_r22_coefficients.json")
    assert list(module.A) == given["A"]
    assert list(module.B) == given["B"]
    assert [list(row) for row in module.C] == given["C"]


def test_the_formula_gives_the_printed_table(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """OIML R 22 Table I, -20 to 40 °C, to its rounding."""
    table = published("ethanol_density_oiml_printed.csv")
    ours = ethanol_water_density(table["mass_percent"] / 100, table["t_degC"])
    agrees(ours, table["density_kg_m3"], 0.006)


def test_density_by_volume_agrees_with_the_pharmacopoeia(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Density at 20 °C by % vol, to the rounding of the table."""
    table = published("ethanol_density_by_volume_20c.csv")
    ours = ethanol_water_density(mass_fraction_from_abv(table["abv_percent_20C"]))
    agrees(ours, table["density_kg_m3_20C"], 0.006)


def test_percent_mass_by_percent_volume(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """To the rounding of the table."""
    table = published("ethanol_mass_volume_20c.csv")
    agrees(100 * mass_fraction_from_abv(table["abv_percent_20C"]), table["mass_percent"], 0.006)


@pytest.mark.parametrize(
    ("name", "tolerance"),
    [("ethanol_density_lange.csv", 0.12), ("ethanol_density_nbs_10_40c.csv", 0.12)],
)
def test_measured_densities_at_several_temperatures(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None], name: str, tolerance: float
) -> None:
    """Handbook measurements from 10 to 40 °C."""
    table = published(name)
    ours = ethanol_water_density(table["mass_percent"] / 100, table["t_degC"])
    agrees(ours, 1000 * table["density_g_mL"], tolerance)


@pytest.mark.parametrize(
    ("name", "tolerance"),
    [("ethanol_density_perry_20c.csv", 0.12), ("ethanol_density_crc_20c.csv", 0.25)],
)
def test_measured_densities_at_20c(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None], name: str, tolerance: float
) -> None:
    """Handbook measurements at 20 °C."""
    table = published(name)
    agrees(ethanol_water_density(table["mass_percent"] / 100), 1000 * table["density_g_mL_20C"], tolerance)


def test_the_american_table_on_its_own_basis(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """% mass by % vol at 60 °F (USP 29)."""
    table = published("alcoholometric_usp_60f.csv")
    agrees(100 * mass_fraction_at_basis(table["abv_percent_15.56C"], 15.5556), table["mass_percent"], 0.006)


@pytest.mark.parametrize(("column", "celsius"), [("sg_air_25_25", 25.0), ("sg_air_15.56_15.56", 15.5556)])
def test_the_american_table_in_air(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None], column: str, celsius: float
) -> None:
    """SG weighed in air at 25 °C and at 60 °F (USP 29)."""
    table = published("alcoholometric_usp_60f.csv")
    ours = ethanol_water_density(mass_fraction_at_basis(table["abv_percent_15.56C"], 15.5556), celsius)
    water = ethanol_water_density(0.0, celsius)
    agrees((ours - AIR) / (water - AIR), table[column], 7e-5)


def test_letting_down_with_water_at_15c(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Gay-Lussac's table: water to add to 100 volumes of spirit, by masses on the 15 °C basis."""
    table = published("dilution_water_gay_lussac_15c.csv")
    before = mass_fraction_at_basis(table["spirit_abv_percent_15C"], 15.0)
    after = mass_fraction_at_basis(table["target_abv_percent_15C"], 15.0)
    spirit = 100 * ethanol_water_density(before, 15.0)
    water = spirit * (before / after - 1) / ethanol_water_density(0.0, 15.0)
    agrees(water, table["water_volumes_per_100_of_spirit"], 0.15)


def test_a_cooler_basis_reads_lower() -> None:
    """12 % vol at 20 °C is about 0.045 less at 60 °F, 40 % vol 0.07 less (tests/reference/README.md, trap 4)."""
    strength = np.array([12.0, 40.0])
    lower = strength - abv_at_basis(mass_fraction_from_abv(strength), 15.5556)
    assert lower == pytest.approx([0.045, 0.07], abs=0.005)


def test_strength_goes_to_mass_and_back() -> None:
    """The round trip loses nothing but the formula's own rounding, which is 4e-13 near pure ethanol."""
    p = np.linspace(0.0, 1.0, 100_001)
    back = mass_fraction_from_abv(np.clip(abv_from_mass_fraction(p), 0.0, 100.0))
    assert np.abs(back - p).max() < 1e-12


@pytest.mark.parametrize("celsius", [-20.0, -5.0, 0.0, 4.0, 20.0, 40.0])
def test_strength_from_density_inverts_density(celsius: float) -> None:
    """At any temperature, over the whole range, also where the slope is small (dilute and cold)."""
    p = np.linspace(0.0, 1.0, 5_001)
    back = abv_from_density(ethanol_water_density(p, celsius), celsius)
    assert np.abs(back - abv_from_mass_fraction(p)).max() < 1e-9


def test_water_that_reads_a_hair_heavy_is_water() -> None:
    """Other tables put water at 998.207 kg/m3; that is no reason to refuse a reading."""
    assert abv_from_density(998.207, 20.0) == 0.0


@pytest.mark.parametrize(("kg_m3", "celsius"), [(998.3, 20.0), (788.9, 20.0), (999.9, 20.0)])
def test_a_density_no_spirit_has_is_refused(kg_m3: float, celsius: float) -> None:
    """The line says what the densities at that temperature are."""
    with pytest.raises(OutOfRange, match=r"between 789\.\d* and 998\.\d* kg/m3 at that temperature"):
        abv_from_density(kg_m3, celsius)


def test_a_word_in_place_of_a_number_is_refused() -> None:
    """No traceback of the array library reaches anybody."""
    with pytest.raises(BadInput, match="mass fraction must be a number, not 'strong'"):
        ethanol_water_density("strong")


def test_arrays_broadcast_and_scalars_stay_scalars() -> None:
    """Two strengths at three temperatures give six densities; a float gives a float."""
    assert ethanol_water_density([[0.1], [0.2]], [10.0, 20.0, 30.0]).shape == (2, 3)
    assert isinstance(ethanol_water_density(0.1, 10.0), np.float64)
    assert isinstance(mass_fraction_from_abv(13.5), np.float64)
    assert isinstance(abv_from_density(980.0), np.float64)
