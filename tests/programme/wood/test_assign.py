"""Lots to barrels: published cases, brute force on small ones, and side rules."""

import json
from itertools import permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.programme.wood.assign import NotCosts, NoWay, assign

CASES = json.loads((Path(__file__).parents[2] / "reference" / "assignment_cases.json").read_text())["cases"]


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_a_published_case(case: Any) -> None:
    """Its printed least cost, by one of its best assignments; the source stands beside it."""
    found = assign(case["cost"])
    assert found.total == pytest.approx(case["objective_published"])
    assert list(found.columns) in case["optimal_assignments"]


INF = float("inf")
costs = st.integers(0, 20).map(float) | st.just(INF)


@st.composite
def tables(draw: st.DrawFn, rows: int = 4, columns: int = 5) -> list[list[float]]:
    count, wide = draw(st.integers(1, rows)), draw(st.integers(1, columns))
    return [[draw(costs) for _ in range(wide)] for _ in range(count)]


def cheapest(table: list[list[float]], allowed: Any = lambda _columns: True) -> float:
    """The least sum over every way there is."""
    rows, wide = len(table), len(table[0])
    ways = (columns for columns in permutations(range(wide), rows) if allowed(columns))
    return min((sum(table[row][column] for row, column in enumerate(each)) for each in ways), default=INF)


@given(tables())
def test_it_is_the_cheapest_of_all_ways(table: list[list[float]]) -> None:
    """And a table without any is refused."""
    least = cheapest(table)
    if least == INF:
        with pytest.raises(NoWay):
            assign(table)
        return
    found = assign(table)
    assert found.total == pytest.approx(least)
    assert len(set(found.columns)) == len(table)


@given(tables())
def test_what_a_pair_gives_up_and_what_it_is_worth(table: list[list[float]]) -> None:
    """Against the row's own best; and by how much the sum rises where the pair is not allowed."""
    if cheapest(table) == INF:
        return
    found = assign(table)
    for row, column in enumerate(found.columns):
        assert found.gives_up[row] == pytest.approx(table[row][column] - min(table[row]))
        without = [list(each) for each in table]
        without[row][column] = INF
        worth = found.if_not[row]
        assert worth is not None
        assert worth == pytest.approx(cheapest(without) - found.total)


@settings(max_examples=25)
@given(tables(3, 4), st.lists(st.sampled_from(["A", "B"]), min_size=3, max_size=3), st.data())
def test_all_barrels_of_a_lot_in_one_room(table: list[list[float]], lots: list[str], data: Any) -> None:
    """The side rule, against every way there is; a column of no room belongs to each."""
    rooms = [data.draw(st.sampled_from(["Low", "Loft", None])) for _ in table[0]]
    lots = lots[: len(table)]

    def together(columns: tuple[int, ...]) -> bool:
        placed = [(lots[row], rooms[column]) for row, column in enumerate(columns) if rooms[column] is not None]
        return all(len({room for lot, room in placed if lot == each}) <= 1 for each in lots)

    least = cheapest(table, together)
    if least == INF:
        with pytest.raises(NoWay):
            assign(table, lots, rooms)
        return
    found = assign(table, lots, rooms)
    assert found.total == pytest.approx(least)
    assert together(found.columns)
    assert found.if_not == (None,) * len(table)


@pytest.mark.parametrize("bad", [[1.0, 2.0], [[1.0, float("nan")]], [[-INF, 1.0]]])
def test_what_is_no_table_is_refused(bad: Any) -> None:
    with pytest.raises(NotCosts):
        assign(bad)


def test_more_parts_than_barrels_are_refused_in_one_line() -> None:
    with pytest.raises(NoWay, match="3 barrels are wanted and 2 empty ones are there"):
        assign(np.ones((3, 2)))
    assert assign(np.empty((0, 4))).columns == ()
