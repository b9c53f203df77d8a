"""Charts in letters: what stands where, and that the axes are even."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.page.charted import At, Chart, Point
from cooperage.programme.page.letter_grid import GUTTER
from cooperage.tui.barrel.plot import chart_texts
from cooperage.tui.shared.letter_sheet import LetterSheet, bar_letters


@given(value=st.floats(0, 100), rows=st.integers(1, 20))
def test_a_bar_is_as_high_as_its_value(value: float, rows: int) -> None:
    """To an eighth of a row; without a gap, from the foot up; a little is an eighth at least."""
    letters = bar_letters(value, 0.0, 100.0, rows)
    height = sum(" ▁▂▃▄▅▆▇█".index(letter) for _, letter in letters)
    assert height == pytest.approx(8 * rows * value / 100, abs=1)
    assert (height > 0) == (value > 0)
    assert sorted(row for row, _ in letters) == list(range(rows - len(letters), rows))


def test_a_value_beyond_the_sheet_stands_at_its_edge() -> None:
    sheet = LetterSheet(10, 9, [(0.0, "0"), (1.0, "1"), (2.0, "2")])
    assert [sheet.row(value) for value in (2.0, 1.0, 0.0, 9.0, -9.0)] == [0, 4, 8, 0, 8]


async def test_readings_stand_over_the_line_and_that_over_its_band(opened: Any) -> None:
    """A level line at 1 with a band from 0 to 2, a limit at 2 with its word, two readings, today, and what is ahead."""
    line = [At(1.0, 0.0, 2.0, column > 12) for column in range(20)]
    ticks = [(0.0, "0"), (1.0, "1"), (2.0, "2")]
    points = [Point(0, 1.0, False), Point(5, 2.0, True)]
    chart = Chart(
        "ph", "pH", "", False, "", points, line, 2.0, 12, ticks, [(0, "Mar 25"), (4, "May 25"), (9, "Jun 25")]
    )
    async with opened(page="barrel") as pilot:
        drawn = [text.plain for text in chart_texts(chart, pilot.app, 20, 5)]
    rows = [text[GUTTER:] for text in drawn]
    assert rows[0] == "╌╌╌╌╌●╌╌╌╌╌╌╌ limit "
    assert rows[1] == "░" * 12 + "╎" + "░" * 7
    assert rows[2] == "●" + "─" * 12 + "╌" * 7
    assert [text[GUTTER - 1] for text in drawn[:6]] == ["┤", "│", "┤", "│", "┤", "└"]
    assert rows[6] == "Mar 25   Jun 25"
