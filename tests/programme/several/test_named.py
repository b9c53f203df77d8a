"""Which vessels a text names: tags, series, words."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchVessel
from cooperage.programme.search.marks import Marks, marks_of
from cooperage.programme.several.named import NotASeries, NothingNamed, names_several, shown_tags, vessels_named


def named(book: Book, text: str) -> list[str]:
    cellar = book.cellar()
    return [standing.tag for standing in vessels_named(text, cellar, lambda: marks_of(book, cellar))]


@pytest.mark.parametrize(
    ("text", "tags"),
    [
        ("B-1", ["B-1"]),
        (" b-1 ", ["B-1"]),
        ("B-4,B-1", ["B-4", "B-1"]),
        ("B-1, b-1 ,B-2", ["B-1", "B-2"]),
        ("B-1..B-3", ["B-1", "B-2", "B-3"]),
        ("b-2 .. b-9, T-1", None),
        ("B-2..B-4,T-1", ["B-2", "B-3", "B-4", "T-1"]),
        ("lot heather", ["B-1", "K-1", "T-1"]),
        ("room low", ["B-1", "B-2"]),
        ("room loft, empty", ["B-3", "B-4"]),
        ("empty", ["B-3", "B-4", "B-2", "T-2"]),
    ],
)
def test_tags_series_and_words(cellar_book: Book, text: str, tags: list[str] | None) -> None:
    """As they stand, each once; what words find in walking order."""
    if tags is None:
        with pytest.raises(NoSuchVessel, match="b-9"):
            named(cellar_book, text)
    else:
        assert named(cellar_book, text) == tags


@pytest.mark.parametrize(
    ("text", "error", "says"),
    [
        ("B-1,B-O2", NoSuchVessel, "did you mean B-"),
        ("B-O1", NoSuchVessel, "did you mean B-1"),
        ("heather", NoSuchVessel, "no vessel 'heather'"),
        ("lot buckwheat", NothingNamed, "no vessel is found for 'lot buckwheat'"),
        ("B-1..T-1", NotASeries, "is no series"),
        ("B-3..B-1", NotASeries, "is no series"),
        ("", NoSuchVessel, "no vessel ''"),
        (",", NoSuchVessel, "no vessel"),
    ],
)
def test_what_names_nothing_is_one_line(cellar_book: Book, text: str, error: type[Exception], says: str) -> None:
    """That says what to do; a misspelt tag is never looked for as a word."""
    with pytest.raises(error, match=says):
        named(cellar_book, text)


def test_a_series_and_words_leave_the_retired_out(cellar_book: Book) -> None:
    """But not a tag that is named, which the book itself then refuses."""
    cellar_book.write(acts.Retire(vessel="B-3", reason="split"))
    assert named(cellar_book, "B-2..B-4") == ["B-2", "B-4"]
    assert named(cellar_book, "room loft") == ["B-4"]
    assert named(cellar_book, "B-2..B-3") == ["B-2", "B-3"]


def test_tags_ask_for_no_marks(cellar_book: Book) -> None:
    """What is due is worked out only for words."""

    def never() -> Marks:
        raise AssertionError

    cellar = cellar_book.cellar()
    assert len(vessels_named("B-1..B-4,T-1", cellar, never)) == 5
    assert not names_several("B-1", cellar)
    assert all(names_several(text, cellar) for text in ("B-1,B-2", "B-1..B-2", "lot heather", "empty"))


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        (["B-001", "B-002", "B-003", "B-007"], "B-001..B-003, B-007"),
        (["B-1", "B-2"], "B-1, B-2"),
        (["T-1", "B-9", "B-10", "B-11"], "T-1, B-9..B-11"),
        ([], ""),
    ],
)
def test_tags_are_shown_in_few_words(tags: Any, words: str) -> None:
    """Runs of three and more by their ends."""
    assert shown_tags(tags) == words


@pytest.mark.parametrize(
    "text", ["B-1 B-2 B-3", "b-1  b-3, B-2", "B-1;B-2;B-3", "B-1\nB-2\nB-3", "B-1 .. B-3", "B-1..B-2 B-3"]
)
def test_tags_are_parted_by_spaces_signs_or_lines(small: Book, text: str) -> None:
    """As they are typed, scanned or pasted."""
    found = vessels_named(text, small.cellar(), Marks)
    assert sorted(standing.tag for standing in found) == ["B-1", "B-2", "B-3"]
    assert names_several(text, small.cellar())


def test_a_misspelt_tag_among_tags_is_named_by_itself(small: Book) -> None:
    """Not the whole of what was typed."""
    with pytest.raises(NoSuchVessel, match="'B-99'"):
        vessels_named("B-1 B-99 B-3", small.cellar(), Marks)
