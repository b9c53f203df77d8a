"""The scale that glasses are drawn on: values stand in their cell, bands stay inside, figures at their place."""

import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared.verdicts import Judgement
from cooperage.tasting.flights import Flight, Glass, Score
from cooperage.tui.tasting.scale import DrawnScale, scale_around
from cooperage.tui.tasting.words import close_question

SCORES = st.floats(0.0, 20.0)


def test_a_scale_by_hand() -> None:
    """From 0 to 10 in 21 cells each half point has one; a band of 2 reaches four cells to each side."""
    scale = DrawnScale(0.0, 10.0, 21)
    assert [scale.place(value) for value in (0.0, 5.0, 10.0)] == [0, 10, 20]
    assert scale.interval(5.0, 2.0) == (6, 10, 14)
    assert scale.interval(9.0, 4.0) == (10, 18, 20)
    assert scale.length(3.0) == 7
    assert [scale.figures()[scale.place(nth)] for nth in (0, 5)] == ["0", "5"]


@given(st.lists(st.tuples(SCORES, st.floats(0.0, 15.0)), min_size=1, max_size=12), st.integers(12, 60))
def test_bands_stay_on_the_scale_and_values_within_a_cell_of_their_place(
    glasses: list[tuple[float, float]], cells: int
) -> None:
    """The part that is drawn lies on the scale; every band is inside it and holds its value."""
    values, bands = [value for value, _ in glasses], [band for _, band in glasses]
    scale = scale_around(values, bands, (0.0, 20.0), cells)
    assert 0.0 <= scale.low < scale.high <= 20.0
    step = (scale.high - scale.low) / (cells - 1)
    for value, band in glasses:
        first, at, last = scale.interval(value, band)
        assert 0 <= first <= at <= last < cells
        assert abs(scale.low + at * step - value) <= step
    assert len(scale.figures()) == cells


@pytest.mark.parametrize("ends", [(0.0, 20.0), (0.0, 100.0), (1.0, 5.0), (50.0, 100.0)])
@pytest.mark.parametrize("cells", [12, 30, 48])
def test_figures_stand_at_their_own_cell(ends: tuple[float, float], cells: int) -> None:
    """Each figure begins where its value stands, or ends at the end of the scale; two at least tell what a cell is."""
    scale = scale_around([ends[0], ends[1]], [0.0, 0.0], ends, cells)
    text = scale.figures()
    figures = text.split()
    assert len(figures) >= 2
    for figure in figures:
        begins = f" {text} ".index(f" {figure} ")
        assert begins == min(scale.place(float(figure)), cells - len(figure))


def test_without_a_value_the_whole_scale_is_drawn() -> None:
    """No glass links the tasters: all means are unknown."""
    scale = scale_around([math.nan], [math.nan], (0.0, 20.0), 30)
    assert (scale.low, scale.high) == (0.0, 20.0)
    assert DrawnScale(0.0, 20.0, 30).interval(10.0, math.nan) == (14, 14, 14)


def test_the_question_before_a_flight_is_revealed_counts_the_verdicts() -> None:
    """How many of which, and that they are proposed next; of which glass they are stays closed."""
    at = datetime(2026, 11, 26, tzinfo=UTC)
    glasses = [Glass(code, code, nth, f"B-{nth:03}") for nth, code in enumerate(("432", "215"), 1)]
    flight = Flight("f", "F-5", "winter", "0-20", at, None, glasses)
    assert "erdict" not in close_question(flight)
    assert "No taster has scored it." in close_question(flight)
    quarantine, again = Judgement("quarantine"), Judgement("look again", 8)
    for taster in ("Ada", "Iko"):
        flight.scores["432", taster] = Score(4.0, verdict=quarantine)
    flight.scores["215", "Ada"] = Score(14.0, verdict=again)
    asked = close_question(flight)
    assert "No taster" not in asked
    assert "Verdicts given: quarantine 2, look again 1." in asked
    assert "written when you confirm it" in asked
    assert not any(word in asked for word in ("432", "215", "B-001"))
