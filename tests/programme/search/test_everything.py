"""One search over all that has a name or was written down."""

from datetime import timedelta
from pathlib import Path

import pytest

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.programme.search.everything import NothingToFind, code_named, everything_with


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Two barrels of one lot, one bottled from; looks and notes, one of them struck."""
    made = Book.create(str(tmp_path / "cellar.db"))
    with made.writing() as w:
        for tag in ("B-001", "B-002"):
            w.add_vessel(Vessel(id="", tag=tag, kind="tank", capacity_ml=225_000))
        w.add_lot(Lot(id="", code="HE-26", name="heather 2026"))
        for tag in ("B-001", "B-002"):
            w.write(acts.Receive(lot="HE-26", vessel=tag, volume=200_000, at=w.now - timedelta(days=3)))
        w.write(acts.Look(vessel="B-002", smell="vinegar", note="50% sure_of it"))
        wrong = w.write(acts.Look(vessel="B-001", note="vinegar flies"))
        w.write(acts.Strike(entry=wrong.id))
        w.write(acts.Bottle(vessel="B-001", code="SALT-26", bottles=10, bottle=750))
    return made


def kinds(book: Book, text: str) -> list[tuple[str, str]]:
    return [(each.kind, each.vessel or each.name) for each in everything_with(book, book.cellar(), text)]


def test_tags_lots_bottlings_and_words_are_found_in_capitals_or_not(book: Book) -> None:
    """What is exactly so named comes first."""
    assert kinds(book, "b-001")[0] == ("vessel", "B-001")
    assert ("lot", "HE-26") in kinds(book, "heather")
    assert ("bottling", "SALT-26") in kinds(book, "salt")
    assert ("word", "horse") in kinds(book, "barnyard")


def test_an_entry_is_found_by_its_note_and_by_its_look_unless_it_is_struck(book: Book) -> None:
    """Vinegar was smelled at one barrel; what was struck at the other is no find."""
    assert [name for kind, name in kinds(book, "vinegar") if kind == "entry"] == ["B-002"]
    assert [name for kind, name in kinds(book, "sure_of") if kind == "entry"] == ["B-002"]


def test_signs_of_patterns_are_letters_like_others(book: Book) -> None:
    """Per cent and underscore stand for themselves."""
    assert [name for kind, name in kinds(book, "50%") if kind == "entry"] == ["B-002"]
    assert kinds(book, "e%n") == []


def test_nothing_is_no_search(book: Book) -> None:
    """It is told what can be looked for."""
    with pytest.raises(NothingToFind, match="type what to look for"):
        everything_with(book, book.cellar(), "  ")


def test_a_scanned_code_is_a_lot_or_a_bottling(book: Book) -> None:
    """The whole code only: a part of one is no scan of it."""
    with book.reading() as connection:
        cellar = book.cellar()
        found = [code_named(connection, cellar, typed) for typed in ("he-26", "SALT-26", "SALT", "B-001")]
    assert [each and (each.kind, each.name) for each in found] == [
        ("lot", "HE-26"),
        ("bottling", "SALT-26"),
        None,
        None,
    ]
