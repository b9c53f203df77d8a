"""Scales: named ones by their own text, any pair of numbers, and scores that are on them or not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared.allowed import LEAST_FIGURE
from cooperage.tasting.flights.scales import (
    SCALES,
    NotAScale,
    OffTheScale,
    bounds,
    check_on_scale,
    scale_named,
    share_of_scale,
)


@pytest.mark.parametrize(
    ("typed", "kept", "ends"),
    [
        ("intensity", "0-10", (0, 10)),
        ("0 – 10", "0-10", (0, 10)),
        ("Hedonic", "1-9 hedonic", (1, 9)),
        ("20 points", "0-20", (0, 20)),
        ("line", "0-100 mm", (0, 100)),
        ("0-100", "0-100", (0, 100)),
        ("2.5-7.5", "2.5-7.5", (2.5, 7.5)),
    ],
)
def test_a_scale_is_kept_by_its_own_text(typed: str, kept: str, ends: tuple[float, float]) -> None:
    """Other spellings are the same scale; a hundred points are not a line of a hundred millimetres."""
    assert scale_named(typed) == kept
    assert bounds(kept) == ends


@pytest.mark.parametrize("typed", ["", "tall", "20-0", "5-5", "0-inf", "nan-3", "0-20 mm", "-"])
def test_what_is_no_scale_is_refused(typed: str) -> None:
    """One line that says what a scale is."""
    with pytest.raises(NotAScale, match="give the lowest and the highest score"):
        scale_named(typed)


def test_nine_points_of_liking_are_whole() -> None:
    """There is nothing between two of its points."""
    check_on_scale(7, "1-9 hedonic")
    with pytest.raises(OffTheScale, match=r"6.5 is not on the scale 1-9 hedonic; give a whole score from 1 to 9$"):
        check_on_scale(6.5, "1-9 hedonic", "liking")


@given(st.sampled_from([*SCALES, "0-5", "10-100"]), st.floats())
def test_a_score_is_on_its_scale_or_refused(scale: str, value: float) -> None:
    """Between the ends, and nothing that is no number."""
    low, high = bounds(scale)
    try:
        check_on_scale(value, scale)
    except OffTheScale:
        assert not low <= value <= high or value != round(value) or abs(value) < LEAST_FIGURE
    else:
        assert low <= value <= high
        assert 0 <= share_of_scale(value, scale) <= 1
