"""A vessel's care: heard and told in the person's units, for one or for all like it."""

from dataclasses import fields
from typing import Any

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared.from_text import BadField
from cooperage.book.errors import NoSuchVessel, SameVessel
from cooperage.programme.upkeep.care import (
    CARES,
    Group,
    NoBarrelMeant,
    care_of,
    care_texts,
    change_care,
    default_care,
    groups_around,
    parse_care,
)
from cooperage.units import Units

SAID = Upkeep("level", 21, 1_500, 50, 40, 14, 0.65, 0.7, "K-1")


def test_every_field_of_an_upkeep_is_asked_for() -> None:
    """None can be forgotten in the form or the command."""
    assert [care.field for care in CARES] == [field.name for field in fields(Upkeep)]


@pytest.mark.parametrize("units", [Units(), Units(volume="gal", decimal=",")])
def test_care_told_is_heard_back(units: Any) -> None:
    """In litres and points, in gallons and commas; nothing said is blank, and a blank is nothing."""
    texts = care_texts(SAID, units)
    assert Upkeep(**parse_care(texts, units)) == SAID
    assert set(care_texts(Upkeep()).values()) == {""}
    assert Upkeep(**parse_care(dict.fromkeys(texts, "default"))) == Upkeep()


@pytest.mark.parametrize(
    ("name", "text", "reason"),
    [
        ("every", "0", "lies between 1 and 730"),
        ("every", "often", "is not a count"),
        ("below", "0", "lies between"),
        ("molecular-floor", "30", "lies between 0.0 mg/L and 3.0 mg/L"),
        ("va-ceiling", "5", "lies between 0.10 g/L and 3.00 g/L"),
        ("topping", "often", "not one of interval, level, opened, never"),
    ],
)
def test_what_no_care_can_be_is_named_by_its_field(name: str, text: str, reason: str) -> None:
    """The form stands on that field."""
    with pytest.raises(BadField, match=reason) as misheard:
        parse_care({name: text, "sniff-every": "7"})
    assert misheard.value.field == name


def test_only_what_is_changed_changes(cellar_book: Book) -> None:
    """B-1 keeps its own floor and B-2 its default while both are topped every 21 days."""
    change_care(cellar_book, ["B-1"], {"molecular_so2_floor_mg_l": 0.65})
    assert change_care(cellar_book, ["b-1", "B-2"], {"top_every_days": 21, "top_from": "k-1"}) == ["B-1", "B-2"]
    own = {standing.tag: standing.vessel.upkeep for standing in cellar_book.cellar()}
    assert own["B-1"] == Upkeep(top_every_days=21, molecular_so2_floor_mg_l=0.65, top_from="K-1")
    assert own["B-2"] == Upkeep(top_every_days=21, top_from="K-1")
    change_care(cellar_book, ["B-1"], {"top_every_days": None})
    assert (
        care_of(cellar_book, ["B-1"])["B-1"].top_every_days == default_care(cellar_book.cellar()["B-1"]).top_every_days
    )


def test_all_are_changed_or_none(cellar_book: Book) -> None:
    """An unknown vessel or keg, or a barrel topped from itself, changes nobody."""
    for tags, changes, error in (
        (["B-1", "B-99"], {"top_every_days": 3}, NoSuchVessel),
        (["B-1"], {"top_from": "K-99"}, NoSuchVessel),
        (["B-1", "K-1"], {"top_from": "K-1"}, SameVessel),
    ):
        with pytest.raises(error):
            change_care(cellar_book, tags, changes)
    assert cellar_book.cellar()["B-1"].vessel.upkeep == Upkeep()


def test_barrels_are_found_by_what_they_have_in_common(cellar_book: Book) -> None:
    """By room, by lot, by wood, by several at once; nobody there is said."""
    cellar = cellar_book.cellar()
    assert Group(room="loft").tags(cellar) == ["B-3", "B-4"]
    assert Group(lot="HEATHER").tags(cellar) == ["B-1"]
    assert Group(room="Low", wood="oak, Quercus alba").tags(cellar) == ["B-2"]
    with pytest.raises(NoBarrelMeant, match="no barrel has room Low, lot LIME"):
        Group(room="Low", lot="LIME").tags(cellar)
    assert list(groups_around(cellar["B-1"])) == ["room Low", "lot HEATHER", "wood oak, Quercus petraea"]
    assert list(groups_around(cellar["B-2"])) == ["room Low", "wood oak, Quercus alba"]
    assert groups_around(cellar["K-1"]) == {}
