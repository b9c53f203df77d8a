"""Which vessel gives what: nothing is lost or made, whatever was filled."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.bottling.drawn import draws
from cooperage.programme.bottling.errors import NotInWholeBottles, RunTakesMore
from cooperage.units import DEFAULT

VOLUMES = st.integers(0, 300_000)
VESSELS = st.lists(VOLUMES, min_size=1, max_size=4).map(lambda found: [(f"V-{n}", ml) for n, ml in enumerate(found)])
FILLED = st.dictionaries(st.sampled_from([187, 375, 500, 750, 1500]), st.integers(0, 400), max_size=3)


@given(VESSELS, FILLED, st.integers(0, 9_000), st.integers(0, 3_000))
def test_filled_lost_sampled_and_left_are_what_was_there(
    there: list[tuple[str, int]], filled: dict[int, int], lost: int, sampled: int
) -> None:
    """To the millilitre, of each vessel and of all; or it is refused, for a reason that is so."""
    held, asked = sum(ml for _, ml in there), sum(ml * n for ml, n in filled.items()) + lost + sampled
    try:
        found = draws(there, filled, lost, sampled)
    except RunTakesMore:
        assert asked > held
        return
    except NotInWholeBottles:
        assert len(there) > 1
        assert held - asked < len(there) * max(filled)
        return
    assert asked <= held
    assert [(draw.tag, draw.there_ml) for draw in found] == there
    assert all(min(draw.left_ml, draw.lost_ml, draw.sample_ml, *draw.bottles.values()) >= 0 for draw in found)
    for size, count in filled.items():
        assert sum(draw.bottles.get(size, 0) for draw in found) == count
    assert sum(draw.lost_ml for draw in found) == lost
    assert sum(draw.sample_ml for draw in found) == sampled
    assert sum(draw.left_ml for draw in found) == held - asked


def test_what_is_no_bottle_any_more_is_what_was_lost() -> None:
    """Two barrels by hand: 1.0 L is 1 bottle and 250 ml, of which 200 ml were lost in the line and 50 ml sampled."""
    first, second = draws([("A", 1_000), ("B", 2_000)], {750: 2}, 200, 100)
    assert (first.bottles, first.lost_ml, first.sample_ml, first.left_ml) == ({750: 1}, 200, 50, 0)
    assert (second.bottles, second.lost_ml, second.sample_ml, second.left_ml) == ({750: 1}, 0, 50, 1_200)


def test_the_figure_that_does_not_fit_is_named() -> None:
    """In the person's units, to the millilitre where it is one."""
    with pytest.raises(RunTakesMore, match=r"1\.5 L, and A, B hold 1\.4 L by the book: 0\.1 L too much"):
        draws([("A", 700), ("B", 700)], {750: 2}, 0, 0)
    with pytest.raises(NotInWholeBottles) as refused:
        draws([("A", 700), ("B", 700)], {750: 1}, 0, 0)
    assert "the last 1 of 0.750 L do not fit: 1.400 L are left in A, B together" in refused.value.words(DEFAULT)
