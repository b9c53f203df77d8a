"""The published example of what a barrel costs a bottle, and what evaporates (tests/reference/README.md)."""

import csv
from pathlib import Path

import pytest

from cooperage.programme.wood.cost import CostBasis, spread_price
from cooperage.units import US_GALLON_ML

YEAR = 365.25
TABLE = Path(__file__).parents[2] / "reference" / "barrel_economics.csv"


@pytest.fixture(scope="module")
def published() -> dict[str, str]:
    with TABLE.open(newline="") as file:
        return {row["item"]: row["value"] for row in csv.DictReader(file)}


def test_a_new_french_barrel_over_seven_fills(published: dict[str, str]) -> None:
    """Barrel economics, trade magazine, August 2015: 900 and 50 freight, 7 fills, 304 bottles: 0.45 a bottle."""
    price = float(published["new French oak 60 gal (228 L)"]) + 50
    fills, bottles = int(published["fills planned"]), int(published["bottles from 60 gal"])
    spread = spread_price(price, 0, [YEAR] * fills, CostBasis(fills=fills))
    assert spread.left == 0.0
    assert sum(spread.charges) == pytest.approx(950.0)
    assert set(spread.charges) <= {135.71, 135.72}
    assert "135.71 per fill; 0.4464 per bottle" in published["example, French, 7 fills, resale 0"]
    assert round(spread.charges[0] / bottles, 4) == 0.4464
    assert f"{spread.charges[0] / bottles:.2f}" == "0.45"
    assert bottles == 228_000 // 750


def test_what_evaporates_in_the_published_cellar(published: dict[str, str]) -> None:
    """Same source: bulk wine at 18 USD a gallon is 4.76 a litre (computed there from the gallon)."""
    per_gallon = float(published["bulk wine value for evaporated litres"])
    assert round(per_gallon / (float(US_GALLON_ML) / 1000), 2) == 4.76


def test_shares_of_a_price_over_four_fills(published: dict[str, str]) -> None:
    """Declining shares of 50, 25, 15 and 10 % (common practice) sum to 100; by effect the first two agree."""
    shares = [float(each) for each in published["declining shares over 4 fills"].split("/")]
    assert sum(shares) == 100
    spread = spread_price(100.0, 0, [YEAR] * 4, CostBasis("effect"))
    assert list(spread.charges[:2]) == shares[:2]
