"""Honey by refractometer and by weight."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from cooperage.liquid import (
    density_of,
    honey_density,
    honey_kg_for_extract,
    honey_moisture,
    honey_stream,
    mix,
    sg_from_brix,
)

US_GALLON_L, POUND_KG = 3.785411784, 0.45359237


def test_moisture_by_refractive_index(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Chataway's table."""
    table = published("honey_moisture_refractive_index.csv")
    agrees(honey_moisture(table["refractive_index_20C"]), table["moisture_g_per_100g"], 0.03)


def test_warm_honey_is_corrected(facts: Callable[[str], dict[str, Any]]) -> None:
    """The harmonised methods add 0.00023 to the index per °C above 20."""
    per_degree = facts("honey_facts.json")["wedmore"]["temperature"]["add_to_n_per_degC_above_20"]
    assert honey_moisture(1.4940 - 5 * per_degree, 25.0) == pytest.approx(honey_moisture(1.4940), abs=1e-9)


def test_honey_is_as_heavy_as_the_table(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """USDA table, known from memory; 0.005 SG."""
    table = published("honey_specific_gravity_from_memory.csv")
    agrees(honey_density(table["moisture_g_per_100g"]) / 998.20123, table["sg_20_20"], 0.005)


def test_honey_weighs_what_the_trade_says(facts: Callable[[str], dict[str, Any]]) -> None:
    """11.63 to 12.06 lb per US gallon bound the usual moistures."""
    bounds = facts("honey_facts.json")["weight_bounds_lb_per_us_gal"]
    pounds = honey_density(np.array([13.5, 17.0, 18.6])) / 1000 * US_GALLON_L / POUND_KG
    assert ((pounds > bounds["min"]) & (pounds < bounds["max"])).all()


def test_honey_keeps_mass_and_solids() -> None:
    """10 kg at 18 % moisture hold 8.2 kg of solids, by hand."""
    honey = honey_stream(10.0, 18.0)
    assert honey.litres * honey.extract_g_l == pytest.approx(8200.0)
    assert honey.litres * density_of(0.0, honey.extract_g_l) == pytest.approx(10_000.0, abs=0.1)


def test_no_honey_is_a_stream_of_nothing() -> None:
    """0 kg: no litres and no alcohol, beside honey that has some; mead it is poured into stays as it was."""
    honey = honey_stream([0.0, 10.0], 18.0)
    assert honey.litres.tolist() == [0.0, pytest.approx(8200.0 / honey.extract_g_l[1])]
    assert honey.abv.tolist() == [0.0, 0.0]
    assert honey.extract_g_l[0] == honey.extract_g_l[1]


def test_sweetening_lands_on_the_wanted_extract() -> None:
    """Pour the reckoned honey in: the extract is the wanted one."""
    kilograms = honey_kg_for_extract(225.0, 13.5, 40.0, 18.0, 60.0)
    honey = honey_stream(kilograms, 18.0)
    blend = mix([225.0, float(honey.litres)], [13.5, 0.0], [40.0, float(honey.extract_g_l)])
    assert blend.extract_g_l == pytest.approx(60.0, abs=1e-9)


def test_two_parts_water_to_one_of_honey_by_volume_and_by_mass() -> None:
    """Common practice, no source: such a must is quoted near SG 1.14 to 1.15 when measured by volume.

    One part honey of 18 % moisture to two of water: by mass 82/300 = 27.3 °Brix, SG 1.116; by volume the honey weighs
    1.4171, so 0.82 x 1.4171/3.4171 = 34.0 °Brix, SG 1.148. The figure quoted fits the measure by volume.
    """
    by_mass = sg_from_brix(100 * 0.82 / 3.0)
    by_volume = sg_from_brix(100 * 0.82 * 1.4171 / (1.4171 + 2.0))
    assert by_mass == pytest.approx(1.116, abs=0.002)
    assert 1.14 < by_volume < 1.15


def test_honey_under_18_percent_keeps(facts: Callable[[str], dict[str, Any]]) -> None:
    """Common practice, no source: it reads above index 1.491; the codes allow more (20 %)."""
    assert honey_moisture(1.4920) < 18.0 < honey_moisture(1.4905)
    assert facts("honey_facts.json")["moisture_limits_percent"]["codex_general"]["max"] == 20
