"""The book against a physical count."""

from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchVessel, WouldOverflow
from cooperage.programme.losses.allowance import Allowance, on_hand_and_received
from cooperage.programme.pasted.count import NotAGapCause, NothingCounted, compare, gauges, write_count
from cooperage.programme.together import AskedTogether
from cooperage.units import Span

if TYPE_CHECKING:
    from tests.conftest import Clock


def test_the_differences_add_up_and_are_held_against_the_allowance(cellar_book: Book) -> None:
    """B-1 3 L short, K-1 1 L over: 2 L missing of 265; 3 % of that are 7.95 L."""
    count = compare(cellar_book.cellar(), {"b-1": 222_000, "K-1": 41_000})
    assert [(row.vessel, row.missing_ml) for row in count.rows] == [("B-1", 3_000), ("K-1", -1_000)]
    assert (count.missing_ml, count.allowed_ml, count.is_within_allowance) == (2_000, 7_950, True)
    assert count.not_counted == ("T-1",)


def test_losses_over_three_per_cent_need_a_claim(cellar_book: Book) -> None:
    """Start 18,250 and received 3,000 with 640 lost: 3 % are 637.5, so a claim is needed (27 CFR 24.266(b))."""
    base = 21_250_000
    short = {"T-1": 635_000 - 640_000 + 5_000, "B-1": 225_000 - 5_000}
    count = compare(cellar_book.cellar(), short, Allowance(base))
    assert (count.missing_ml, count.allowed_ml) == (640_000, 637_500)
    assert not count.is_within_allowance


def test_the_entries_bring_the_book_to_the_count(cellar_book: Book) -> None:
    """Each gap goes to the cause that was named; a vessel that agrees gets no entry."""
    counted = {"B-1": 224_000, "K-1": 40_000, "T-1": 630_000}
    for gauge in gauges(compare(cellar_book.cellar(), counted), cause="spilled", hand="Ada"):
        cellar_book.write(gauge)
    cellar = cellar_book.cellar()
    assert {tag: cellar[tag].ml for tag in counted} == counted
    assert compare(cellar, counted).missing_ml == 0
    assert cellar_book.check() is not None


def test_a_cause_that_closes_no_gap_is_refused(cellar_book: Book) -> None:
    """'bottled' is no cause of a missing litre; the line lists what is."""
    with pytest.raises(NotAGapCause, match="gauging difference"):
        gauges(compare(cellar_book.cellar(), {"B-1": 1}), cause="bottled")
    with pytest.raises(NoSuchVessel):
        compare(cellar_book.cellar(), {"B-999": 1})


def test_an_entry_is_a_gauge_of_what_was_counted(cellar_book: Book) -> None:
    """Volume, cause, hand and note as given."""
    (gauge,) = gauges(compare(cellar_book.cellar(), {"B-1": 224_000}), hand="Ada", note="year's end")
    assert gauge == acts.Gauge(vessel="B-1", volume=224_000, cause="gauging difference", hand="Ada", note="year's end")


def test_an_odd_difference_is_asked_back_and_nothing_is_written(cellar_book: Book) -> None:
    """200 L gone from B-1 and 9 L too much in K-1 are more likely slips; 1 L of a tank's 635 is not."""
    count = compare(cellar_book.cellar(), {"B-1": 25_000, "K-1": 49_000, "T-1": 634_000})
    assert [(row.vessel, row.is_odd) for row in count.rows] == [("B-1", True), ("K-1", True), ("T-1", False)]
    with pytest.raises(AskedTogether, match=r"B-1 holds 225\.0 L in the book and 25\.0 L was counted; K-1 holds"):
        write_count(cellar_book, count, gauges(count))
    assert cellar_book.cellar()["T-1"].ml == 635_000
    assert len(write_count(cellar_book, count, gauges(count), sure=True)) == 3
    assert cellar_book.cellar()["B-1"].ml == 25_000


def test_a_count_is_written_whole_or_not(cellar_book: Book) -> None:
    """The second gauge runs over: the first is not written either. Nothing counted is nothing to write."""
    count = compare(cellar_book.cellar(), {"B-1": 224_000, "K-1": 60_000})
    with pytest.raises(WouldOverflow, match="K-1 has room for 50"):
        write_count(cellar_book, count, gauges(count), sure=True)
    assert cellar_book.cellar()["B-1"].ml == 225_000
    with pytest.raises(NothingCounted):
        write_count(cellar_book, compare(cellar_book.cellar(), {}), [])


@pytest.mark.slow
def test_a_count_of_an_earlier_day_goes_back_to_it(cellar_book: Book, clock: "Clock") -> None:
    """Counted before 5 L more were racked into the keg: the gauge is back-dated and the rack still holds."""
    counted_at = clock.pass_days(1)
    clock.pass_days(1)
    cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=5_000))
    count = compare(cellar_book.cellar(counted_at), {"K-1": 39_500})
    assert count.missing_ml == 500
    (written,) = write_count(cellar_book, count, gauges(count, at=counted_at))
    assert (written.at, cellar_book.cellar()["K-1"].ml) == (counted_at, 44_500)


def test_what_was_on_hand_and_received_since(cellar_book: Book, clock: "Clock") -> None:
    """900 L at first, 100 L more later: the base grows by what came; what comes as a span ends is the next one's."""
    start = clock.pass_days(1)
    clock.pass_days(1)
    cellar_book.write(acts.Sample(vessel="B-1", volume=1_000))
    later = cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=100_000)).at
    assert on_hand_and_received(cellar_book, Span(start)) == 1_000_000
    assert on_hand_and_received(cellar_book, Span(start, later)) == 900_000
    assert on_hand_and_received(cellar_book, Span()) == 1_000_000
    assert on_hand_and_received(cellar_book, Span(later)) == 999_000


def test_the_allowance_is_told_with_its_reference() -> None:
    """30 L of 1,000 may be missing: 30 are within, 30.001 are not."""
    allowance = Allowance(1_000_000)
    assert (allowance.holds(30_000), allowance.holds(30_001)) == (True, False)
    result = allowance.words(31_000)
    assert result.startswith("31.0 L, MORE than the year's allowance of 30.0 L, 3.0 % of 1000.0 L (27 CFR 24.266")
    assert "check it with your authority" in result
