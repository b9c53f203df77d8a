"""A report in a width: what finds no room beside its row stands below it, whole."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.exchange.reports.shape import Report, ReportColumn
from cooperage.exchange.reports.texts import as_text
from cooperage.units import DEFAULT, Quantity

COLUMNS = (
    ReportColumn("do", "do"),
    ReportColumn("volume", "of it", Quantity.VOLUME),
    ReportColumn("hands", "hands"),
    ReportColumn("call", "call"),
)
WORDS = st.text("abcd ", max_size=30).map(str.strip)


@given(st.lists(st.tuples(WORDS, st.integers(0, 10**6), WORDS, WORDS), max_size=4), st.integers(40, 120))
def test_no_line_is_wider_and_nothing_is_left_out(rows: list[tuple[str, int, str, str]], width: int) -> None:
    text = as_text(Report("Recall from lot A", COLUMNS, list(rows), "Prepared by Ada"), DEFAULT, width=width)
    assert all(len(line) <= width for line in text.splitlines())
    seen = " ".join(text.split())
    for row in rows:
        assert all(" ".join(cell.split()) in seen for cell in row if isinstance(cell, str))


def test_a_part_below_a_row_is_not_broken_where_it_fits() -> None:
    rows = [("call back", 10_000, "Iko, Jory, Maren", "Quay Inn")]
    assert as_text(Report("List", COLUMNS, list(rows)), DEFAULT, width=30).splitlines()[2:] == [
        "do          of it",
        "call back  10.0 L",
        "    hands: Iko, Jory, Maren;",
        "    call: Quay Inn",
    ]
