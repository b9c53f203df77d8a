"""Registering: tags in a row, all or none, what is proposed for the next vessel."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared.allowed import rules_of
from cooperage.book.declared.from_text import BadField
from cooperage.errors import AskedBack, BadInput
from cooperage.programme.upkeep.registering import (
    OF_LOT,
    OF_VESSEL,
    TagsTaken,
    parse_lot,
    parse_vessels,
    proposals,
    read_tags,
    register_lot,
    register_vessels,
    vessels_words,
)
from cooperage.units import Units

BARREL = {"kind": "barrel", "capacity": "225 L"}


@pytest.fixture
def book(tmp_path: Path) -> Any:
    """An empty book."""
    made = Book.create(str(tmp_path / "cellar.db"))
    yield made
    made.close()


def tags_in(book: Book) -> list[str]:
    return [standing.tag for standing in book.cellar()]


def test_whatever_is_asked_is_a_field_of_what_is_registered() -> None:
    """No field is asked that nothing keeps."""
    vessel = {*rules_of(Vessel), *rules_of(Barrel), "room", "row", "bay", "tier"}
    assert {each.field for each in OF_VESSEL} <= vessel
    assert {each.field for each in OF_LOT} <= set(rules_of(Lot))


@given(st.sampled_from(["B-", "T", "", "K 2-"]), st.integers(0, 99_000), st.integers(0, 400), st.integers(1, 6))
def test_a_row_of_tags_is_each_number_once_and_as_wide_as_the_first(
    letters: Any, first: Any, more: Any, wide: Any
) -> None:
    """From the first to the last, in order; and each of them is a tag of its own."""
    begin = f"{first:0{wide}}"
    for last in (f"{letters}{first + more}", str(first + more)):
        tags = read_tags(f"{letters}{begin}..{last}")
        assert [int(tag.removeprefix(letters)) for tag in tags] == list(range(first, first + more + 1))
        assert tags[0] == f"{letters}{begin}"
        assert read_tags("; ".join(tags)) == tags


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("B-9..B-2", "backwards"),
        ("B-1..T-9", "one kind of tag"),
        ("B-1..B-9999", "at most 500"),
        ("B-1..B-400; C-1..C-400", "at most 500"),
    ],
)
def test_a_row_that_cannot_be_is_refused_in_words(text: str, why: str) -> None:
    """The line says what to do."""
    with pytest.raises(BadInput, match=why):
        read_tags(text)


def test_several_are_alike_and_lie_along_the_row(book: Book) -> None:
    """Same wood and size; the bay counts on from the one that is given."""
    texts = BARREL | {"tag": "B-051..B-053", "wood": "sessile oak", "room": "Loft", "row": "C", "bay": "4", "tier": "1"}
    vessels = register_vessels(book, parse_vessels(texts))
    assert tags_in(book) == ["B-051", "B-052", "B-053"]
    assert [vessel.position for vessel in vessels] == [("Loft", "C", bay, 1) for bay in (4, 5, 6)]
    assert {(v.capacity_ml, v.capacity_how, v.barrel.wood if v.barrel else "") for v in vessels} == {
        (225_000, "nominal", "sessile oak")
    }
    words = vessels_words(vessels)
    assert words == (
        "3 vessels, B-051 to B-053, 225.0 L each, 675.0 L in all: barrel, sessile oak, Loft C bays 4 to 6 tier 1"
    )


def test_where_one_tag_is_taken_none_is_registered(book: Book) -> None:
    """Every taken tag is named, and nothing of the row is in the book."""
    register_vessels(book, parse_vessels(BARREL | {"tag": "B-052; b-054"}))
    with pytest.raises(TagsTaken, match="'B-052', 'B-054' is in the book already") as refused:
        register_vessels(book, parse_vessels(BARREL | {"tag": "B-051..B-055"}))
    assert refused.value.tags == ("B-052", "B-054")
    assert tags_in(book) == ["B-052", "b-054"]


def test_an_odd_capacity_is_asked_back_once(book: Book) -> None:
    """A bare number may be meant in gallons; with yes it is taken."""
    vessels = parse_vessels(BARREL | {"tag": "B-1..B-2", "capacity": "2250"})
    with pytest.raises(AskedBack):
        register_vessels(book, vessels, sure=False)
    assert tags_in(book) == []
    register_vessels(book, vessels, sure=True)
    assert tags_in(book) == ["B-1", "B-2"]


@pytest.mark.parametrize(
    ("texts", "field"),
    [
        (BARREL, "tag"),
        ({"tag": "B-1"}, "capacity"),
        (BARREL | {"tag": "B-1", "bay": "low"}, "bay"),
        (BARREL | {"tag": "B-1", "capacity": "20000 L"}, "capacity"),
        (BARREL | {"tag": "T-1", "kind": "tank", "wood": "oak"}, "wood"),
        (BARREL | {"tag": "B=1"}, "tag"),
        (BARREL | {"tag": "B-1", "fills-before": "2000"}, "fills-before"),
    ],
)
def test_what_cannot_be_is_shown_where_it_was_typed(texts: dict[str, str], field: str) -> None:
    """A form goes to that field, a command names that option."""
    with pytest.raises(BadField) as refused:
        parse_vessels(texts)
    assert refused.value.field == field


def test_the_next_vessel_is_proposed_as_the_last_of_its_kind_was(book: Book) -> None:
    """The tag after the highest of its series, taken or not in order; size and wood; each kind for itself."""
    assert proposals(book.cellar()) == {"kind": "barrel"}
    register_vessels(book, parse_vessels(BARREL | {"tag": "B-099", "wood": "acacia"}))
    register_vessels(book, parse_vessels({"tag": "T-1", "kind": "tank", "capacity": "1000 L"}))
    register_vessels(book, parse_vessels(BARREL | {"tag": "B-007", "wood": "cherry", "capacity": "110 L"}))
    cellar = book.cellar()
    assert proposals(cellar) == {"kind": "barrel", "tag": "B-100", "capacity": "110.0 L", "wood": "cherry"}
    assert proposals(cellar, "tank") == {"kind": "tank", "tag": "T-2", "capacity": "1000.0 L", "wood": ""}
    american = Units(volume="gal")
    again = parse_vessels(proposals(cellar, units=american), american)
    assert again[0].capacity_ml == 110_000


def test_a_lot_is_called_by_its_code_where_it_has_no_name(book: Book) -> None:
    """What is not given stays unknown."""
    lot = register_lot(book, parse_lot({"code": "HEATHER-26", "original-gravity": "27 Bx", "cost-per-litre": "6.20"}))
    assert (lot.code, lot.name, lot.abv, lot.cost_per_l) == ("HEATHER-26", "HEATHER-26", None, 6.2)
    assert lot.original_sg == pytest.approx(1.1148, abs=0.0005)
    with pytest.raises(BadField, match="code is needed"):
        parse_lot({})
