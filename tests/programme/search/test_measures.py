"""What the racks are coloured by: its figure, its step, its limit, and what stands for a figure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.search.marks import marks_of
from cooperage.programme.search.measures import (
    COMING,
    EMPTY,
    FULL,
    MEASURES,
    NOTHING,
    STEPS,
    UNKNOWN,
    Measure,
    after,
    measure_all,
    measure_first,
    width_of,
)
from cooperage.programme.upkeep.defaults import DEFAULT_FLOOR, DEFAULT_VA_CEILING
from cooperage.units import Units

FIGURES = [of for of in MEASURES if of.word is None]
BY_NAME = {of.name: of for of in MEASURES}


@pytest.mark.parametrize("of", FIGURES, ids=lambda of: of.name)
@given(data=st.data())
def test_more_is_never_a_lower_step(of: Measure, data: st.DataObject) -> None:
    """Steps run from 1 to 7, and a cut is the foot of the step above it."""
    one, other = sorted(data.draw(st.tuples(st.floats(0, 1e4), st.floats(0, 1e4))))
    assert 1 <= of.step(one) <= of.step(other) <= STEPS
    assert [of.step(cut) for cut in of.cuts] == list(range(2, STEPS + 1))


@pytest.mark.parametrize("of", FIGURES, ids=lambda of: of.name)
@pytest.mark.parametrize("volume", ["L", "gal"])
def test_steps_have_seven_different_words_of_a_few_letters(of: Measure, volume: str) -> None:
    """They stand in one line at sixty columns."""
    words = of.steps(Units(volume=volume))
    assert len(set(words)) == STEPS
    assert sum(len(each) + 2 for each in words) <= 56


def test_the_usual_limits_lie_on_a_cut() -> None:
    """So that the colour changes where the limit is; the floor is the same in the demo, 0.40."""
    assert DEFAULT_FLOOR in BY_NAME["SO2 now"].cuts
    assert 0.4 in BY_NAME["SO2 now"].cuts
    assert DEFAULT_VA_CEILING in BY_NAME["volatile acidity"].cuts


def test_what_is_not_known_and_what_cannot_be_stand_for_a_figure(cellar_book: Book) -> None:
    """An empty barrel is empty in every measure; strength nobody read is unknown; a tank has no loss of its own."""
    cellar = cellar_book.cellar()
    shown = measure_all(cellar_book, cellar, marks_of(cellar_book, cellar))
    assert {of["B-4"].text for of in shown.values()} == {EMPTY}
    assert shown["score"]["B-1"].text == UNKNOWN
    assert shown["loss"]["T-1"].text == NOTHING
    assert shown["short of full"]["B-1"].text == FULL
    assert shown["age in wood"]["B-1"].is_figure
    assert all(each.step is None for of in shown.values() for each in of.values() if not each.is_figure)


def test_before_it_is_calculated_every_figure_is_coming(cellar_book: Book) -> None:
    """What needs no calculation is there: an empty barrel, a lot; widths are those of the figures."""
    cellar = cellar_book.cellar()
    first, then = measure_first(cellar), measure_all(cellar_book, cellar, marks_of(cellar_book, cellar))
    assert first["SO2 now"]["B-1"].text == COMING
    assert first["SO2 now"]["B-4"].text == EMPTY
    assert first["lot"] == then["lot"]
    assert {of.name: width_of(first[of.name].values()) for of in MEASURES} == {
        of.name: width_of(then[of.name].values()) for of in MEASURES
    }


def test_a_reading_moves_the_step(cellar_book: Book) -> None:
    """Volatile acidity of 0.85 g/L is over the limit of 0.80, in the last step."""
    cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.85, sure=True))
    cellar = cellar_book.cellar()
    shown = measure_all(cellar_book, cellar, marks_of(cellar_book, cellar))["volatile acidity"]["B-1"]
    assert (shown.text, shown.step) == ("0.85", STEPS)
    assert BY_NAME["volatile acidity"].usual_limit(cellar) == "limit 0.80"


def test_after_the_last_comes_the_first() -> None:
    """Round the end."""
    assert after(MEASURES[-1].name) is MEASURES[0]
    assert after(MEASURES[0].name) is MEASURES[1]
