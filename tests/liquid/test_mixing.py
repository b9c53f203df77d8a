"""Mixing and dosing."""

from collections.abc import Callable

import numpy as np
import pytest

from cooperage.errors import OutOfRange
from cooperage.liquid import (
    density_of,
    dose_for_abv,
    dose_for_extract,
    ethanol_water_density,
    mass_fraction_at_basis,
    mix,
)


def test_contraction_at_20c(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """Rows at 20 °C, each to the tolerance its source deserves."""
    table = published("contraction_on_mixing.csv", t_degC="20")
    volumes = np.stack([table["spirit_volume"], table["water_volume"]], -1)
    blend = mix(volumes, np.stack([table["spirit_abv_percent"], np.zeros(len(volumes))], -1), 0.0)
    assert (np.abs(blend.litres - table["mixture_volume"]) <= table["suggested_tolerance_volume"]).all()
    known = ~np.isnan(table["mixture_abv_percent"])
    assert blend.abv[known] == pytest.approx(table["mixture_abv_percent"][known], abs=0.1)


def test_contraction_at_other_temperatures(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """Rows at 15 °C and 60 °F by masses on that basis, which is what `mix` does at 20 °C."""
    for t in ("15", "15.56"):
        table = published("contraction_on_mixing.csv", t_degC=t)
        celsius = float(t)
        p = mass_fraction_at_basis(table["spirit_abv_percent"], celsius)
        spirit = table["spirit_volume"] * ethanol_water_density(p, celsius)
        water = table["water_volume"] * ethanol_water_density(0.0, celsius)
        volume = (spirit + water) / ethanol_water_density(p * spirit / (spirit + water), celsius)
        assert (np.abs(volume - table["mixture_volume"]) <= table["suggested_tolerance_volume"]).all()


def test_true_volume_of_two_liquids(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """By an independent mass balance with the densities of OIML R 22, rounded to 0.01 L and 0.001 % vol."""
    table = published("true_volume_of_blends.csv")
    volumes = np.stack([table["litres_1"], table["litres_2"]], -1)
    blend = mix(volumes, np.stack([table["abv_1"], table["abv_2"]], -1), 0.0)
    agrees(blend.litres, table["true_litres"], 0.0051)
    agrees(blend.abv, table["abv_by_mass_balance"], 5.1e-4)


def test_equal_volumes_of_ethanol_and_water() -> None:
    """50 + 50 make 96.46 at 20 °C, and the most contraction is 3.55 % at 52.5 + 47.5 (README, trap 6)."""
    assert mix([50.0, 50.0], [100.0, 0.0], 0.0).litres == pytest.approx(96.46, abs=0.005)
    share = np.linspace(40.0, 65.0, 501)
    blends = mix(np.stack([share, 100 - share], -1), [100.0, 0.0], 0.0)
    most = np.argmax(blends.contraction)
    assert blends.contraction[most] == pytest.approx(3.55, abs=0.005)
    assert share[most] == pytest.approx(52.5, abs=0.5)


@pytest.mark.parametrize(("each", "other", "percent"), [(14, 0, -0.07), (8, 18, -0.02), (12, 40, 0.18), (14, 96, 2.5)])
def test_what_adding_litres_gets_wrong(each: int, other: int, percent: float) -> None:
    """Trap 6: equal volumes at 20 °C; volume grows with weak liquids and shrinks with spirit."""
    blend = mix([1.0, 1.0], [each, other], 0.0)
    assert 100 * blend.contraction / 2 == pytest.approx(percent, abs=0.06 if percent > 1 else 0.006)


def test_mass_ethanol_and_extract_are_kept() -> None:
    """Whatever is poured, what went in is there."""
    rng = np.random.default_rng(7)
    litres, abv, extract = rng.uniform(0, 300, (500, 5)), rng.uniform(0, 40, (500, 5)), rng.uniform(0, 300, (500, 5))
    blend = mix(litres, abv, extract)
    assert blend.litres * blend.abv == pytest.approx((litres * abv).sum(-1), rel=1e-13)
    assert blend.litres * blend.extract_g_l == pytest.approx((litres * extract).sum(-1), rel=1e-13)
    mass = (litres * density_of(abv, extract)).sum(-1)
    assert blend.litres * density_of(blend.abv, blend.extract_g_l) == pytest.approx(mass, rel=1e-12)
    assert blend.contraction == pytest.approx(litres.sum(-1) - blend.litres, abs=1e-9)


def test_mead_spirit_and_honey_in_one_call() -> None:
    """A dosing stock of honey and one of spirit beside a barrel."""
    blend = mix([225.0, 10.0, 5.0], [13.5, 0.0, 96.0], [60.0, 1150.0, 0.0])
    assert blend.abv == pytest.approx((225 * 13.5 + 5 * 96) / blend.litres)
    assert 238.0 < blend.litres < 240.5


def test_one_stream_is_itself() -> None:
    """Nothing happens to a liquid alone."""
    blend = mix([225.0], [13.5], [60.0])
    assert blend == pytest.approx((225.0, 13.5, 60.0, 0.0), abs=1e-10)


def test_nothing_has_no_strength() -> None:
    """Zero litres: the volume is zero, the rest unknown."""
    blend = mix([0.0, 0.0], [13.5, 10.0], 0.0)
    assert blend.litres == 0.0
    assert np.isnan(blend.abv)
    assert np.isnan(blend.extract_g_l)
    assert blend.contraction == 0.0


def test_an_unknown_that_is_not_poured_does_no_harm() -> None:
    """A stream of no litres counts for nothing; a poured unknown makes the blend unknown."""
    assert mix([100.0, 0.0], [13.5, np.nan], 0.0).abv == pytest.approx(13.5)
    assert np.isnan(mix([100.0, 1.0], [13.5, np.nan], 0.0).abv)


def test_less_than_no_litres_is_refused() -> None:
    """A draw is never negative."""
    with pytest.raises(OutOfRange, match="litres must be 0 or more L, not -1"):
        mix([100.0, -1.0], [13.5, 10.0], 0.0)


def test_letting_down_with_water_lands_on_the_wanted_strength() -> None:
    """Pour the reckoned water in."""
    water = dose_for_abv(100.0, 16.0, 80.0, 0.0, 0.0, [15.0, 14.0, 13.5])
    blends = mix(np.stack([np.full(3, 100.0), water], -1), [16.0, 0.0], [80.0, 0.0])
    assert blends.abv == pytest.approx([15.0, 14.0, 13.5], abs=1e-12)


def test_gay_lussac_at_20c(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """His water for 100 volumes at 15 °C is also ours at 20 °C within half a percent: both bases move together."""
    table = published("dilution_water_gay_lussac_15c.csv")
    ours = dose_for_abv(100.0, table["spirit_abv_percent_15C"], 0.0, 0.0, 0.0, table["target_abv_percent_15C"])
    assert ours == pytest.approx(table["water_volumes_per_100_of_spirit"], rel=0.005)


def test_sweetening_with_a_syrup() -> None:
    """Pour the reckoned syrup in."""
    syrup = float(dose_for_extract(225.0, 13.5, 20.0, 0.0, 800.0, 60.0))
    assert mix([225.0, syrup], [13.5, 0.0], [20.0, 800.0]).extract_g_l == pytest.approx(60.0, abs=1e-10)


def test_a_stock_that_leads_away_is_refused() -> None:
    """Water does not strengthen."""
    with pytest.raises(OutOfRange, match=r"strength 15 % vol cannot be reached from 13\.5"):
        dose_for_abv(100.0, 13.5, 60.0, 0.0, 0.0, 15.0)


def test_nothing_is_dosed_when_it_is_right_already() -> None:
    """Also where the stock is no different."""
    assert dose_for_abv(100.0, 13.5, 60.0, 0.0, 0.0, 13.5) == 0.0
    assert np.isnan(dose_for_abv(100.0, np.nan, 60.0, 0.0, 0.0, 13.5))


@pytest.mark.slow
def test_large_arrays_are_worked_in_blocks_without_a_seam() -> None:
    """Fifty thousand blends of two at once are the same as in handfuls, also where a figure is shared."""
    rng = np.random.default_rng(3)
    litres, abv = rng.uniform(1, 300, (50_000, 2)), rng.uniform(0, 60, (50_000, 2))
    at_once = mix(litres, abv, 50.0)
    handfuls = [mix(litres[i : i + 5_000], abv[i : i + 5_000], 50.0) for i in range(0, 50_000, 5_000)]
    for field, parts in zip(at_once, zip(*handfuls, strict=True), strict=True):
        assert field == pytest.approx(np.concatenate(parts), rel=1e-12, abs=1e-9)
