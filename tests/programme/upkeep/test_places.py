"""A place as a hand types it, seen from where the vessel stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.store.registry import Position
from cooperage.programme.upkeep.places import BadPlace, is_whole_place, place_typed

HERE: Position = ("Long", "A", 3, 2)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("B.2.1", ("Long", "B", 2, 1)),
        ("b 2 1", ("Long", "B", 2, 1)),
        ("4.1", ("Long", "A", 4, 1)),
        ("4", ("Long", "A", 4, 2)),
        ("Loft A-1-2", ("Loft", "A", 1, 2)),
        ("Old press house C.1.1", ("Old press house", "C", 1, 1)),
        ("Press", ("Press", None, None, None)),
        ("B", ("Long", "B", None, None)),
        ("Low 3.1", ("Low", None, 3, 1)),
    ],
)
def test_what_is_left_out_is_as_it_is_here(text: str, place: Position) -> None:
    """A room begins a place: row, bay and tier of another room are not carried over."""
    assert place_typed(text, HERE) == place


@pytest.mark.parametrize("text", ["", " . ", "1.2.3", "B.0.1", "2 B", "2.B.1"])
def test_what_is_no_place_is_refused_with_how_to_type_one(text: str) -> None:
    """No guess is made."""
    with pytest.raises(BadPlace, match=r"such as B\.2\.1"):
        place_typed(text, HERE)


@given(st.sampled_from("ABCD"), st.integers(1, 99), st.integers(1, 9), st.sampled_from([".", " ", "-", "/"]))
def test_a_place_is_read_as_it_is_chalked(row: str, bay: int, tier: int, mark: str) -> None:
    """Whatever stands between its parts."""
    assert place_typed(mark.join((row, str(bay), str(tier))), HERE) == ("Long", row, bay, tier)


def test_a_room_alone_is_no_whole_place() -> None:
    """The field of the room takes either."""
    assert [is_whole_place(text) for text in ("Long", "Press house", "B.2.1", "4", "Long B.2.1")] == [
        False, False, True, True, True,
    ]  # fmt: skip
