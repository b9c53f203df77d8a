"""Carrying a vessel to another position."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import work_of
from cooperage.book.declared import acts
from cooperage.book.errors import VesselIsRetired
from cooperage.programme.upkeep.shifting import LiesUnder, PlaceTaken, asked_of_shifts, lie_on, shift, stands_at
from cooperage.units import Units


def to(tag: Any, room: Any = "Low", row: Any = "A", bay: Any = None, tier: Any = None) -> Any:
    return acts.Shift(vessel=tag, room=room, row=row, bay=bay, tier=tier)


def test_a_shift_to_a_free_place_is_written(cellar_book: Book) -> None:
    """And the vessel lies there from then on."""
    shift(cellar_book, cellar_book.cellar(), to("B-4", bay=3, tier=2))
    assert cellar_book.cellar()["B-4"].position == ("Low", "A", 3, 2)


def test_a_place_that_is_taken_is_asked_back_with_the_name_of_who_stands_there(cellar_book: Book) -> None:
    """In any case of letters, and without a tier, which is the floor; then nothing is written, unless one is sure."""
    before = cellar_book.cellar()["B-4"].position
    for act in (to("B-4", bay=1, tier=1), to("b-4", room="low", row="a", bay=1)):
        with pytest.raises(PlaceTaken, match=r"^B-1 stands there by the book; B-4 would share its place until B-1"):
            shift(cellar_book, cellar_book.cellar(), act)
    assert cellar_book.cellar()["B-4"].position == before
    shift(cellar_book, cellar_book.cellar(), to("B-4", bay=1, tier=1), sure=True)
    assert [s.tag for s in stands_at(cellar_book.cellar(), ("Low", "A", 1, 1))] == ["B-1", "B-4"]


def stacked(book: Book) -> None:
    """B-4 lies on B-1, in tier 2 of its bay."""
    shift(book, book.cellar(), to("B-4", bay=1, tier=2))


def test_what_lies_under_another_is_not_lifted_unasked(cellar_book: Book) -> None:
    """The one above is named; a yes writes it. What lies on top is lifted as it is, and so is what stays."""
    stacked(cellar_book)
    cellar = cellar_book.cellar()
    assert [s.tag for s in lie_on(cellar, "b-1")] == ["B-4"]
    assert lie_on(cellar, "B-4") == []
    with pytest.raises(LiesUnder, match=r"^B-4 lies on B-1\. Is it lifted first\?$"):
        shift(cellar_book, cellar, to("B-1", bay=9, tier=1))
    assert asked_of_shifts(cellar, [to("B-1", bay=1, tier=1)]) == []
    assert asked_of_shifts(cellar, [to("B-4", bay=9, tier=1)]) == []
    assert asked_of_shifts(cellar, [to("B-1", bay=9, tier=1), to("B-4", bay=9, tier=2)]) == []
    shift(cellar_book, cellar, to("B-1", bay=9, tier=1), sure=True)
    assert cellar_book.cellar()["B-1"].position == ("Low", "A", 9, 1)


def test_a_taken_place_and_one_above_are_asked_in_one_question(cellar_book: Book) -> None:
    """A yes answers both, so both stand in it."""
    stacked(cellar_book)
    cellar = cellar_book.cellar()
    there = cellar["B-2"].position
    (asked,) = asked_of_shifts(cellar, [to("B-1", room=there[0], row=there[1], bay=there[2], tier=there[3])])
    assert isinstance(asked, PlaceTaken)
    assert str(asked).endswith("until B-2 is moved. B-4 lies on B-1. Is it lifted first?")


def test_a_vessel_is_not_in_its_own_way(cellar_book: Book) -> None:
    """To where it stands, it may be shifted; nothing is asked."""
    shift(cellar_book, cellar_book.cellar(), to("B-1", bay=1, tier=1))


def test_a_room_or_row_without_a_bay_has_room_for_many(cellar_book: Book) -> None:
    """Tanks and kegs stand in a room, and nobody stands in their way."""
    shift(cellar_book, cellar_book.cellar(), to("T-1", room="Press", row=""))
    shift(cellar_book, cellar_book.cellar(), to("T-2", room="Press", row=""))
    assert stands_at(cellar_book.cellar(), ("Press", None, None, None)) == []


def test_a_retired_barrel_leaves_its_place_free_and_goes_nowhere(cellar_book: Book) -> None:
    """The book refuses to shift it."""
    cellar_book.write(acts.Retire(vessel="B-3", reason="cracked"))
    shift(cellar_book, cellar_book.cellar(), to("B-4", room="Loft", bay=1, tier=1))
    with pytest.raises(VesselIsRetired):
        shift(cellar_book, cellar_book.cellar(), to("B-3", bay=9))


def test_lifting_is_cautioned_in_the_persons_unit(cellar_book: Book) -> None:
    """What it holds, gear, and the local rules; an empty one is no toy either."""
    cellar = cellar_book.cellar()
    (full,) = cautions(work_of(to("B-1"), cellar, Units(volume="gal")))
    (empty,) = cautions(work_of(to("B-4"), cellar))
    assert "B-1 holds 59.44 gal, far too heavy for hands" in full.text
    assert "still heavy enough" in empty.text
    assert all("local rules" in each.text for each in (full, empty))
