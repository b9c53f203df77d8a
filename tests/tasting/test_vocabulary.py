"""The cellar's own words: a starter set, what is added, renamed and retired, and what older scores make of it."""

from typing import Any

import pytest
from sqlalchemy import text

from cooperage.book import Book
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.engine import writing
from cooperage.errors import BadInput
from cooperage.tasting.flights import flight, results, reveal, score, start_flight
from cooperage.tasting.flights.scales import NotAScale
from cooperage.tasting.flights.vocabulary import (
    NoSuchTerm,
    Term,
    add_term,
    rename_term,
    retire_term,
    suggested,
    vocabulary,
    words_of,
)


def named(book: Book, name: str) -> Term:
    return next(term for term in vocabulary(book, with_retired=True) if term.name == name)


def test_a_starter_set_is_there_without_a_row_in_the_book(cellar_book: Book) -> None:
    """Attributes as a glass is tasted, words by family, faults among them."""
    terms = vocabulary(cellar_book)
    attributes = [term.name for term in terms if term.kind == "attribute"]
    assert attributes.index("clarity") < attributes.index("honey") < attributes.index("acidity")
    assert named(cellar_book, "vinegar").is_fault
    assert not named(cellar_book, "vanilla").is_fault
    with cellar_book.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM term")).scalar() == 0


def test_words_are_suggested_by_their_beginning(cellar_book: Book) -> None:
    """Those that begin so first, then those of which a later word does; a retired one no more."""
    terms = vocabulary(cellar_book)
    assert suggested(terms, "van") == ["vanilla"]
    assert suggested(terms, "WOOD") == ["raw wood", "soft wood", "green wood"]
    assert suggested(terms, "") == []
    retire_term(cellar_book, "word", "vanilla")
    assert suggested(vocabulary(cellar_book, with_retired=True), "van") == []


def test_what_is_renamed_keeps_its_scores_and_is_found_by_its_old_name(cellar_book: Book) -> None:
    """An attribute of a closed flight is called by its present name, and a word said under the old one counts as it."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F", attributes=["oak"])
    for nth, glass in enumerate(poured.glasses):
        score(cellar_book, "F", glass.code, "Ada", 12.0, "hay, wet slate", marks={"oak": 3.0 + nth})
    reveal(cellar_book, "F")
    rename_term(cellar_book, "attribute", "oak", "wood")
    rename_term(cellar_book, "word", "hay", "straw")
    found = results(flight(cellar_book, "F"), "wood")
    assert found is not None
    assert [row.mean for row in found.rows] == [4.0, 3.0]
    straw, slate = words_of(vocabulary(cellar_book), "hay, wet slate")
    assert isinstance(straw, Term)
    assert (straw.name, slate) == ("straw", "wet slate")
    assert start_flight(cellar_book, ["B-1"], code="G", attributes=["Oak"]).attributes[0].name == "wood"


def test_what_is_retired_comes_back_when_it_is_added_again(cellar_book: Book) -> None:
    """With its id, so that what was scored with it is one line."""
    retired = retire_term(cellar_book, "attribute", "clarity")
    assert named(cellar_book, "clarity").retired_at is not None
    again = add_term(cellar_book, "attribute", "Clarity", part="look", family="appearance", scale="hedonic")
    assert (again.id, again.scale, again.retired_at) == (retired.id, "1-9 hedonic", None)


@pytest.mark.parametrize(
    ("given", "error", "why"),
    [
        ({"kind": "word", "name": "Vanilla"}, AlreadyThere, "word 'Vanilla' is in the book already"),
        ({"kind": "word", "name": "a;b"}, BadInput, "leave out , ; and ="),
        ({"kind": "word", "name": "7 up"}, BadInput, "begin with a letter"),
        ({"kind": "attribute", "name": "score"}, BadInput, "a score sheet calls something else"),
        ({"kind": "attribute", "name": "salt", "scale": "tall"}, NotAScale, "'tall' is not a scale"),
        ({"kind": "attribute", "name": "salt", "part": "ear"}, BadInput, "'ear' is no part of a tasting"),
        ({"kind": "word", "name": "x" * 41}, BadInput, "longer than 40 letters"),
    ],
)
def test_what_cannot_be_a_word_is_refused(
    cellar_book: Book, given: dict[str, Any], error: type[Exception], why: str
) -> None:
    """One line that says what to give instead."""
    before = vocabulary(cellar_book, with_retired=True)
    with pytest.raises(error, match=why):
        add_term(cellar_book, **given)
    assert vocabulary(cellar_book, with_retired=True) == before


def test_a_name_that_is_not_there_gets_the_nearest(cellar_book: Book) -> None:
    """Renamed, retired, or scored in a flight."""
    with pytest.raises(NoSuchTerm, match="there is no attribute 'honney' in the vocabulary; did you mean honey"):
        start_flight(cellar_book, ["B-1"], attributes=["honney"])
    with pytest.raises(NoSuchTerm, match="there is no word 'slate'"):
        rename_term(cellar_book, "word", "slate", "stone")
    with pytest.raises(BadInput, match="'oak' is given twice"):
        start_flight(cellar_book, ["B-1"], attributes=["oak", "Oak=0-20"])


def test_check_finds_marks_and_orders_that_are_none_of_their_flight(cellar_book: Book) -> None:
    """Written by another program past ours: each is named by its flight."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F", attributes=["oak"], tasters=["Ada"])
    score(cellar_book, "F", poured.glasses[0].code, "Ada", 12.0, marks={"oak": 3.0})
    assert not any(finding.broken for finding in cellar_book.check())
    with writing(cellar_book._engine) as connection:
        connection.execute(text("DELETE FROM score"))
        connection.execute(text("UPDATE serving SET glasses = '[\"111\"]'"))
    broken = [line for finding in cellar_book.check() for line in finding.broken]
    assert broken == [
        "flight F has a mark that is none of its scores",
        "the order of Ada in flight F is not each glass once",
    ]
