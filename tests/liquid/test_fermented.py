"""Mead: extract, density, strength and gravities."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.errors import OutOfRange
from cooperage.liquid import (
    abv_from_gravities,
    apparent_sg,
    balling_original_extract,
    brix_from_sg,
    density_of,
    ethanol_water_density,
    extract_g_l,
    final_sg,
    mass_fraction_from_abv,
    original_sg,
    sg_from_brix,
    sg_from_density,
    strength_from_density,
    sucrose_density,
    sugar_g_l_from_brix,
    tabarie_documented,
    tabarie_uncertainty,
    true_sg,
)

ETHANOL_KG_M3 = 789.2391  # OIML R 22 at 20 °C


def test_extract_of_the_liquid_freed_of_alcohol(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """OIV Table I, known from memory; the method reports to 0.5 g/L."""
    table = published("extract_oiv_from_memory.csv")
    agrees(extract_g_l(table["sg_20_20"], 0.0), table["total_dry_extract_g_per_L"], 0.3)


def test_tabarie_is_the_published_rule(facts: Callable[[str], dict[str, Any]]) -> None:
    """d_r = 1.00180 (rho_v - rho_a) + 1.000 in g/mL, worked here with the tables' own densities."""
    assert "1.00180*(rho_v - rho_a) + 1.000" in facts("extract_polynomials.json")["tabarie"]["formula"]
    rho_v, rho_a = 1.0080, ethanol_water_density(mass_fraction_from_abv(13.5)) / 1000
    d_r = 1.00180 * (rho_v - rho_a) + 1.000
    w = brix_from_sg(d_r) / 100
    by_hand = w * sucrose_density(w)
    assert extract_g_l(rho_v / 0.99820123, 13.5) == pytest.approx(by_hand, abs=0.01)


def test_original_extract_of_surveyed_beers(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Balling's rule on the means of 384 beers; the paper discusses its error."""
    table = published("fermentation_balance_means.csv")
    ours = balling_original_extract(table["ethanol_mass_percent"], table["real_extract_plato"])
    agrees(ours, table["original_extract_plato"], 0.3)


def test_apparent_extract_of_surveyed_beers(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Density from % mass of alcohol and extract, then SG in air, then Plato."""
    table = published("fermentation_balance_means.csv")
    rho = np.full_like(table["ethanol_mass_percent"], 1000.0)
    for _ in range(20):
        abv = table["ethanol_mass_percent"] * rho / ETHANOL_KG_M3
        rho = density_of(abv, table["real_extract_plato"] * rho / 100)
    ours = brix_from_sg(true_sg(apparent_sg(sg_from_density(rho))))
    agrees(ours, table["apparent_extract_plato"], 0.06)


def test_pure_ends_are_exact() -> None:
    """Without extract it is the alcohol table; without alcohol the sugar table."""
    assert density_of(40.0, 0.0) == pytest.approx(ethanol_water_density(mass_fraction_from_abv(40.0)), abs=1e-9)
    syrup = sugar_g_l_from_brix(82.0)
    assert density_of(0.0, syrup) / 998.20123 == pytest.approx(sg_from_brix(82.0), abs=1e-12)


def test_dry_spirit_and_honey_lie_within() -> None:
    """96 % vol without extract, and honey of 1150 g/L without alcohol."""
    assert 800 < density_of(96.0, 0.0) < 815
    assert 1400 < density_of(0.0, 1150.0) < 1430


def test_a_liquid_without_room_for_water_is_refused() -> None:
    """96 % vol and 500 g/L cannot be one liquid."""
    with pytest.raises(OutOfRange, match=r"no liquid holds 96 % vol and 500 g/L"):
        density_of([13.5, 96.0], [60.0, 500.0])


def test_gravity_and_strength_that_contradict_each_other_are_refused() -> None:
    """SG 0.90 at 12 % vol would need an extract far below zero."""
    with pytest.raises(OutOfRange, match="do not go together"):
        extract_g_l(0.90, 12.0)


def test_the_uncertainty_covers_the_other_defensible_rule() -> None:
    """Let sugar take the room in wine that it takes in water, by hand: the extract moves by less than the band says."""
    abv, extract = (x.ravel() for x in np.meshgrid([5.0, 10.0, 13.5, 18.0], [20.0, 50.0, 100.0, 150.0, 250.0]))
    w = brix_from_sg(density_of(0.0, extract) / 998.20123) / 100
    room = extract * (1 - (1 - w) * sucrose_density(w) / 998.2031) / extract  # litres taken by the sugar of 1 L
    solvent = 1.0 - room
    other = solvent * density_of(abv / solvent, 0.0) + extract
    moved = (other - density_of(abv, extract)) / 0.384  # kg/m3 to g/L
    assert (np.abs(moved) < tabarie_uncertainty(abv, extract) + 1e-9).all()
    assert np.abs(moved).max() > 0.5 * tabarie_uncertainty(abv, extract).max()  # and the band is not idle


def test_a_sweet_mead_is_marked_as_outside_what_was_tried() -> None:
    """Below 5 % sugar and 18 % alcohol by mass only."""
    assert tabarie_documented(13.5, [20.0, 49.0, 100.0]).tolist() == [True, True, False]
    assert tabarie_documented([22.0, 24.0], 0.0).tolist() == [True, False]  # 18 % mass is 22.2 % vol
    assert tabarie_uncertainty(13.5, 120.0) > 1.5 * tabarie_uncertainty(13.5, 10.0)


def test_any_two_of_the_three_give_the_third() -> None:
    """Original gravity, final gravity and strength agree both ways."""
    start, strength = (x.ravel() for x in np.meshgrid(np.linspace(1.09, 1.16, 8), np.linspace(0.0, 11.0, 12)))
    end = final_sg(start, strength)
    assert abv_from_gravities(start, end) == pytest.approx(strength, abs=1e-9)
    assert original_sg(end, strength) == pytest.approx(start, abs=1e-9)


def test_the_extract_left_agrees_with_the_gravities() -> None:
    """Balling on the extract that Tabarié finds gives back the original extract."""
    strength = abv_from_gravities(1.110, 1.012)
    rho = 1.012 * 998.2031
    alcohol, rest = strength * ETHANOL_KG_M3 / rho, 100 * extract_g_l(1.012, strength) / rho
    assert balling_original_extract(alcohol, rest) == pytest.approx(brix_from_sg(1.110), abs=1e-3)


def test_a_mead_of_1125_at_13_5_percent_finishes_sweet_near_1020() -> None:
    """Common practice, no source: near means within 0.006 (the rule of thumb 131 x drop gives 1.022)."""
    assert final_sg(1.125, 13.5) == pytest.approx(1.02, abs=0.006)
    assert original_sg(1.022, 13.5) == pytest.approx(1.125, abs=0.006)


def test_gravities_the_wrong_way_round_are_refused() -> None:
    """The line asks whether they were exchanged."""
    with pytest.raises(OutOfRange, match="exchanged"):
        abv_from_gravities(1.010, 1.050)


def test_more_alcohol_than_the_sugar_allows_is_refused() -> None:
    """SG 1.050 cannot end at 0.970, nor reach 12 %."""
    with pytest.raises(OutOfRange, match="too little sugar"):
        abv_from_gravities(1.050, 0.970)
    with pytest.raises(OutOfRange, match="too little sugar"):
        final_sg(1.050, 12.0)


def test_strength_by_density_and_extract() -> None:
    """The other inverse of density_of."""
    abv = np.linspace(0, 60, 61)
    assert strength_from_density(density_of(abv, 50.0), 50.0) == pytest.approx(abv, abs=1e-10)
