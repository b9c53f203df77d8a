"""The cellar's own values of rules go out and come back as they were, and none is changed in the database."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book
from cooperage.book.store.engine import writing
from cooperage.errors import CooperageError
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.programme.rules.kept import OwnRule, own_rules, set_rule, use_profile, withdraw_rule


def written(book: Book) -> list[OwnRule]:
    with book.reading() as connection:
        return own_rules(connection)


def enter(book: Book) -> None:
    use_profile(book, "EU", since=date(2026, 1, 1), hand="Ada")
    set_rule(book, "EU", "total-so2.mead", "200", since=date(2026, 1, 1), source="letter; 3 May", note="=1+1")
    withdraw_rule(book, "EU", "total-so2.mead", since=date(2026, 5, 1), why="a new letter")
    set_rule(book, "US", "fill-each.500ml", "2.25", since=date(2026, 1, 1), source="letter")


def test_they_come_back_as_they_were(fresh_sqlite: Callable[[], Book], tmp_path: Path) -> None:
    """As a folder, as a workbook and as a copy; a second time nothing is new."""
    book = fresh_sqlite()
    enter(book)
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(book, path)
        other = fresh_sqlite()
        assert import_folder(other, path).counts["rules"] == 4
        assert written(other) == written(book)
        assert import_folder(other, path).counts["rules"] == 0
    copy_book(book, str(tmp_path / "copy.db"))
    other = Book.open(str(tmp_path / "copy.db"))
    assert written(other) == written(book)
    other.close()


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("XX,total-so2.mead,200,2026-01-01,read", "there are no rules 'XX'"),
        ("EU,total-so4,200,2026-01-01,read", "have no 'total-so4'"),
        ("EU,total-so2.mead,plenty,2026-01-01,read", "is no limit"),
        ("EU,total-so2.mead,200,someday,read", "is no day"),
        ("EU,total-so2.mead,200,2026-01-01,", "give the source of the value"),
    ],
)
def test_a_bad_row_is_refused_with_its_place(
    row: str, words: str, fresh_sqlite: Callable[[], Book], tmp_path: Path
) -> None:
    """File and line, and what is wrong; nothing is written."""
    (tmp_path / "rules.csv").write_text(f"profile,name,value,since,source\n{row}\n")
    book = fresh_sqlite()
    with pytest.raises(CooperageError, match=r"rules\.csv") as refused:
        import_folder(book, tmp_path / "rules.csv")
    assert words in str(refused.value)
    assert written(book) == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE own_rule SET value = '9'",
        "DELETE FROM own_rule",
        "INSERT OR REPLACE INTO own_rule SELECT * FROM own_rule",
    ],
)
def test_no_row_is_changed(cellar_book: Book, statement: str) -> None:
    """On both databases."""
    enter(cellar_book)
    before = written(cellar_book)
    if cellar_book._engine.dialect.name != "sqlite":
        statement = "TRUNCATE own_rule" if "REPLACE" in statement else statement
    with pytest.raises(DBAPIError, match="this stands as it was written"), writing(cellar_book._engine) as connection:
        connection.execute(text(statement))
    assert written(cellar_book) == before
    assert all(not finding.broken for finding in cellar_book.check())
