"""Lab results pasted as lines or as a table, matched to barrels."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import VesselIsRetired
from cooperage.programme.pasted.lab_slip import NothingRead, read_slip, write_slip
from cooperage.programme.pasted.table import LinesUnread
from cooperage.programme.together import AskedTogether
from cooperage.units import DEFAULT


def values(slip: Any) -> Any:
    return [(reading.vessel, reading.property, reading.value) for reading in slip.readings]


@pytest.mark.parametrize(
    "line",
    [
        "B-1 free 24 pH 3.41",
        "b1: free SO2 24 mg/L, ph = 3,41",
        "B-01\tFREE 24 ppm; PH 3.41",
        "B-1 free_so2_mg_l 24 ph 3.41",
    ],
)
def test_a_line_is_understood_however_it_is_written(cellar_book: Book, line: str) -> None:
    """Case, marks, commas and the tag's dash do not matter."""
    slip = read_slip(line, cellar_book.cellar())
    assert values(slip) == [("B-1", "free_so2_mg_l", 24.0), ("B-1", "ph", 3.41)]
    assert slip.unread == ()


@pytest.mark.parametrize(
    "text",
    [
        "Barrel,Free SO2 (mg/L),pH,VA\nB-1,24,3.41,\nB-2,,3.50,0.45\n",
        "sample;free;ph;va\nB-1;24;3,41;\nB-2;;3,50;0,45\n",
        "tag\tfso2\tpH\tvolatile acidity [g/L]\nB-1\t24\t3.41\t\n\nB-2\t\t3.50\t0.45\n",
    ],
)
def test_a_table_is_read_by_its_header(cellar_book: Book, text: str) -> None:
    """Commas, semicolons or tabs; empty cells give nothing."""
    slip = read_slip(text, cellar_book.cellar(), hand="Ada")
    assert values(slip) == [
        ("B-1", "free_so2_mg_l", 24.0), ("B-1", "ph", 3.41), ("B-2", "ph", 3.5), ("B-2", "va_g_l", 0.45)
    ]  # fmt: skip
    assert {(reading.hand, reading.method) for reading in slip.readings} == {("Ada", "lab")}
    assert slip.unread == ()


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("B-99 free 24", "no vessel 'B-99'"),
        ("B-1 free 24 brett 300", "'brett 300' was not understood"),
        ("B-1", "no reading was found"),
        ("B-1 free", "'free' was not understood; give the figure after free"),
        ("B-1 sugr 24", "'sugr 24' was not understood; did you mean sugar"),
    ],
)
def test_a_line_that_is_not_understood_comes_back_whole(cellar_book: Book, line: str, reason: str) -> None:
    """With its number and the reason, and without half its readings."""
    slip = read_slip(f"B-1 pH 3.4\n{line}\n", cellar_book.cellar())
    assert values(slip) == [("B-1", "ph", 3.4)]
    assert [(unread.line, unread.text) for unread in slip.unread] == [(2, line)]
    assert reason in slip.unread[0].reason


def test_a_column_that_is_not_known_is_not_dropped_quietly(cellar_book: Book) -> None:
    """A remark beside the figures: the row comes back."""
    slip = read_slip("barrel,ph,remark\nB-1,3.4,cloudy\nB-2,3.5,\n", cellar_book.cellar())
    assert values(slip) == [("B-2", "ph", 3.5)]
    assert "remark: cloudy" in slip.unread[0].reason


def test_the_readings_can_be_written(cellar_book: Book) -> None:
    """They are the book's own acts."""
    for reading in read_slip("B-1 free 24 pH 3.41", cellar_book.cellar()).readings:
        cellar_book.write(reading)
    assert cellar_book.cellar()["B-1"].value("free_so2_mg_l") == 24.0


@given(st.text(max_size=80))
def test_no_text_whatever_raises(small_cellar: Any, text: str) -> None:
    """Anything pasted gives readings or reasons."""
    slip = read_slip(text, small_cellar)
    lines = [line for line in text.splitlines() if line.strip()]
    assert len(slip.unread) <= len(lines)


def test_a_reading_stands_beside_what_the_book_has(cellar_book: Book) -> None:
    """The figure as it stands, and whether the value is one that a person would look at twice."""
    cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.4))
    usual, unusual, empty = read_slip("B-1 va 0.45\nT-1 va 1.4\nB-2 va 0.4", cellar_book.cellar()).matched
    assert (usual.line, usual.last.value, usual.last.how, usual.doubt) == (1, 0.4, "read", "")
    assert (unusual.line, unusual.last.value, unusual.doubt) == (2, None, "unusual")
    assert (empty.last.value, empty.doubt) == (None, "empty in the book")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("B-1 pH 34", "pH 34.00 is not possible; it lies between 2.00 and 5.00"),
        ("B-1 pH 3.4 ph 3.5", "pH of B-1 stands already in line 1; keep one"),
        ("B-1 pH 3.4\nb1 free 20, pH 3.4", "pH of B-1 stands already in line 1; keep one"),
        ("barrel;ph\n;3.4", "no vessel is named"),
        ("B-1 sugar 22 Bx", "not an amount of sugar"),
    ],
)
def test_what_cannot_be_or_is_said_twice_comes_back(cellar_book: Book, text: str, reason: str) -> None:
    """Such a line gives no reading, and the lines around it do."""
    slip = read_slip(f"{text}\n", cellar_book.cellar())
    assert [reason in unread.reason for unread in slip.unread] == [True]
    assert len(slip.readings) == text.count("\n") * text.count("B-1")


def test_all_of_a_slip_is_written_or_nothing(cellar_book: Book) -> None:
    """A line not understood, then an unusual value asked back, then a refusal in the last line: nothing each time."""

    def write(text: Any, **how: Any) -> Any:
        return write_slip(cellar_book, read_slip(text, cellar_book.cellar(), hand="Ada"), **how)

    with pytest.raises(LinesUnread, match=r"line 2 was not understood: .*'B-99'"):
        write("B-1 pH 3.4\nB-99 pH 3.4")
    with pytest.raises(AskedTogether) as asked:
        write("B-1 pH 3.4 va 1.4\nT-1 pH 4.2\nB-2 pH 3.4 ta 5")
    assert [str(question).partition(". ")[0] for question in asked.value.questions] == [
        "volatile acidity 1.40 g/L of B-1 is unusual",
        "pH 4.20 of T-1 is unusual",
        "B-2 is empty in the book",
    ]
    cellar_book.write(acts.Retire(vessel="B-4", reason="leaks"))
    with pytest.raises(VesselIsRetired):
        write("B-1 pH 3.4\nB-4 pH 3.4")
    with pytest.raises(NothingRead):
        write(" \n")
    assert cellar_book.cellar()["B-1"].value("ph") is None
    assert len(write("B-1 pH 3.4 va 1.4\nT-1 pH 4.2\nB-99 pH 3", sure=True, leave_unread=True)) == 3
    assert cellar_book.cellar()["T-1"].value("ph") == 4.2


def test_only_some_of_many_questions_are_told(cellar_book: Book) -> None:
    """Four in full, the others counted."""
    slip = read_slip("B-1 pH 4.5 va 1.4 ta 14 free 90 total 300 abv 2", cellar_book.cellar())
    with pytest.raises(AskedTogether) as asked:
        write_slip(cellar_book, slip)
    result = asked.value.question(DEFAULT)
    assert (result.count("unusual"), result.endswith("and 2 more like that")) == (4, True)
