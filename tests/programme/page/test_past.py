"""What a vessel has shown so far."""

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.page.past import past_of


def test_readings_are_told_oldest_first_with_their_doubt(cellar_book: Book) -> None:
    """PH read twice; of a struck reading nothing stays but its entries."""
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.5))
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.6))
    wrong = cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.7))
    cellar_book.write(acts.Strike(entry=wrong.id))
    past = past_of(cellar_book, cellar_book.cellar()["B-1"])
    assert [(each.value, each.doubt) for each in past.measured["ph"]] == [(3.5, 0.04), (3.6, 0.04)]
    assert [entry.kind for entry in past.entries[:2]] == ["strike", "reading"]


def test_a_visit_tells_what_it_found_lost_and_since_when(cellar_book: Book) -> None:
    """Two litres came out of the keg: so much was missing since the barrel was filled. A sample is no loss."""
    cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    cellar_book.write(acts.Top(vessel="B-1", volume=2_000, source="K-1", sure=True))
    past = past_of(cellar_book, cellar_book.cellar()["B-1"])
    (lost,) = past.lost
    assert lost.ml == 1_900
    filled = next(entry for entry in past.entries if entry.kind == "fill")
    assert lost.since == filled.happened_at


def test_an_addition_raises_what_it_raises(cellar_book: Book) -> None:
    """Ten grams of metabisulphite are 5.76 g of SO2, of which six tenths stay free, in 225 L."""
    cellar_book.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=10.0, sure=True))
    past = past_of(cellar_book, cellar_book.cellar()["B-1"])
    assert past.raised["free_so2_mg_l"][0].by == pytest.approx(10 * 576 * 0.6 / 225)
    assert past.raised["total_so2_mg_l"][0].by == pytest.approx(10 * 576 / 225)


def test_only_this_fill_counts_for_what_is_in_it(cellar_book: Book) -> None:
    """Emptied, nothing in it has a past."""
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.5))
    standing = cellar_book.cellar()["B-1"]
    assert len(past_of(cellar_book, standing).this_fill(standing, "ph")) == 1
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-1", volume=225_000, empties=True, sure=True))
    standing = cellar_book.cellar()["B-1"]
    past = past_of(cellar_book, standing)
    assert past.this_fill(standing, "ph") == ()
    assert len(past.measured["ph"]) == 1
