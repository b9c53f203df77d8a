"""Counted volumes pasted as lines or as a table."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book, Vessel
from cooperage.programme.pasted.table import LinesUnread
from cooperage.programme.pasted.tally import read_tally
from cooperage.units import Units


@pytest.mark.parametrize(
    "text",
    [
        "B-1 224.1 L\nK-1 10 gal",
        "b1: 224,1\nK01,37854 ml\n",
        '"B-1","224.1"\n"K-1","37.854"',
        "tag,volume\nB-1,224.1\nK-1,37.854\n",
        "vessel;remark;litres\nB-1;wet, cold;224,1\nK-1;;37,854\n",
        "barrel\tcounted (ml)\nB-1\t224100\n\nK-1\t10 gal\n",
    ],
)
def test_a_count_is_understood_however_it_is_written(cellar_book: Book, text: str) -> None:
    """Case, marks, commas, units in the cell or in the heading, other columns."""
    tally = read_tally(text, cellar_book.cellar())
    assert tally.unread == ()
    assert tally.counted == {"B-1": 224_100, "K-1": pytest.approx(37_854)}


def test_a_bare_number_is_in_the_persons_unit(cellar_book: Book) -> None:
    """59.2 is gallons to one who counts in gallons."""
    assert read_tally("B-1 59.2", cellar_book.cellar(), Units(volume="gal")).counted == {"B-1": 224_096}


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("B-99 3", "no vessel 'B-99'"),
        ("B-1", "no volume was found"),
        ("B-1 lots", "'lots' is not a volume"),
        ("B-1 -3", "'-3' is under zero"),
        ("tag,amount\nB-1,3", "head the column volume"),
        ("tag,volume\n,3", "no vessel is named"),
    ],
)
def test_what_is_not_understood_comes_back(cellar_book: Book, text: str, reason: str) -> None:
    """With its line and the reason; nothing is counted."""
    tally = read_tally(text, cellar_book.cellar())
    assert tally.counted == {}
    assert [(each.line, reason in each.reason) for each in tally.unread] == [(text.count("\n") + 1, True)]


def test_a_vessel_is_counted_once(cellar_book: Book) -> None:
    """The second count comes back; unless it may be left, none of the tally is used."""
    tally = read_tally("B-1 220\nb-1 221", cellar_book.cellar())
    assert (tally.counted, tally.unread[0].reason) == ({"B-1": 220_000}, "B-1 was counted already in line 1; keep one")
    with pytest.raises(LinesUnread, match="line 2 was not understood: B-1 was counted already"):
        tally.whole()
    assert tally.whole(leave_unread=True) == {"B-1": 220_000}


def test_a_name_that_fits_two_vessels_is_not_guessed(cellar_book: Book) -> None:
    """With a B1 beside B-1, each is found by its own tag, and B-01 by neither."""
    with cellar_book.writing() as session:
        session.add_vessel(Vessel("", "B1", "tank", 500_000))
    tally = read_tally("B1 3\nB-1 4\nB-01 5", cellar_book.cellar())
    assert tally.counted == {"B1": 3_000, "B-1": 4_000}
    assert "no vessel 'B-01'" in tally.unread[0].reason


@given(st.text(max_size=60))
def test_no_text_whatever_raises(small_cellar: Any, text: str) -> None:
    """Anything pasted gives volumes or reasons."""
    tally = read_tally(text, small_cellar)
    assert len(tally.unread) + len(tally.counted) <= len(text.splitlines())
