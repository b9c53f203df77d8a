"""Musts by hand, laws of mass, and where yeast leaves them."""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.liquid import balling_original_extract, brix_from_sg, density_of, extract_g_l
from cooperage.liquid.ethanol import ETHANOL_20C
from cooperage.programme.batches.must import (
    NoMust,
    expected_end,
    fermented,
    honey_part,
    juice_part,
    must_of,
    share_at,
    water_part,
)

REFERENCE = Path(__file__).parents[2] / "reference"
FACTS = json.loads((REFERENCE / "honey_facts.json").read_text())


def test_150_kg_of_mean_honey_in_350_litres_of_water() -> None:
    """The mean of 490 American honeys has 17.2 % water (White et al., USDA Technical Bulletin 1261 (1962)).

    Honey 150 kg x (1 - 0.172) = 124.2 kg of solids. Water 350 L x 0.99820 kg/L = 349.37 kg. Together 499.37 kg, of
    which 124.2/499.37 = 24.871 %: Brix. NBS Circular C440 gives SG 20/20 of 1.10458 at 24.8 and 1.10504 at 24.9 within
    a few of the fifth digit, so near 1.1050. Litres: 499.37/(1.1050 x 0.99820) = 452.7.
    """
    moisture = FACTS["composition_us_490_samples"]["moisture_percent"]["mean"]
    must = must_of([honey_part(150_000, moisture), water_part(350_000)])
    assert must.sugar_kg == pytest.approx(124.2)
    assert must.kg == pytest.approx(499.37, abs=0.01)
    assert must.brix == pytest.approx(24.871, abs=0.001)
    assert must.sg == pytest.approx(1.1050, abs=0.0002)
    assert must.litres == pytest.approx(452.7, abs=0.1)
    assert must.sugar_g_l == pytest.approx(1000 * 124.2 / 452.7, abs=0.1)


masses = st.tuples(st.integers(1, 10**6), st.floats(13, 23))
juices = st.tuples(st.integers(1, 10**6), st.floats(1.0, 1.3))


@given(st.lists(masses, max_size=4), st.integers(10**6, 10**7), st.lists(juices, max_size=3))
@settings(max_examples=60)
def test_what_goes_in_is_what_is_in_it(
    honeys: list[tuple[int, float]], water: int, juice: list[tuple[int, float]]
) -> None:
    """Mass and sugar are conserved, and the must's own litres at its own gravity hold both."""
    parts = [*(honey_part(*each) for each in honeys), water_part(water), *(juice_part(*each) for each in juice)]
    must = must_of(parts)
    assert must.kg == pytest.approx(sum(part.kg for part in parts))
    assert must.sugar_g_l * must.litres / 1000 == pytest.approx(sum(part.sugar_kg for part in parts), abs=1e-6)
    assert float(density_of(0.0, min(1228.0, must.sugar_g_l))) * must.litres / 1000 == pytest.approx(must.kg, rel=1e-5)


@given(st.floats(1.02, 1.16), st.floats(0.0, 1.0))
@settings(max_examples=60)
def test_alcohol_and_what_is_left_come_to_the_sugar_there_was(original: float, share: float) -> None:
    """Balling's balance holds: 2.0665 g of extract for a gram of alcohol, so never more than stoichiometry allows."""
    sg, abv = fermented(original, share)
    rho = sg * 998.20123
    alcohol, left = abv * ETHANOL_20C / rho, float(brix_from_sg(original)) * (1 - share)
    back = float(balling_original_extract(alcohol, 100 * float(extract_g_l(sg, abv)) / rho))
    assert back == pytest.approx(float(brix_from_sg(original)), abs=0.25)  # the liquid's mass shrinks by the gas
    assert alcohol <= 0.5114 * (float(brix_from_sg(original)) - left) * 1.2


def test_means_of_384_beers_are_met() -> None:
    """Original and real extract give the alcohol of three data sets (Cutaia, Reid and Speers 2009)."""
    for row in csv.DictReader((REFERENCE / "fermentation_balance_means.csv").open()):
        original, left = float(row["original_extract_plato"]), float(row["real_extract_plato"])
        back = float(balling_original_extract(float(row["ethanol_mass_percent"]), left))
        assert back == pytest.approx(original, abs=0.3)


def test_it_ends_where_the_yeast_gives_up_or_the_sugar_does() -> None:
    """A weak yeast leaves sugar, a strong one none; the doubt of the end is wider where the yeast decides."""
    weak, strong, unknown = (expected_end(1.105, bears) for bears in (12.0, 18.0, None))
    assert weak.sg > 1.01 > strong.sg
    assert strong.sg == pytest.approx(unknown.sg, abs=0.0005)
    assert weak.sd > strong.sd
    assert weak.abv == pytest.approx(12.0, abs=0.1)
    assert fermented(1.105, share_at(1.105, 12.0))[1] == pytest.approx(12.0, abs=1e-5)


def test_nothing_is_no_must() -> None:
    with pytest.raises(NoMust, match="nothing goes into it"):
        must_of([])
