"""Filed periods leave the cellar and come back to the letter, or not at all."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import CooperageError
from cooperage.exchange import copy_book, export_folder, import_folder
from cooperage.programme.periods.closing import close_period
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.stored import filed_periods
from cooperage.units import read_when


def filed(book: Any) -> Any:
    """January 2025 closed twice: once, and again as a correction."""
    book.now.pass_days(60)
    book.write(acts.Sample(vessel="T-1", volume=700, at=read_when("2025-01-20", book.now())))
    span = read_period("2025-01", book.now())
    close_period(book, span, RETURN_UNITS["gal"], hand="Ada", note="sent on paper")
    book.write(acts.Sample(vessel="T-1", volume=90, at=read_when("2025-01-21", book.now())))
    close_period(book, span, RETURN_UNITS["gal"], hand="Ada", correct=True)
    return book


def test_they_come_back_to_the_letter(cellar_book: Any, fresh: Callable[[], Any], tmp_path: Path) -> None:
    book = filed(cellar_book)
    export_folder(book, tmp_path / "out")
    other = fresh()
    other.now = book.now
    done = import_folder(other, tmp_path / "out")
    assert (done.counts["periods"], filed_periods(other)) == (2, filed_periods(book))
    assert import_folder(other, tmp_path / "out").counts["periods"] == 0
    assert not [line for finding in other.check() for line in finding.broken]
    copy_book(book, str(tmp_path / "copy.db"))
    copied = Book.open(str(tmp_path / "copy.db"), book.now)
    assert filed_periods(copied) == filed_periods(book)
    copied.close()


WRONG = [
    ("periods.csv", "sent on paper", "paid", "is not as it was filed"),
    ("periods.csv", '""samples""', '""lees""', "is not as it was filed"),
    ("periods.csv", "[[1,", "[[one,", "leave this column as it was"),
    ("filed_entries.csv", "2025-01,", "2025-02,", "is not as it was filed"),
]


@pytest.mark.parametrize(("name", "old", "new", "why"), WRONG)
@pytest.mark.parametrize("book", ["sqlite"], indirect=True)
def test_what_was_changed_in_the_files_does_not_come_in(
    cellar_book: Any, fresh: Callable[[], Any], tmp_path: Path, name: str, old: str, new: str, why: str
) -> None:
    book = filed(cellar_book)
    export_folder(book, tmp_path / "out")
    path = tmp_path / "out" / name
    with path.open(newline="") as file:
        text = file.read()
    assert old in text or old.replace(",", ", ") in text
    with path.open("w", newline="") as file:
        file.write(text.replace(old, new).replace(old.replace(",", ", "), new))
    other = fresh()
    other.now = book.now
    with pytest.raises(CooperageError, match=why):
        import_folder(other, tmp_path / "out")
    assert filed_periods(other) == []
