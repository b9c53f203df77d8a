"""The book against a physical count."""

import pytest

from cooperage.book import acts
from cooperage.book.errors import NoSuchVessel
from cooperage.programme.count import NotAGapCause, compare, gauges


def test_the_differences_add_up_and_are_held_against_the_allowance(cellar_book):
    """B-1 3 l short, K-1 1 l over: 2 l missing of 265; 3 % of that are 7.95 l."""
    count = compare(cellar_book.cellar(), {"b-1": 222_000, "K-1": 41_000})
    assert [(row.vessel, row.missing_ml) for row in count.rows] == [("B-1", 3_000), ("K-1", -1_000)]
    assert (count.missing_ml, count.allowed_ml, count.is_within_allowance) == (2_000, 7_950, True)
    assert count.not_counted == ("T-1",)


def test_the_three_per_cent_test_of_the_trade_reference(cellar_book):
    """Start 18,250 and received 3,000 with 640 lost: 3 % are 637.5, so a claim is needed (trade reference J)."""
    base = 21_250_000
    short = {"T-1": 635_000 - 640_000 + 5_000, "B-1": 225_000 - 5_000}
    count = compare(cellar_book.cellar(), short, base_ml=base)
    assert (count.missing_ml, count.allowed_ml) == (640_000, 637_500)
    assert not count.is_within_allowance


def test_the_entries_bring_the_book_to_the_count(cellar_book):
    """Each gap goes to the cause that was named; a vessel that agrees gets no entry."""
    counted = {"B-1": 224_000, "K-1": 40_000, "T-1": 630_000}
    for gauge in gauges(compare(cellar_book.cellar(), counted), cause="spilled", hand="Ada"):
        cellar_book.write(gauge)
    cellar = cellar_book.cellar()
    assert {tag: cellar[tag].ml for tag in counted} == counted
    assert compare(cellar, counted).missing_ml == 0
    assert cellar_book.check() is not None


def test_a_cause_that_closes_no_gap_is_refused(cellar_book):
    """'bottled' is no cause of a missing litre; the line lists what is."""
    with pytest.raises(NotAGapCause, match="gauging difference"):
        gauges(compare(cellar_book.cellar(), {"B-1": 1}), cause="bottled")
    with pytest.raises(NoSuchVessel):
        compare(cellar_book.cellar(), {"B-999": 1})


def test_an_entry_is_a_gauge_of_what_was_counted(cellar_book):
    """Volume, cause, hand and note as given."""
    (gauge,) = gauges(compare(cellar_book.cellar(), {"B-1": 224_000}), hand="Ada", note="year's end")
    assert gauge == acts.Gauge(vessel="B-1", volume=224_000, cause="gauging difference", hand="Ada", note="year's end")
