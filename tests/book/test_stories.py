"""Worked cellar stories, each ending on figures that a cellar hand can check on paper."""

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries, losses
from cooperage.book.words import what_was_done

if TYPE_CHECKING:
    from tests.conftest import Clock


def ml(book: Book, tag: str) -> int:
    return book.cellar()[tag].ml


def gone(book: Book, place: str) -> int:
    with book.reading() as connection:
        return sum(volume for _, _, where, volume in losses(connection) if where == place)


def test_receiving_and_filling_moves_every_millilitre(cellar_book: Book) -> None:
    """900 L received; 40 L to the keg and 225 L to the barrel leave 635 L in the tank."""
    assert [ml(cellar_book, tag) for tag in ("T-1", "K-1", "B-1")] == [635_000, 40_000, 225_000]


def test_topping_to_full_says_two_things(cellar_book: Book, clock: "Clock") -> None:
    """1.8 L came out of the keg, and the barrel had been 1.8 L short of full."""
    clock.pass_days(30)
    written = cellar_book.write(acts.Top(vessel="B-1", volume=1_800, source="K-1"))
    assert ml(cellar_book, "B-1") == 225_000
    assert ml(cellar_book, "K-1") == 38_200
    assert gone(cellar_book, "evaporated") == 1_800
    assert [move.ml for move in written.moves] == [1_800, 1_800]


def test_topping_that_does_not_fill_says_so(cellar_book: Book, clock: "Clock") -> None:
    """With 'not full' only the litres from the keg are known, and nothing is said to have evaporated."""
    clock.pass_days(30)
    cellar_book.write(acts.Sample(vessel="B-1", volume=1_000))
    cellar_book.write(acts.Top(vessel="B-1", volume=400, source="K-1", not_full=True))
    assert ml(cellar_book, "B-1") == 224_400
    assert gone(cellar_book, "evaporated") == 0


def test_new_wood_soaks_first_and_evaporates_later(cellar_book: Book, clock: "Clock") -> None:
    """In its first four weeks a new barrel's missing litres have soaked in, afterwards they have evaporated."""
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    clock.pass_days(7)
    cellar_book.write(acts.Top(vessel="B-2", volume=2_000, source="K-1"))
    clock.pass_days(60)
    cellar_book.write(acts.Top(vessel="B-2", volume=1_500, source="K-1"))
    assert (gone(cellar_book, "soaked"), gone(cellar_book, "evaporated")) == (2_000, 1_500)


def test_a_sample_is_not_taken_for_evaporation(cellar_book: Book, clock: "Clock") -> None:
    """A pulled sample is known, so a topping that replaces it closes only what is left of the gap."""
    clock.pass_days(30)
    cellar_book.write(acts.Sample(vessel="B-1", volume=300))
    cellar_book.write(acts.Top(vessel="B-1", volume=1_000, source="K-1"))
    assert gone(cellar_book, "evaporated") == 700


def test_racking_leaves_lees_and_empties_the_barrel(cellar_book: Book) -> None:
    """225 L in, 3 L of lees and 220 L racked: 2 L were never there, and the barrel is empty."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", volume=220_000, lees=3_000, empties=True))
    assert ml(cellar_book, "B-1") == 0
    assert (gone(cellar_book, "lees"), gone(cellar_book, "gauging difference")) == (3_000, 2_000)
    assert cellar_book.cellar()["B-1"].days_empty is not None


def test_racking_without_a_volume_takes_all_but_the_lees(cellar_book: Book) -> None:
    """Told only the lees, the racking takes the rest."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", lees=4_000))
    assert (ml(cellar_book, "B-1"), ml(cellar_book, "T-2")) == (0, 221_000)


def test_pouring_away_is_a_place_too(cellar_book: Book) -> None:
    """Mead that is poured away goes to the place 'poured away'."""
    cellar_book.write(acts.Rack(vessel="B-1", destination=acts.POURED_AWAY))
    assert (ml(cellar_book, "B-1"), gone(cellar_book, "poured away")) == (0, 225_000)


def test_a_gauge_closes_the_gap_to_a_named_place(cellar_book: Book, clock: "Clock") -> None:
    """219 L found where 225 L were reckoned: 6 L leaked, said so, and can be asked of the book."""
    clock.pass_days(20)
    cellar_book.write(acts.Gauge(vessel="B-1", volume=219_000, cause="leak"))
    assert (ml(cellar_book, "B-1"), gone(cellar_book, "leak")) == (219_000, 6_000)


def test_a_dip_gauges_by_the_shape_of_the_barrel(cellar_book: Book, clock: "Clock") -> None:
    """50 mm of air in a lying 225 L barrel is 4.7 L (reference/trade figures: 225 L, 50 mm dry)."""
    clock.pass_days(60)
    cellar_book.write(acts.Gauge(vessel="B-1", headspace=50.0))
    assert ml(cellar_book, "B-1") == pytest.approx(225_000 - 4_710, abs=150)
    assert cellar_book.cellar()["B-1"].value("headspace_mm") == 50.0


def test_a_gauge_that_finds_more_takes_it_from_the_gauging_difference(cellar_book: Book) -> None:
    """What is there and was not in the book comes from the gauging difference, and is the same mead."""
    cellar_book.write(acts.Sample(vessel="B-1", volume=1_000))
    cellar_book.write(acts.Gauge(vessel="B-1", volume=224_800))
    standing = cellar_book.cellar()["B-1"]
    assert standing.ml == 224_800
    assert gone(cellar_book, "gauging difference") == -800
    assert standing.lots == {"HEATHER": 1.0}


def test_a_blend_contracts_by_what_the_physics_says(cellar_book: Book) -> None:
    """100 L at 12 % and 10 L of spirit at 96 % become 109.17 L (OIML R 22, reference/contraction): here with 60 %."""
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=200_000))
    cellar_book.write(acts.Blend(vessel="T-2", draws=(("B-1", 100_000),), doses=(("spirit", 10_000.0),)))
    contraction = gone(cellar_book, "contraction")
    assert 0 < contraction < 1_000
    assert ml(cellar_book, "T-2") == 310_000 - contraction


def test_a_bottling_counts_bottles_and_what_the_line_kept(cellar_book: Book) -> None:
    """280 bottles of 750 ml are 210 L; 4 L stayed in the line; the barrel was empty then, so 11 L were never there."""
    cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT-1", bottles=280, loss=4_000, empties=True, sure=True))
    assert ml(cellar_book, "B-1") == 0
    assert gone(cellar_book, "bottled") == 210_000
    assert (gone(cellar_book, "spilled"), gone(cellar_book, "gauging difference")) == (4_000, 11_000)


def test_an_emptied_vessel_hands_nothing_on(cellar_book: Book) -> None:
    """T-2 held HEATHER and water, gave odd litres and was emptied: the LIME bottled from it later met neither."""
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=333_333))
    for volume in (2_301, 9_425, 1_133):
        cellar_book.write(acts.Addition(vessel="T-2", substance="water", amount=volume))
        cellar_book.write(acts.Rack(vessel="T-2", destination="T-1", volume=volume))
    cellar_book.write(acts.Rack(vessel="T-2", destination=acts.POURED_AWAY))
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=500_000))
    cellar_book.write(acts.Bottle(vessel="T-2", code="LIME-1", bottles=400))
    assert [(share.name, share.litres) for share in cellar_book.trace("LIME-1").lots] == [("LIME", 300.0)]
    assert [share.name for share in cellar_book.trace("T-2").lots] == ["LIME"]
    assert not {share.name for share in cellar_book.trace("HEATHER").now} & {"T-2", "bottling LIME-1"}


def test_a_refilled_barrel_begins_its_next_fill(cellar_book: Book, clock: "Clock") -> None:
    """A barrel with two fills behind it is on its third, and after a racking and a filling on its fourth."""
    assert cellar_book.cellar()["B-1"].fill_number == 3
    clock.pass_days(100)
    assert cellar_book.cellar()["B-1"].days_in_wood == pytest.approx(100, abs=0.1)
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    cellar_book.write(acts.Fill(vessel="B-1", source="T-1"))
    standing = cellar_book.cellar()["B-1"]
    assert standing.fill_number == 4
    assert standing.days_in_wood == pytest.approx(0, abs=0.1)


def test_unknown_fills_stay_unknown(cellar_book: Book) -> None:
    """A barrel whose earlier fills nobody knows has no fill number; unknown is not zero."""
    cellar_book.write(acts.Fill(vessel="B-3", source="T-1"))
    assert cellar_book.cellar()["B-3"].fill_number is None


def test_a_shifted_barrel_stands_where_it_was_carried(cellar_book: Book, clock: "Clock") -> None:
    """A shift changes the position from then on, and not before."""
    before = clock()
    clock.pass_days(1)
    cellar_book.write(acts.Shift(vessel="B-1", room="Loft", row="C", bay=4, tier=2))
    assert cellar_book.cellar()["B-1"].position == ("Loft", "C", 4, 2)
    assert cellar_book.cellar(before)["B-1"].position == ("Low", "A", 1, 1)


def test_a_retired_barrel_is_out_of_the_programme(cellar_book: Book) -> None:
    """Emptied and retired with a reason, a barrel is no longer among the barrels."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    cellar_book.write(acts.Retire(vessel="B-1", reason="leaks at the croze"))
    cellar = cellar_book.cellar()
    assert "B-1" not in [standing.tag for standing in cellar.barrels]
    assert cellar["B-1"].state.retired_why == "leaks at the croze"


def test_what_became_of_a_barrel_stands_in_its_entry(cellar_book: Book) -> None:
    """Where it went and what was received are kept and shown; struck, the barrel is in the programme again."""
    before = cellar_book.cellar()["B-2"].state.retired_at
    written = cellar_book.write(
        acts.Retire(vessel="B-2", reason="split", disposition="sold as a planter", received=45.0)
    )
    with cellar_book.reading() as connection:
        (entry,) = entries(connection, ids=[written.id])
    assert what_was_done(entry) == "split, sold as a planter, 45.00 received"
    cellar_book.write(acts.Strike(entry=written.id))
    assert cellar_book.cellar()["B-2"].state.retired_at is before is None


def test_the_cellar_can_be_asked_about_any_past_day(cellar_book: Book, clock: "Clock") -> None:
    """The state at a past moment knows nothing of what came later."""
    then = clock()
    clock.pass_days(10)
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    assert cellar_book.cellar(then)["B-1"].ml == 225_000
    assert cellar_book.cellar(then - timedelta(days=300))["B-1"].ml == 0
