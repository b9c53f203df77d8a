"""Lab results pasted as lines or as a table, matched to barrels."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.labslip import read_slip


def values(slip):
    return [(reading.vessel, reading.property, reading.value) for reading in slip.readings]


@pytest.mark.parametrize(
    "line",
    [
        "B-1 free 24 pH 3.41",
        "b1: free SO2 24 mg/l, ph = 3,41",
        "B-01\tFREE 24 ppm; PH 3.41",
        "B-1 free_so2_mg_l 24 ph 3.41",
    ],
)
def test_a_line_is_understood_however_it_is_written(cellar_book, line):
    """Case, marks, commas and the tag's dash do not matter."""
    slip = read_slip(line, cellar_book.cellar())
    assert values(slip) == [("B-1", "free_so2_mg_l", 24.0), ("B-1", "ph", 3.41)]
    assert slip.unread == ()


@pytest.mark.parametrize(
    "text",
    [
        "Barrel,Free SO2 (mg/l),pH,VA\nB-1,24,3.41,\nB-2,,3.50,0.45\n",
        "sample;free;ph;va\nB-1;24;3,41;\nB-2;;3,50;0,45\n",
        "tag\tfso2\tpH\tvolatile acidity [g/l]\nB-1\t24\t3.41\t\n\nB-2\t\t3.50\t0.45\n",
    ],
)
def test_a_table_is_read_by_its_header(cellar_book, text):
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
        ("B-1 free", "'free' was not understood"),
    ],
)
def test_a_line_that_is_not_understood_comes_back_whole(cellar_book, line, reason):
    """With its number and the reason, and without half its readings."""
    slip = read_slip(f"B-1 pH 3.4\n{line}\n", cellar_book.cellar())
    assert values(slip) == [("B-1", "ph", 3.4)]
    assert [(unread.line, unread.text) for unread in slip.unread] == [(2, line)]
    assert reason in slip.unread[0].reason


def test_a_column_that_is_not_known_is_not_dropped_quietly(cellar_book):
    """A remark beside the figures: the row comes back."""
    slip = read_slip("barrel,ph,remark\nB-1,3.4,cloudy\nB-2,3.5,\n", cellar_book.cellar())
    assert values(slip) == [("B-2", "ph", 3.5)]
    assert "remark: cloudy" in slip.unread[0].reason


def test_the_readings_can_be_written(cellar_book):
    """They are the book's own acts."""
    for reading in read_slip("B-1 free 24 pH 3.41", cellar_book.cellar()).readings:
        cellar_book.write(reading)
    assert cellar_book.cellar()["B-1"].value("free_so2_mg_l") == 24.0


@given(st.text(max_size=80))
def test_no_text_whatever_raises(small_cellar, text):
    """Anything pasted gives readings or reasons."""
    slip = read_slip(text, small_cellar)
    lines = [line for line in text.splitlines() if line.strip()]
    assert len(slip.unread) <= len(lines)


@pytest.fixture(scope="module")
def small_cellar(tmp_path_factory, empty_cellar):
    """A cellar to match against, read once."""
    import shutil

    from cooperage.book import Barrel, Book, Vessel

    path = tmp_path_factory.mktemp("slip") / "cellar.db"
    shutil.copy(empty_cellar, path)
    book = Book.open(str(path))
    with book.writing() as session:
        session.add_vessel(Vessel("", "B-1", "barrel", 225_000, barrel=Barrel()))
    yield book.cellar()
    book.close()
