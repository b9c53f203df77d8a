"""Columns in a width: no row is wider, figures stand in line, and what gives way is marked."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.tui.columns import ListedColumns

CELLS = st.text("abcdefg ", max_size=25).map(str.strip)
ROWS = st.lists(st.tuples(CELLS, CELLS, st.integers(0, 10**6).map(str), CELLS), min_size=1, max_size=5)
TABLE = ListedColumns(("run", "where", "bottles", "who"), ((3, 0), (1, 6)), frozenset((2,)))


@given(ROWS, st.integers(10, 100))
def test_no_row_is_wider_and_figures_stand_in_line(rows: list[tuple[str, ...]], width: int) -> None:
    """The figures end in the column where their title ends, wherever they are not cut."""
    fitted = TABLE.fitted(rows, width)
    lines = [fitted.line(row) for row in rows]
    assert all(len(line) <= width for line in (fitted.head(), *lines))
    ends = fitted.head().find("bottles") + len("bottles")
    widest = max(len("bottles"), *(len(row[2]) for row in rows))
    if ends >= len("bottles") and widest == len("bottles"):
        for row, line in zip(rows, lines, strict=True):
            if "…" not in line[ends - 1 :]:
                assert line[:ends].endswith(row[2])


@given(ROWS)
def test_where_there_is_room_nothing_gives_way(rows: list[tuple[str, ...]]) -> None:
    fitted = TABLE.fitted(rows, 200)
    assert all(cell in fitted.line(row) for row in rows for cell in row)


def test_what_gives_way_is_left_out_first_and_then_cut_with_a_mark() -> None:
    rows = [("SALT-25", "missing at a count", "1", "Harbour inn"), ("SALT-25", "Cage", "612", "")]
    fitted = TABLE.fitted(rows, 34)
    assert fitted.head() == "run      where             bottles"
    assert [fitted.line(row) for row in rows] == [
        "SALT-25  missing at a co…        1",
        "SALT-25  Cage                  612",
    ]
