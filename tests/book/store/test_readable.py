"""What an entry may hold by its kind: what is left out, what is too much, and what is of another type."""

from typing import Any

import pytest

from cooperage.book.store.readable import misfits

TOPPED = {"vessel": "B-1", "volume": 1800, "source": "K-1"}
BLENDED = {"vessel": "B-1", "draws": [["T-1", 500], ["K-1", 20]]}


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("top", TOPPED),  # an older program knew fewer fields; what may be left out may be missing
        ("top", TOPPED | {"cause": "leak", "not_full": True}),
        ("blend", BLENDED),
        ("blend", BLENDED | {"doses": [["spirit", 20.5], ["water", 20]]}),
        ("blend", BLENDED | {"draws": []}),
        ("gauge", {"vessel": "B-1", "volume": None, "headspace": 12}),
        ("juggle", "a kind that this program does not know"),
    ],
)
def test_what_an_entry_of_its_kind_holds_is_no_finding(kind: str, values: object) -> None:
    """Fields that may be left out may be missing; a whole number is a figure too."""
    assert list(misfits(kind, values)) == []


@pytest.mark.parametrize(
    ("kind", "values", "line"),
    [
        ("top", ["B-1"], "'['B-1']' is not what a top holds"),
        ("top", TOPPED | {"hat": 1}, "a top has no 'hat'"),
        ("top", {"vessel": "B-1", "volume": 1800}, "'source' of a top cannot be None"),
        ("top", TOPPED | {"volume": "1.8"}, "'volume' of a top cannot be '1.8'"),
        ("top", TOPPED | {"volume": True}, "'volume' of a top cannot be True"),
        ("top", TOPPED | {"cause": "thieves"}, "'cause' of a top cannot be 'thieves'"),
        ("top", TOPPED | {"cause": None}, "'cause' of a top cannot be None"),
        ("blend", BLENDED | {"draws": [["T-1", "500"]]}, "'draws' of a blend cannot be [['T-1', '500']]"),
        ("blend", BLENDED | {"draws": [[1, 500]]}, "'draws' of a blend cannot be [[1, 500]]"),
        ("blend", BLENDED | {"draws": [["T-1", 500, 1]]}, "'draws' of a blend cannot be [['T-1', 500, 1]]"),
        ("blend", BLENDED | {"draws": [["T-1", 500], 7]}, "'draws' of a blend cannot be [['T-1', 500], 7]"),
    ],
)
def test_what_does_not_belong_is_named_with_its_field(kind: str, values: Any, line: str) -> None:
    """One line for each: what is unknown, what is missing, what is of another type or no choice."""
    assert list(misfits(kind, values)) == [line]
