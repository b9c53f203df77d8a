"""Stretches between known levels, as the book's entries show them."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.visits import visits

if TYPE_CHECKING:
    from tests.conftest import Clock


def seen(book: Book, tag: Any = "B-1") -> Any:
    return visits(book, book.cellar()).get(tag, [])


def test_a_topping_to_the_bung_closes_a_visit(cellar_book: Book, clock: "Clock") -> None:
    """Thirty days after the fill 700 ml are missing; a sample of 100 ml in between is not thirst."""
    clock.pass_days(15)
    cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    clock.pass_days(15)
    cellar_book.write(acts.Top(vessel="B-1", volume=800, source="K-1"))
    (visit,) = seen(cellar_book)
    assert (visit.lost_ml, round(visit.days), visit.room) == (700, 30, "Low")


def test_a_topping_that_stopped_short_is_counted_with_the_next_full_one(cellar_book: Book, clock: "Clock") -> None:
    """200 ml poured short of the bung, then 1 L to the bung a month on: 1.2 L in one visit of sixty days."""
    clock.pass_days(30)
    cellar_book.write(acts.Top(vessel="B-1", volume=200, source="K-1", not_full=True))
    clock.pass_days(30)
    cellar_book.write(acts.Top(vessel="B-1", volume=1000, source="K-1"))
    (visit,) = seen(cellar_book)
    assert (visit.lost_ml, round(visit.days)) == (1200, 60)


def test_a_headspace_read_splits_the_stretch(cellar_book: Book, clock: "Clock") -> None:
    """20 mm dry at thirty days, topped with 1.5 L at sixty: first the dip, then the rest; the sum is 1.5 L."""
    clock.pass_days(30)
    cellar_book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=20.0))
    clock.pass_days(30)
    cellar_book.write(acts.Top(vessel="B-1", volume=1500, source="K-1"))
    first, second = seen(cellar_book)
    dip = 225_000 - volume_at_headspace(cellar_book.cellar()["B-1"].vessel, 20.0)
    assert (first.lost_ml, second.lost_ml) == (dip, 1500 - dip)
    assert dip == pytest.approx(770, abs=15)  # 0.77 L at 20 mm in 225 L (barrel_headspace.csv)


@pytest.mark.parametrize(
    ("name", "value"), [("sg", 1.012), ("ph", 3.4), ("temperature", 12.0), ("free_so2_mg_l", 25.0)]
)
def test_a_reading_of_the_mead_says_nothing_of_the_level(
    cellar_book: Book, clock: "Clock", name: str, value: float
) -> None:
    """Read half way between fill and topping, it leaves one visit of thirty days."""
    clock.pass_days(15)
    cellar_book.write(acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    clock.pass_days(15)
    cellar_book.write(acts.Top(vessel="B-1", volume=700, source="K-1"))
    assert [(visit.lost_ml, round(visit.days)) for visit in seen(cellar_book)] == [(700, 30)]


def test_a_gauge_and_the_topping_after_it_are_one_visit(cellar_book: Book, clock: "Clock") -> None:
    """Dipped at 224.1 L and topped up minutes later: 900 ml, once."""
    clock.pass_days(30)
    cellar_book.write(acts.Gauge(vessel="B-1", volume=224_100))
    cellar_book.write(acts.Top(vessel="B-1", volume=900, source="K-1"))
    assert [visit.lost_ml for visit in seen(cellar_book)] == [900]


def test_a_struck_topping_shows_nothing(cellar_book: Book, clock: "Clock") -> None:
    """Struck and written again, there is one visit."""
    clock.pass_days(30)
    wrong = cellar_book.write(acts.Top(vessel="B-1", volume=1700, source="K-1"))
    cellar_book.write(acts.Strike(entry=wrong.id))
    cellar_book.write(acts.Top(vessel="B-1", volume=700, source="K-1"))
    assert [visit.lost_ml for visit in seen(cellar_book)] == [700]


def test_emptied_and_filled_again_begins_anew(cellar_book: Book, clock: "Clock") -> None:
    """What a racking did not yield is no thirst, and the next fill counts from its own day."""
    clock.pass_days(30)
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    clock.pass_days(30)
    cellar_book.write(acts.Fill(vessel="B-1", source="T-2", volume=224_000))
    cellar_book.write(acts.Top(vessel="B-1", volume=1_000, source="K-1"))
    clock.pass_days(20)
    cellar_book.write(acts.Top(vessel="B-1", volume=500, source="K-1"))
    assert [(visit.lost_ml, round(visit.days)) for visit in seen(cellar_book)] == [(500, 20)]


@pytest.mark.parametrize(
    "change", [acts.Treat(vessel="B-1", treatment="repair"), acts.Shift(vessel="B-1", room="Loft")]
)
def test_repaired_or_carried_elsewhere_a_barrel_begins_anew(cellar_book: Book, clock: "Clock", change: Any) -> None:
    """Three litres a month before, half a litre after: only what came after counts."""
    for month in range(6):
        if month == 3:
            cellar_book.write(change)
        clock.pass_days(30)
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=3000))
        lost = 3000 if month < 3 else 500
        cellar_book.write(acts.Top(vessel="B-1", volume=lost, source="K-1", sure=True))
    assert loss_rates(cellar_book)["B-1"].own_ml_per_day == pytest.approx(500 / 30, rel=0.02)
