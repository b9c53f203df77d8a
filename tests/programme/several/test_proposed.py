"""What is proposed for each of several vessels, and that what is typed wins."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.programme.several.proposed import NothingToDo
from cooperage.programme.several.wanted import NotAmongThem, OneAtATime, TwoLists, typed_for_one
from cooperage.units import DEFAULT
from tests.programme.several.conftest import meant


def volumes(found: Any) -> dict[str, int | None]:
    return {tag: act.volume for tag, act in found.acts.items()}


def asked(found: Any) -> str:
    return " ".join(doubt.question(DEFAULT) for doubt in found.doubts)


def test_a_tank_fills_what_room_is_left_in_order(small: Book) -> None:
    """635 L fill B-2 and B-3 and B-4 to the bung; B-1 is full, which is asked."""
    found = meant(small, "fill", vessel="B-1..B-4", from_="T-1")
    assert volumes(found) == {"B-2": 225_000, "B-3": 200_000, "B-4": 50_000}
    assert "B-1 left out: full by the book. Go on with 3 vessels?" in asked(found)


def test_a_tank_that_does_not_reach_is_asked(small: Book) -> None:
    """The last that it reaches gets the rest, and those after it are named."""
    small.write(acts.Rack(vessel="T-1", destination="T-2", volume=400_000))
    found = meant(small, "fill", vessel="B-2,B-3,B-4", from_="T-1")
    assert volumes(found) == {"B-2": 225_000, "B-3": 10_000}
    assert "B-4 left out: T-1 does not reach that far; B-3 gets only 10.0 L" in asked(found)


def test_a_rack_goes_from_one_into_several_and_its_lees_stay_once(small: Book) -> None:
    """What is left behind belongs to the last."""
    found = meant(small, "rack", vessel="T-1", to="B-2,B-4", lees="2 L", empties="yes")
    assert volumes(found) == {"B-2": 225_000, "B-4": 50_000}
    left = [(act.lees, act.empties) for act in found.acts.values()]  # type: ignore[attr-defined]
    assert left == [(0, False), (2000, True)]


def test_a_rack_out_of_several_takes_all_that_is_in_each(small: Book) -> None:
    """As it does out of one."""
    small.write(acts.Fill(vessel="B-4", source="T-1"))
    found = meant(small, "rack", vessel="B-1,B-4", to="T-2")
    assert volumes(found) == {"B-1": None, "B-4": None}
    assert not found.doubts


def test_what_is_typed_wins(small: Book) -> None:
    """For all, and for one before that; the tank counts what is typed."""
    found = meant(small, "fill", typed_for_one("fill", "B-3=150 L; b-4 = 4"), vessel="B-2..B-4", from_="T-1")
    assert volumes(found) == {"B-2": 225_000, "B-3": 150_000, "B-4": 4000}
    found = meant(small, "fill", {"B-3": {"volume": "1 L"}}, vessel="B-2..B-4", from_="T-1", volume="20 L")
    assert volumes(found) == {"B-2": 20_000, "B-3": 1000, "B-4": 20_000}


def test_a_topping_is_what_is_expected_and_that_is_asked(small: Book, clock: Any) -> None:
    """To a tenth of a litre; one that was just filled is expected to be full."""
    small.now.pass_days(60)  # type: ignore[attr-defined] # the clock of a test
    small.write(acts.Fill(vessel="B-4", source="T-1"))
    found = meant(small, "top", vessel="B-1,B-4", from_="K-1")
    [(tag, ml)] = volumes(found).items()
    assert tag == "B-1"
    assert ml is not None
    assert 500 < ml < 4000
    assert ml % 100 == 0
    assert f"B-1 {ml / 1000:.1f} L: expected to be missing. Is that right?" in asked(found)
    assert "B-4 left out: expected to be full" in asked(found)


def test_a_dose_goes_by_the_volume_in_each(small: Book) -> None:
    """By litre, hectolitre or gallon; for one vessel too; what is typed for one is its own."""
    small.write(acts.Fill(vessel="B-4", source="T-1"))
    found = meant(small, "addition", vessel="B-1,B-4", substance="bentonite", amount="20 g/hL")
    assert {tag: act.amount for tag, act in found.acts.items()} == {"B-1": 45.0, "B-4": 10.0}  # type: ignore[attr-defined]
    assert not found.doubts
    [one] = meant(small, "addition", vessel="B-4", substance="bentonite", amount="0.5g/l").acts.values()
    assert one.amount == 25.0  # type: ignore[attr-defined]
    [water] = meant(small, "addition", vessel="B-4", substance="water", amount="10 ml / L").acts.values()
    assert water.amount == 500.0  # type: ignore[attr-defined]
    with pytest.raises(BadField, match="needed"):
        meant(small, "addition", vessel="B-1,B-4", substance="bentonite")


def test_sulphite_without_a_figure_reaches_the_usual_target(small: Book) -> None:
    """Where it can be calculated; it is asked, and a barrel that was not measured is named."""
    small.write(acts.Fill(vessel="B-4", source="T-1"))
    with pytest.raises(BadField, match="no dose can be calculated for B-1"):
        meant(small, "addition", vessel="B-1,B-4", substance="metabisulphite")
    for tag in ("B-1", "B-4"):
        small.write(acts.Reading(vessel=tag, property="ph", value=3.5))
        small.write(acts.Reading(vessel=tag, property="free_so2_mg_l", value=10.0))
        small.write(acts.Reading(vessel=tag, property="abv", value=13.0))
    found = meant(small, "addition", vessel="B-1,B-4", substance="kmbs")
    one, four = (act.amount for act in found.acts.values())  # type: ignore[attr-defined]
    assert one == pytest.approx(4.5 * four, rel=0.05)
    assert "calculated for the usual target" in asked(found)


def test_a_rack_that_moves_keeps_its_bays(small: Book) -> None:
    """As they were to each other, from the bay that is typed on; places that are taken are asked."""
    found = meant(small, "shift", vessel="B-1,B-2", room="Loft", row="C", bay="5")
    assert [(a.room, a.row, a.bay, a.tier) for a in found.acts.values()] == [  # type: ignore[attr-defined]
        ("Loft", "C", 5, 1),
        ("Loft", "C", 6, 1),
    ]
    found = meant(small, "shift", vessel="B-1,B-2", room="Loft", row="A")
    assert "B-3 stands there by the book" in asked(found)
    swapped = meant(small, "shift", {"B-1": {"bay": "2"}, "B-2": {"bay": "1"}}, vessel="B-1,B-2", room="Low", row="A")
    assert not swapped.doubts
    same = meant(small, "shift", {"B-2": {"bay": "1"}}, vessel="B-1,B-2", room="Loft", row="D")
    assert "B-1 stands there" in asked(same)


@pytest.mark.parametrize(
    ("kind", "texts", "error"),
    [
        ("rack", {"vessel": "B-1,B-2", "to": "B-3,B-4"}, TwoLists),
        ("bottle", {"vessel": "B-1,B-2", "code": "X", "bottles": "10"}, OneAtATime),
        ("fill", {"vessel": "B-1", "from_": "T-1"}, NothingToDo),
        ("fill", {"vessel": "B-1,B-1", "from_": "T-1"}, NothingToDo),
    ],
)
def test_what_cannot_be_is_one_line(small: Book, kind: str, texts: Any, error: type[Exception]) -> None:
    """That says why; a full barrel by itself is left to the book."""
    if texts["vessel"] == "B-1":
        assert meant(small, kind, **texts).acts == {"B-1": acts.Fill(vessel="B-1", source="T-1")}
        return
    with pytest.raises(error) as refused:
        meant(small, kind, **texts)
    assert "\n" not in str(refused.value)


def test_what_is_typed_for_a_vessel_that_is_not_named_is_refused(small: Book) -> None:
    """Nothing typed is passed over."""
    with pytest.raises(NotAmongThem, match="B-4 is none of the vessels"):
        meant(small, "treat", {"B-4": {"treatment": "sniff"}}, vessel="B-1,B-2", treatment="stir")
    with pytest.raises(BadField, match="is not TAG=FIGURE"):
        typed_for_one("fill", "B-3 20 L")
    with pytest.raises(BadField, match="takes no figure"):
        typed_for_one("look", "B-3=low")


def test_a_place_that_mead_goes_to_is_no_list(small: Book) -> None:
    """Two words, and one place."""
    found = meant(small, "rack", vessel="B-1,K-1", to="poured away")
    assert [act.destination for act in found.acts.values()] == ["poured away"] * 2  # type: ignore[attr-defined]
