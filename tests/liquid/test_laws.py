"""Laws that hold for any figures."""

from random import Random
from typing import TypeAlias

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cooperage.liquid import (
    abv_from_density,
    abv_from_gravities,
    abv_from_mass_fraction,
    brix_from_sg,
    brix_from_sugar_g_l,
    correct_hydrometer,
    density_of,
    ethanol_water_density,
    evaporation,
    extract_g_l,
    final_sg,
    free_so2_for,
    headspace_mm,
    mass_fraction_from_abv,
    mix,
    molecular_so2,
    original_sg,
    sg_from_brix,
    sg_from_density,
    sugar_g_l_from_brix,
    ullage_litres,
)

Stream: TypeAlias = tuple[float, float, float]
"""Litres, % vol, grams of extract a litre."""


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Any figure in a range."""
    return st.floats(low, high, allow_nan=False)


mead = st.tuples(between(0.1, 500), between(0, 25), between(0, 300))
stream = st.one_of(
    mead,
    st.tuples(between(0.1, 50), between(90, 96), st.just(0.0)),
    st.tuples(between(0.1, 50), st.just(0.0), between(900, 1150)),
)


@given(between(0, 100))
def test_percent_volume_and_percent_mass_invert(abv: float) -> None:
    """There and back."""
    assert abv_from_mass_fraction(mass_fraction_from_abv(abv)) == pytest.approx(abv, abs=1e-10)


@given(between(0, 100), between(-20, 40))
def test_strength_and_density_invert(abv: float, celsius: float) -> None:
    """At any temperature."""
    rho = ethanol_water_density(mass_fraction_from_abv(abv), celsius)
    assert abv_from_density(rho, celsius) == pytest.approx(abv, abs=1e-8)


@given(between(-12, 85))
def test_brix_gravity_and_grams_invert(brix: float) -> None:
    """There and back, both ways of writing it; g/L only from -1 Brix, where its range begins."""
    assert brix_from_sg(sg_from_brix(brix)) == pytest.approx(brix, abs=1e-10)
    if brix > -1:
        assert brix_from_sugar_g_l(sugar_g_l_from_brix(min(brix, 84.9))) == pytest.approx(min(brix, 84.9), abs=1e-10)


@given(between(0, 40), between(-10, 500))
def test_extract_and_density_invert(abv: float, extract: float) -> None:
    """Through SG 20/20."""
    assert extract_g_l(sg_from_density(density_of(abv, extract)), abv) == pytest.approx(extract, abs=1e-9)


@pytest.mark.slow
@given(between(0, 16), between(0, 250))
def test_gravities_and_strength_invert(abv: float, extract: float) -> None:
    """Any mead: its original gravity and its final one give its strength."""
    end = sg_from_density(density_of(abv, extract))
    start = original_sg(end, abv)
    assert abv_from_gravities(start, end) == pytest.approx(abv, abs=1e-8)
    assert final_sg(start, abv) == pytest.approx(end, abs=1e-9)


@given(st.lists(stream, min_size=2, max_size=6), st.randoms(use_true_random=False))
def test_mixing_is_order_free(streams: list[Stream], random: Random) -> None:
    """Whichever is poured first."""
    shuffled = list(streams)
    random.shuffle(shuffled)
    assert mix(*np.array(streams).T) == pytest.approx(mix(*np.array(shuffled).T), rel=1e-10, abs=1e-9)


@given(st.lists(stream, min_size=3, max_size=6), st.integers(1, 5))
def test_mixing_is_associative(streams: list[Stream], cut: int) -> None:
    """Some first and the rest after is all at once; the contractions add."""
    assume(cut < len(streams))
    first = mix(*np.array(streams[:cut]).T)
    stepwise = mix(*np.array([first[:3], *streams[cut:]]).T)
    at_once = mix(*np.array(streams).T)
    assert stepwise[:3] == pytest.approx(at_once[:3], rel=1e-9, abs=1e-9)
    assert first.contraction + stepwise.contraction == pytest.approx(at_once.contraction, abs=1e-7)


@given(st.lists(stream, min_size=1, max_size=6))
def test_mixing_keeps_mass_ethanol_and_extract(streams: list[Stream]) -> None:
    """What went in is there."""
    litres, abv, extract = np.array(streams).T
    blend = mix(litres, abv, extract)
    assert blend.litres * blend.abv == pytest.approx((litres * abv).sum(), rel=1e-12, abs=1e-12)
    assert blend.litres * blend.extract_g_l == pytest.approx((litres * extract).sum(), rel=1e-12, abs=1e-12)
    mass = (litres * density_of(abv, extract)).sum()
    assert blend.litres * density_of(blend.abv, blend.extract_g_l) == pytest.approx(mass, rel=1e-11)


@given(between(0, 100), between(2.5, 4.4), between(0.01, 0.5), between(0, 20), between(0, 40))
def test_molecular_so2_falls_as_ph_rises(free: float, ph: float, rise: float, abv: float, celsius: float) -> None:
    """And never exceeds the free."""
    assume(free > 0.01)
    for convention in ("oiv", "pk181"):
        here = molecular_so2(free, ph, abv, celsius, convention)
        assert molecular_so2(free, ph + rise, abv, celsius, convention) < here <= free
        assert free_so2_for(here, ph, abv, celsius, convention) == pytest.approx(free)


@given(between(0, 18), between(0, 300), between(0, 400), between(0, 30), between(0, 100))
def test_sweetness_never_falls_by_evaporation(
    abv: float, extract: float, days: float, celsius: float, humidity: float
) -> None:
    """Water and ethanol leave, sugar stays; and the level never rises."""
    left = evaporation(225.0, abv, extract, days, celsius, humidity, 1.93)
    assert left.extract_g_l >= extract * (1 - 1e-12)
    assert left.litres <= 225.0 * (1 + 1e-12)


@given(between(0.99, 1.15), between(5, 35), between(0, 15), st.sampled_from([15.0, 15.56, 20.0]))
def test_a_warmer_reading_is_corrected_upwards(sg: float, celsius: float, abv: float, calibrated_at: float) -> None:
    """The same figure read in a warmer liquid means a denser one."""
    here, warmer = correct_hydrometer(sg, [celsius, celsius + 2.0], calibrated_at, abv)
    assume(celsius > 6)
    assert warmer > here


@given(between(400, 900), between(0.6, 0.999), between(1.1, 1.7), between(0.001, 0.999))
def test_dip_and_headspace_invert(bung: float, head_share: float, length_share: float, depth: float) -> None:
    """Any barrel, any depth; headspace and what is under it make the whole."""
    shape = (bung, bung * head_share, bung * length_share)
    missing = ullage_litres(bung * depth, *shape)
    assert headspace_mm(missing, *shape) == pytest.approx(bung * depth, abs=1e-4 * bung)
    whole = ullage_litres(bung, *shape)
    assert missing + ullage_litres(bung * (1 - depth), *shape) == pytest.approx(whole, rel=1e-9)
