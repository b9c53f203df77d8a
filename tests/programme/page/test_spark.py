"""The small line of a past: letters stand for values, and what the readings' doubt explains looks quiet."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.page.spark import STEPS, small_line

figures = st.floats(-1e6, 1e6).map(lambda value: round(value, 4))
doubts = st.floats(1e-3, 1e4)


@pytest.mark.parametrize(
    ("values", "doubt", "line"),
    [
        ((0.3, 0.6, 0.9), 0.04, "▁▄▇"),
        ((3.32, 3.34, 3.32), 0.04, "▄▄▄"),
        ((20.0, 20.0), 3.0, "▄▄"),
        ((20.0, 20.0), 0.0, "▄▄"),
        ((20.0,), 3.0, ""),
        ((), 3.0, ""),
    ],
)
def test_a_line_of_a_past(values: Any, doubt: float, line: str) -> None:
    """A climb from foot to head, a quiet past about the middle, and no past at all."""
    assert small_line(values, doubt) == line


@given(middle=figures, doubt=doubts, offs=st.lists(st.floats(-0.5, 0.5), min_size=2, max_size=10))
def test_a_past_within_its_doubt_looks_quiet(middle: float, doubt: float, offs: list[float]) -> None:
    """Readings that differ by no more than one standard uncertainty stay within three neighbouring letters."""
    line = small_line([middle + off * doubt for off in offs], doubt)
    assert len(line) == len(offs)
    assert set(line) <= set(STEPS[2:5])


@given(values=st.lists(figures, min_size=2, max_size=10), doubt=doubts)
def test_letters_keep_the_order_of_values(values: list[float], doubt: float) -> None:
    """A higher value never stands lower."""
    line = small_line(values, doubt)
    in_order = [STEPS.index(letter) for _, letter in sorted(zip(values, line, strict=True))]
    assert in_order == sorted(in_order)


@given(values=st.lists(figures, min_size=2, max_size=10), doubt=doubts)
def test_a_line_reaches_both_ends_only_where_it_moved_by_four_doubts(values: list[float], doubt: float) -> None:
    line = small_line(values, doubt)
    moved = max(values) - min(values)
    if moved >= 4 * doubt:
        assert {"▁", "▇"} <= set(line)
    elif moved < 3 * doubt:
        assert not {"▁", "▇"} & set(line)
