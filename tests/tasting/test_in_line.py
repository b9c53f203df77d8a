"""Scores typed in a row, and names that are begun."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.tasting.in_line import scores_in_line, whole_name


@pytest.mark.parametrize(
    ("text", "scale", "glasses", "scores"),
    [
        ("14", "0-20", 6, ["14"]),
        ("14 12.5 9 - 16", "0-20", 6, ["14", "12.5", "9", "-", "16"]),
        ("14;12", "0-20", 6, ["14", "12"]),
        ("141609", "0-20", 6, ["14", "16", "09"]),
        ("14160", "0-20", 6, ["14160"]),  # one digit short: a slip, not scores
        ("1499", "0-20", 6, ["1499"]),  # 99 is off the scale
        ("637", "1-9", 6, ["6", "3", "7"]),
        ("14 12 16", "0-20", 2, ["14 12 16"]),  # more scores than glasses
        ("", "0-20", 6, [""]),
    ],
)
def test_scores_are_parted(text: str, scale: str, glasses: int, scores: list[str]) -> None:
    """By what stands between them, or by the digits that the top of the scale has."""
    assert scores_in_line(text, scale, glasses) == scores


@given(st.lists(st.integers(0, 20), min_size=2, max_size=12), st.sampled_from(["", " ", "; "]))
def test_a_row_of_whole_points_comes_back_as_it_was_meant(points: list[int], between: str) -> None:
    """Two digits each where nothing stands between them."""
    row = between.join(f"{point:02}" for point in points)
    assert [int(score) for score in scores_in_line(row, "0-20", len(points))] == points


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("M", "Maren"),
        ("mar", "Maren"),
        ("J", "J"),
        ("Jor", "Jory"),
        ("Iko", "Iko"),
        ("iko", "Iko"),
        ("I ", "I"),
        ("New", "New"),
    ],
)
def test_a_name_is_completed_only_where_one_begins_so(typed: str, name: str) -> None:
    """Of two that begin alike none is guessed; a space after it keeps a new name that another begins with."""
    assert whole_name(typed, ["Maren", "Jory", "Jonte", "Iko"]) == name
