"""What a litre of a lot has cost, given once it is known: it stands from its day on for all of the lot, everywhere."""

from datetime import timedelta
from typing import Any

import pytest

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible, NoSuchLot, NotPossible
from cooperage.programme.money.pricing import set_price
from cooperage.programme.money.value import CellarValue, value_at


@pytest.fixture
def unpriced(cellar_book: Book, clock: Any) -> Book:
    """400 L of a lot of unknown cost in T-8, of which 100 L were bottled in what costs nothing."""
    for item in ("bottle", "closure", "label"):
        set_price(cellar_book, item, "0", size="1000ml", since="2020-01-01")
    with cellar_book.writing() as session:
        session.add_vessel(Vessel("", "T-8", "tank", 1_000_000))
        session.add_lot(Lot("", "NEW", "New"))
    cellar_book.write(acts.Receive(lot="NEW", vessel="T-8", volume=400_000))
    clock.pass_days(1)
    cellar_book.write(acts.Bottle(vessel="T-8", code="N-1", bottles=100, bottle=1000))
    clock.pass_days(1)
    return cellar_book


def worth(value: CellarValue) -> dict[str, float | None]:
    of = {each.name: each.cents / 100 if each.is_known else None for each in value.by_origin()}
    assert sum(value.into.values()) == sum(value.left.values()) + sum(value.out.values()) + sum(value.lost.values())
    return of


def test_it_flows_to_the_vessel_and_the_bottles_and_the_last_one_stands(unpriced: Book, clock: Any) -> None:
    """At 7.20 a litre 400 L have cost 2880; corrected to 6.00, 2400: wherever they are, bottles too."""
    assert worth(value_at(unpriced))["NEW"] is None
    assert unpriced.cellar()["T-8"].cost_per_l is None
    before = clock.time
    clock.pass_days(1)
    unpriced.write(acts.LotCost(lot="new", cost_per_l=7.2))
    assert worth(value_at(unpriced))["NEW"] == 2880.0
    assert unpriced.cellar()["T-8"].cost_per_l == pytest.approx(7.2)
    clock.pass_days(1)
    corrected = unpriced.write(acts.LotCost(lot="NEW", cost_per_l=6.0))
    value = value_at(unpriced)
    assert worth(value)["NEW"] == 2400.0
    assert {each.vessel.tag: each.worth.cents for each in value.vessels}["T-8"] == 180_000
    assert worth(value_at(unpriced, before))["NEW"] is None  # it was not known then
    unpriced.write(acts.Strike(entry=corrected.id))
    assert worth(value_at(unpriced))["NEW"] == 2880.0
    assert unpriced.cellar().lots["NEW"].cost_per_l == 7.2
    assert not any(finding.broken for finding in unpriced.check())


def test_it_holds_from_its_own_day_however_late_it_is_written(unpriced: Book, clock: Any) -> None:
    day = clock.time
    clock.pass_days(5)
    unpriced.write(acts.LotCost(lot="NEW", cost_per_l=5.0, at=day))
    assert worth(value_at(unpriced, day + timedelta(hours=1)))["NEW"] == 2000.0


def test_a_lot_that_is_not_there_and_a_cost_that_cannot_be_are_refused(unpriced: Book) -> None:
    with pytest.raises(NoSuchLot):
        unpriced.write(acts.LotCost(lot="NOPE", cost_per_l=5.0))
    with pytest.raises(NotPossible):
        unpriced.write(acts.LotCost(lot="NEW", cost_per_l=-1.0))


def test_an_absurd_cost_is_asked_back(unpriced: Book) -> None:
    """Far above what a litre costs; with yes it is written."""
    with pytest.raises(Implausible, match=r"NEW would cost 700000.* a litre; more than 100.* is unusual"):
        unpriced.write(acts.LotCost(lot="NEW", cost_per_l=700_000.0))
    assert unpriced.cellar().lots["NEW"].cost_per_l is None
    unpriced.write(acts.LotCost(lot="NEW", cost_per_l=120.0, sure=True))
    assert unpriced.cellar().lots["NEW"].cost_per_l == 120.0
