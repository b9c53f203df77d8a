"""The values a chart is marked with: round, evenly spaced, and around all that is drawn."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.tui.barrel.charts import round_ticks

values = st.integers(-10_000, 1_000_000) | st.decimals(0, 300, places=3).map(float)


@given(one=values, other=values)
def test_ticks_are_few_even_and_around_all(one: Any, other: Any) -> None:
    low, high = sorted((one, other))
    ticks, labels = round_ticks(float(low), float(high))
    steps = {round((after - before) / (ticks[1] - ticks[0]), 3) for before, after in pairwise(ticks)}
    slack = 1e-6 * max(1.0, ticks[1] - ticks[0])
    assert 3 <= len(ticks) == len(labels) <= 6
    assert steps == {1.0}
    assert ticks[0] - slack <= low
    assert high <= ticks[-1] + slack


@pytest.mark.parametrize(
    ("low", "high", "labels"),
    [
        (195.85, 200.5, ["194", "196", "198", "200", "202"]),
        (11.8, 11.9, ["11.80", "11.85", "11.90"]),
        (0.29, 0.38, ["0.25", "0.30", "0.35", "0.40"]),
        (11.5, 11.5, ["10.5", "11.0", "11.5", "12.0", "12.5"]),
        (0.0, 0.0, ["-0.5", "0.0", "0.5"]),
    ],
)
def test_labels_have_the_decimals_of_their_step(low: float, high: float, labels: list[Any]) -> None:
    assert round_ticks(low, high)[1] == labels
