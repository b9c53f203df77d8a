"""Honey, water and spirit beside the stocks: in the plan, and in the pour."""

import pandas as pd
import pytest

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.from_cellar import solve_in_cellar
from cooperage.blending.pour.tank import pour, pour_words
from cooperage.blending.stocks.dosing import CannotBePoured
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.liquid import mix


def drawn(answer: Answer) -> dict[str, float]:
    return {draw.stock: draw.litres for draw in answer.draws}


@pytest.fixture
def mead() -> pd.DataFrame:
    """Return one dry mead of 13 % vol."""
    return pd.DataFrame({"stock": ["mead"], "litres": [2000.0], "abv": [13.0], "sugar_g_l": [0.0], "cost_per_l": [4.0]})


def test_honey_sweetens_by_mass_balance(mead: pd.DataFrame) -> None:
    """1000 L of 13 % vol with 30 g/L take 27.1 L of honey, 80 % sugar and 1.42 kg/L, and come to 12.66 %."""
    brief = {"litres": {"max": 2000}, "objective": ["highest:litres"], "limits": {"sugar_g_l": {"target": 30}}}
    mead["litres"] = 1000.0
    brief |= {"dosing": {"honey": {"cost_per_l": 9.0}}}
    answer = solve(mead, brief)
    assert drawn(answer)["honey"] == pytest.approx(27.1, abs=0.1)
    assert any("stabilise the blend before it goes in" in note for note in answer.notes)
    assert answer.blend["abv"] == pytest.approx(12.66, abs=0.01)


def test_spirit_of_its_own_strength_at_true_volume(mead: pd.DataFrame) -> None:
    """1000 L of 21.48 % vol are 900 parts of mead and 100 of spirit at 96, contracted (OIML R 22)."""
    brief = {"litres": 1000, "limits": {"abv": {"target": 21.48}}, "dosing": {"spirit": {"abv": 96, "cost_per_l": 20}}}
    litres = drawn(solve(mead, brief))
    assert litres["spirit"] / litres["mead"] == pytest.approx(100 / 900, rel=1e-3)
    true = mix([litres["mead"], litres["spirit"]], [13.0, 96.0], [0.0, 0.0])
    assert float(true.litres) == pytest.approx(1000, abs=1e-6)


def test_water_costs_nothing_and_can_be_limited(mead: pd.DataFrame) -> None:
    """As much water as there is: 50 L; and as a share, no more than a hundredth."""
    brief = {"litres": 1000, "mixing": "plain", "objective": ["least_cost"], "dosing": {"water": {"litres": 50}}}
    assert drawn(solve(mead, brief))["water"] == pytest.approx(50)
    assert drawn(solve(mead, brief | {"share": {"water": {"max": 0.01}}}))["water"] == pytest.approx(10)


def test_a_dose_of_unknown_cost_is_left_out_and_said(mead: pd.DataFrame) -> None:
    """Nobody doses spirit for nothing by leaving its cost away."""
    answer = solve(mead, {"litres": 100, "objective": ["least_cost"], "dosing": {"spirit": {}}})
    assert [(out.stock, out.why) for out in answer.left_out] == [("spirit", "cost unknown")]


def test_doses_are_no_whole_barrels(mead: pd.DataFrame) -> None:
    """Barrels are drained whole; honey is weighed to what is needed."""
    pool = pd.DataFrame({"stock": ["a", "b"], "litres": [200.0, 100.0], "abv": 12.0, "sugar_g_l": 0.0})
    brief = {"litres": {"min": 150, "max": 250}, "limits": {"sugar_g_l": {"target": 20}}, "draws": {"whole": True}}
    answer = solve(pool, brief | {"dosing": {"honey": {}}})
    assert answer.status == "optimal"
    assert drawn(answer)["a"] == 200.0
    assert 3.0 < drawn(answer)["honey"] < 4.5  # 200 * 20 / (1136 - 20) = 3.6
    assert answer.blend["sugar_g_l"] == pytest.approx(20, abs=1e-6)


def test_a_dose_named_like_a_stock_is_refused(mead: pd.DataFrame) -> None:
    """Which water is meant must be clear."""
    mead["stock"] = ["water"]
    with pytest.raises(BadBrief, match=r"dosing\.water: the pool has a stock of that name"):
        solve(mead, {"litres": 10, "dosing": {"water": {}}})


def test_doses_are_poured_into_the_book(cellar_book: Book) -> None:
    """Honey and water go in with the draw, in one entry; the tank holds what the plan said, to its figures."""
    dosing = {"honey": {"cost_per_l": 9.0, "litres": 40}}
    brief = {"litres": 300, "limits": {"sugar_g_l": {"min": 100, "max": 110}}, "dosing": dosing}
    before = cellar_book.cellar()
    answer = solve_in_cellar(before, {}, brief)
    assert answer.status == "optimal"
    written = pour(cellar_book, answer, "T-2", brief)
    after = cellar_book.cellar()
    assert after["T-2"].litres == pytest.approx(300, abs=0.01)
    assert after["T-2"].value("sugar_g_l") == pytest.approx(answer.blend["sugar_g_l"], abs=0.05)
    assert after["T-2"].value("abv") == pytest.approx(answer.blend["abv"], abs=0.01)
    # the book's honey is 1.42 g/ml
    assert isinstance(written.act, acts.Blend)
    grams = dict(written.act.doses)["honey"]
    assert grams == pytest.approx(1420 * drawn(answer)["honey"], rel=1e-6)
    assert any("honey" in line for line in pour_words(written, before, after))
    assert not any(finding.broken for finding in cellar_book.check())


def test_spirit_of_another_strength_is_not_poured(cellar_book: Book) -> None:
    """The book knows one spirit; another is received as a lot, and the refusal says so."""
    brief = {"litres": 300, "limits": {"abv": {"min": 16}}, "dosing": {"spirit": {"abv": 96, "cost_per_l": 9}}}
    before = cellar_book.cellar()
    answer = solve_in_cellar(before, {}, brief)
    with pytest.raises(CannotBePoured, match="receive it as a lot"):
        pour(cellar_book, answer, "T-2", brief)
    assert [vessel.ml for vessel in cellar_book.cellar()] == [vessel.ml for vessel in before]
