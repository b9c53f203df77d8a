"""A pass over the book for costs or for a period is kept until the book changes; dropping it changes nothing."""

import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book, utc_now
from cooperage.book.declared import acts
from cooperage.programme.kept import FOLDER
from cooperage.programme.money import ledger as ledger_module
from cooperage.programme.money.costed import costs_of
from cooperage.programme.money.pricing import set_price
from cooperage.programme.money.rows import VALUE_BY, balance_of
from cooperage.programme.money.value import value_at
from cooperage.programme.periods import postings
from cooperage.programme.periods.closing import close_period
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.shown import shown_period


@pytest.fixture
def book(demo_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """The demo at one moment, with a folder in which passes are kept."""
    monkeypatch.setenv(FOLDER, str(tmp_path / "kept"))
    moment = utc_now()
    opened = Book.open(str(shutil.copy(demo_file, tmp_path / "cellar.db")), lambda: moment)
    yield opened
    opened.close()


def all_costs(book: Book, days_ago: int = 0) -> str:
    """Everything that is asked of costs at a moment."""
    value = value_at(book, book.now() - timedelta(days=days_ago) if days_ago else None)
    codes = [*value.names.values(), *{each.code for each in value.bottlings}]
    costs = [costs_of(value, code) for code in codes]
    rows = [rows(value) for rows in VALUE_BY.values()]
    return repr((balance_of(value), rows, costs, value.gaps, value.ledger.angels, value.ledger.lost_gaps))


def test_what_is_kept_of_costs_is_what_a_pass_over_the_book_gives(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Now and at a past day, to the last cent and in the same order; found again, no entry is taken."""
    fresh = [all_costs(book), all_costs(book, 200)]
    monkeypatch.setattr(ledger_module.MoneyLedger, "take", None)
    assert [all_costs(book), all_costs(book, 200)] == fresh
    monkeypatch.undo()
    monkeypatch.setenv(FOLDER, "")
    assert [all_costs(book), all_costs(book, 200)] == fresh


def test_what_is_written_or_priced_is_seen_at_once(book: Book) -> None:
    """A late entry, and a price from a day long ago on."""
    seen = [all_costs(book)]
    late = book.now() - timedelta(days=300)
    book.write(acts.Addition(vessel="T-1", substance="metabisulphite", amount=15.0, at=late, sure=True))
    seen.append(all_costs(book))
    set_price(book, "label", "0.31", since="700 days ago")
    seen.append(all_costs(book))
    assert len(set(seen)) == 3


def test_what_is_kept_of_a_period_is_what_a_pass_over_the_book_gives(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before and after one is filed; what is written is seen at once."""

    def twice() -> list[str]:
        found = [repr(shown_period(book, None))]
        with monkeypatch.context() as patched:
            patched.setattr(postings.Ledger, "run", None)
            assert repr(shown_period(book, None)) == found[0]
        with monkeypatch.context() as patched:
            patched.setenv(FOLDER, "")
            assert repr(shown_period(book, None)) == found[0]
        return found

    seen = twice()
    span = read_period("last month", book.now())
    assert span.end is not None
    book.write(acts.Sample(vessel="B-001", volume=300, at=span.end - timedelta(days=3), sure=True))
    seen += twice()
    close_period(book, span, RETURN_UNITS["L"], hand="Ada", sure=True)
    seen += twice()
    book.write(acts.Sample(vessel="B-001", volume=400, at=span.end - timedelta(days=2), sure=True))
    seen += twice()
    assert len(set(seen)) == 4
