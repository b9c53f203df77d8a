"""What is due, why, and in which order one walks past it."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared import acts
from cooperage.programme.losses.ledger import UnknownGrouping, loss_rates, losses_by
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.rounds.due import Task, next_due, rounds
from cooperage.programme.rounds.kegs import best_keg
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.walk.progress import end_walk, mark, open_walk
from cooperage.programme.wood.standings import candidates

if TYPE_CHECKING:
    from tests.conftest import Clock


def due(book: Book, on: Any = None) -> Any:
    return {(each.barrel, each.task): each for each in rounds(book.cellar(), on)}


def test_a_fresh_fill_is_not_due(cellar_book: Book) -> None:
    """On the day it was filled a barrel asks for nothing."""
    assert ("B-1", Task.TOP) not in due(cellar_book)


def test_topping_comes_due_after_its_interval_with_litres_and_keg(cellar_book: Book, clock: "Clock") -> None:
    """Four weeks after the fill a used 225 L barrel is due, with what to expect and the keg to take."""
    clock.pass_days(29)
    topping = due(cellar_book)["B-1", Task.TOP]
    assert topping.keg == "K-1"
    assert topping.expected_ml == pytest.approx(225_000 * 0.04 * 29 / 365.25, rel=0.05)
    assert "every 28 days" in topping.why
    cellar_book.write(acts.Top(vessel="B-1", volume=800, source="K-1"))
    assert ("B-1", Task.TOP) not in due(cellar_book)


def test_looking_ahead(cellar_book: Book, clock: "Clock") -> None:
    """Asked by a later date, the rounds tell what will be due by then."""
    ahead = clock() + timedelta(days=30)
    assert ("B-1", Task.TOP) in due(cellar_book, ahead)


def test_new_and_small_barrels_are_topped_oftener(cellar_book: Book) -> None:
    """A new barrel weekly at first (common practice, no source), a 50 L one weekly always."""
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1"))
    cellar = cellar_book.cellar()
    assert [upkeep_of(cellar[tag]).top_every_days for tag in ("B-1", "B-2", "B-4")] == [28, 7, 7]


@pytest.mark.parametrize("topping", ["opened", "never"])
def test_a_barrel_topped_only_when_opened_is_not_on_the_rounds(cellar_book: Book, clock: "Clock", topping: str) -> None:
    """The topping policy belongs to the barrel."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(topping=topping))
    clock.pass_days(300)
    assert ("B-1", Task.TOP) not in due(cellar_book)


def test_a_barrel_topped_by_level_is_due_when_it_is_reckoned_low(cellar_book: Book, clock: "Clock") -> None:
    """With a level of 2 L and 4 % a year, 225 L are 2 L short after 81 days: 2 / (225 x 0.04 / 365.25)."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(topping="level", top_below_ml=2_000))
    clock.pass_days(78)
    assert ("B-1", Task.TOP) not in due(cellar_book)
    clock.pass_days(5)
    assert ("B-1", Task.TOP) in due(cellar_book)


def test_an_empty_barrel_is_on_the_rounds_for_its_nose(cellar_book: Book, clock: "Clock") -> None:
    """Emptied and not smelled for four weeks, a barrel asks to be; smelled, it waits again."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    clock.pass_days(29)
    assert "empty for 29 days" in due(cellar_book)["B-1", Task.SNIFF].why
    cellar_book.write(acts.Treat(vessel="B-1", treatment="sniff"))
    assert ("B-1", Task.SNIFF) not in due(cellar_book)


def test_low_molecular_so2_is_due_at_once(cellar_book: Book) -> None:
    """5 mg/L free at pH 3.8 is far under the floor, and the stop says both figures."""
    cellar_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=5.0))
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.8))
    assert "under 0.50" in due(cellar_book)["B-1", Task.SULPHITE].why


def test_high_va_and_an_odd_dip_are_due_at_once(cellar_book: Book) -> None:
    """VA over the limit, and a dip of 80 mm (some 12 L of air) in a barrel reckoned full, are stops."""
    cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.95))
    cellar_book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=80.0))
    found = due(cellar_book)
    assert ("B-1", Task.VA) in found
    assert "less than the book" in found["B-1", Task.GAUGE].why


def test_the_rounds_are_in_walking_order(cellar_book: Book, clock: "Clock") -> None:
    """Loft before Low, by row and bay; a retired barrel is passed by."""
    for tag in ("B-2", "B-3", "B-4"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    clock.pass_days(60)
    stops = [each.barrel for each in rounds(cellar_book.cellar()) if each.task is Task.TOP]
    assert stops == ["B-3", "B-4", "B-1", "B-2"]


def test_like_is_topped_with_like(cellar_book: Book) -> None:
    """Of two kegs that hold enough the one of the same lot is taken; of too little, the one that holds enough."""
    from cooperage.book import Vessel

    with cellar_book.writing() as session:
        session.add_vessel(Vessel("", "K-2", "keg", 50_000))
        session.write(acts.Receive(lot="LIME", vessel="K-2", volume=20_000))
    cellar = cellar_book.cellar()
    kegs = [cellar["K-1"], cellar["K-2"]]
    assert best_keg(cellar["B-1"], kegs, 1_000) == "K-1"
    assert best_keg(cellar["B-1"], kegs, 1_000, wanted="K-2") == "K-2"
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=39_500))
    cellar = cellar_book.cellar()
    assert best_keg(cellar["B-1"], [cellar["K-1"], cellar["K-2"]], 1_000) == "K-2"


def test_everything_that_is_coming_is_told_soonest_first(cellar_book: Book) -> None:
    """One barrel's next tasks are in order of their days."""
    coming = next_due(cellar_book.cellar()["B-1"])
    assert [each.due for each in coming] == sorted(each.due for each in coming)
    assert {Task.TOP, Task.SULPHITE, Task.TASTE} <= {each.task for each in coming}


def test_a_walk_is_resumed_where_it_was_left(cellar_book: Book) -> None:
    """Skipped and out of reach are remembered by the next program, until the walk is ended."""
    walk = open_walk(cellar_book)
    mark(cellar_book, walk, ("B-1", "top"), "skipped")
    mark(cellar_book, walk, ("B-1", "top"), "done")
    mark(cellar_book, walk, ("B-2", "sniff"), "out of reach")
    resumed = open_walk(cellar_book)
    assert (resumed.id, resumed.states) == (
        walk.id,
        {("B-1", "top"): "done", ("B-2", "sniff"): "out of reach"},
    )
    end_walk(cellar_book, resumed)
    assert open_walk(cellar_book).states == {}


@pytest.fixture
def walked(cellar_book: Book, clock: "Clock") -> Any:
    """A year of toppings: B-1 and B-3 lose 0.7 L a month, B-2 (leaking) 3 L."""
    for tag in ("B-2", "B-3"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1", volume=200_000 if tag == "B-3" else None))
    for month in range(12):
        clock.pass_days(30)
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=4_400))
        cellar_book.write(acts.Top(vessel="B-1", volume=700 + 20 * (month % 3), source="K-1", sure=True))
        cellar_book.write(acts.Top(vessel="B-2", volume=3_000, source="K-1", sure=True))
        cellar_book.write(acts.Top(vessel="B-3", volume=680 + 20 * (month % 2), source="K-1", sure=True))
    return cellar_book


def test_losses_add_up_whichever_way_they_are_told(walked: Any) -> None:
    """By cause, barrel, room, wood, lot or month, the litres lost are the same litres: 12 x (0.72 + 3 + 0.69)."""
    by_hand = sum(700 + 20 * (month % 3) + 3_000 + 680 + 20 * (month % 2) for month in range(12))
    for by in ("cause", "barrel", "room", "wood", "lot", "month"):
        assert sum(row.total_ml for row in losses_by(walked, by)) == by_hand
    assert {row.what: row.total_ml for row in losses_by(walked, "barrel")}["B-2"] == 36_000
    with pytest.raises(UnknownGrouping):
        losses_by(walked, "moon")


def test_each_barrels_thirst_is_told(walked: Any) -> None:
    """About 0.7 L in 30 days is 24 ml a day; the leaking barrel drinks four times that."""
    rates: dict[str, LossRate] = loss_rates(walked)
    assert rates["B-1"].own_ml_per_day == pytest.approx(24, abs=1)
    assert rates["B-2"].own_ml_per_day == pytest.approx(100, abs=10)
    assert rates["B-1"].per_year_percent == pytest.approx(100 * 24 * 365.25 / 225_000, rel=0.05)


def test_a_leak_is_a_sign(walked: Any) -> None:
    """The barrel out of line with its peers is named, and the others are not."""
    from cooperage.book import Barrel, Vessel

    with walked.writing() as session:
        for tag in ("B-5", "B-6"):
            session.add_vessel(Vessel("", tag, "barrel", 225_000, barrel=Barrel(fills_before=3)))
    assert {sign.vessel for sign in signs(walked) if sign.kind == "leak"} <= {"B-2"}


def test_a_barrel_left_half_full_is_a_sign(cellar_book: Book) -> None:
    """100 L drawn from a full barrel leave air above the rest."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", volume=100_000))
    assert [sign.kind for sign in signs(cellar_book)] == ["partial"]


def test_a_spirit_barrel_that_gave_strength_is_a_sign(cellar_book: Book) -> None:
    """Read at 13.9 where the lots say 13.0, in a barrel that held whiskey; and 14 % vol is a line of a class."""
    cellar_book.write(acts.Fill(vessel="B-3", source="T-1"))
    cellar_book.write(acts.Reading(vessel="B-3", property="abv", value=13.9))
    assert [sign.kind for sign in signs(cellar_book) if sign.vessel == "B-3"] == ["strength", "class line"]


def test_va_that_climbs_is_a_sign_before_it_is_over_the_limit(cellar_book: Book, clock: "Clock") -> None:
    """0.30, 0.38, 0.47, 0.58 g/L in four months is a climb; 0.30, 0.31, 0.30 is not."""
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    for climbing, steady in ((0.30, 0.30), (0.38, 0.31), (0.47, 0.30), (0.58, 0.31)):
        clock.pass_days(30)
        cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=climbing))
        cellar_book.write(acts.Reading(vessel="B-2", property="va_g_l", value=steady))
    assert {sign.vessel for sign in signs(cellar_book) if sign.kind == "va"} == {"B-1"}


def test_a_forgotten_empty_is_a_sign_and_a_candidate(cellar_book: Book, clock: "Clock") -> None:
    """Empty and not smelled for three months: a sign, and a reason to retire it."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    clock.pass_days(90)
    assert "empty" in {sign.kind for sign in signs(cellar_book) if sign.vessel == "B-1"}
    assert "B-1" in {each.barrel for each in candidates(cellar_book)}
