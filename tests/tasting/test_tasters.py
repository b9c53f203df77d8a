"""How each taster scored a flight, and how many tasters a gap would take."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.tasting.flights import results, reveal, score, share_of_scale, start_flight
from cooperage.tasting.panel import summarise
from cooperage.tasting.statistics.additive import fewest_tasters, fit_additive
from cooperage.tasting.statistics.performance import agreement_with_others
from cooperage.tasting.tasters import tasters_of


def test_three_tasters_by_hand() -> None:
    """Ada and Ben go up together, Cas goes down: Ada with the others (2, 2, 2.5: flat, then up) and so on."""
    table = np.array([[1.0, 2.0, 3.0], [2.0, 3.0, 2.0], [3.0, 4.0, 1.0]])
    found = {each.name: each for each in tasters_of(["Ada", "Ben", "Cas"], table, summarise(table))}
    assert found["Cas"].likeness == pytest.approx(-1.0)
    assert math.isnan(found["Ada"].likeness)  # the mean of Ben and Cas is 2.5 for every glass
    assert found["Ada"].glasses == 3
    assert found["Ada"].spread == pytest.approx(1.0)
    assert found["Ben"].bias == pytest.approx(2 / 3)
    assert math.isnan(found["Ben"].steady)


def test_a_taster_who_scores_all_alike_or_few_has_no_likeness() -> None:
    """Two glasses in common, or scores without a difference, show nothing."""
    assert math.isnan(agreement_with_others(np.array([[5.0, 1.0], [5.0, 2.0], [5.0, 3.0]]), 0))
    assert math.isnan(agreement_with_others(np.array([[1.0, 1.0], [2.0, 2.0], [math.nan, 3.0]]), 0))


@given(st.lists(st.tuples(*[st.integers(0, 20)] * 3), min_size=3, max_size=8))
def test_likeness_is_a_correlation(rows: list[tuple[int, int, int]]) -> None:
    """It lies between -1 and 1 or is unknown, whatever was given."""
    table = np.array(rows, dtype=float)
    for at in range(3):
        found = agreement_with_others(table, at)
        assert math.isnan(found) or -1 - 1e-9 <= found <= 1 + 1e-9


def test_so_many_tasters_see_the_gap_and_one_less_does_not() -> None:
    """With the variance of these scores, the number named gives a least gap of no more than the points asked for."""
    fit = fit_additive(np.array([[10.0, 13.0], [12.0, 11.0], [14.0, 14.5], [9.0, 12.0]]))
    from scipy.stats import studentized_range

    def gap(tasters: int) -> float:
        return float(studentized_range.isf(0.05, 4, 3 * (tasters - 1))) * math.sqrt(fit.variance / tasters)

    for points in (1.5, 2.0, 4.0):
        needed = fewest_tasters(fit, points)
        assert needed is not None
        assert gap(needed) <= points < gap(needed - 1)
    assert fewest_tasters(fit, 0.01) is None
    assert fewest_tasters(fit_additive(np.array([[1.0], [2.0]])), 2.0) is None


def test_the_band_is_students_and_holds_the_standard_error() -> None:
    """Three glasses and three tasters leave four degrees: 2.132 standard errors to each side."""
    summary = summarise([[1.0, 2.0, 4.0], [4.0, 5.5, 6.0], [7.0, 8.0, 9.5]])
    assert summary.band == pytest.approx(2.1318 * summary.standard_error, rel=1e-4)


def test_what_most_said_and_the_share_of_the_scale(cellar_book: Book) -> None:
    """Two of three said the same; nothing said is empty; 15 of 10 to 20 is half-way."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F1")
    one, other = (glass.code for glass in poured.glasses)
    for taster, words in (("Ada", "thin"), ("Ben", "round, ripe"), ("Cas", "round, ripe")):
        score(cellar_book, "F1", one, taster, 12.0, words)
        score(cellar_book, "F1", other, taster, 14.0)
    found = results(reveal(cellar_book, "F1"))
    assert found is not None
    said = {row.glass.code: row.most_said for row in found.rows}
    assert said == {one: "round, ripe", other: ""}
    assert [each.name for each in found.tasters] == ["Ada", "Ben", "Cas"]
    assert [share_of_scale(value, "10-20") for value in (5.0, 15.0, 20.0)] == [0.0, 0.5, 1.0]
