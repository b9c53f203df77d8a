"""Samples pulled for a flight: all of them and the flight, or nothing."""

import itertools
from typing import Any

import pytest
from sqlalchemy import event

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.tasting.difference.errors import TooFewAnswers
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.flights import EmptyFlight, NotAScale, flights
from cooperage.tasting.flights.errors import NothingToTaste
from cooperage.tasting.pulling import FIRST_PULL_ML, last_pull, pull_flight


def samples(book: Book) -> Any:
    with book.reading() as connection:
        return entries(connection, kind="sample")


def test_one_sample_is_written_from_each_vessel(cellar_book: Book) -> None:
    """Two vessels, 50 ml each; the hidden duplicate is poured from the same sample."""
    poured = pull_flight(cellar_book, ["B-1", "K-1"], 50, name="spring", hidden_duplicate=True, hand="Ada")
    assert [(entry.vessel, entry.moves[0].ml, entry.hand) for entry in samples(cellar_book)] == [
        ("B-1", 50, "Ada"),
        ("K-1", 50, "Ada"),
    ]
    assert len(poured.glasses) == 3
    assert [flight.code for flight in flights(cellar_book)] == [poured.code]


def test_a_difference_test_is_pulled_as_a_flight_is(cellar_book: Book) -> None:
    """One sample of each vessel, none of what is on the bench; refused, neither the sample nor the test is written."""
    question = DifferenceQuestion("triangle")
    given: Any = {"bench": ["with acid"], "name": "spring", "each_ml": 50, "hand": "Ada"}
    with pytest.raises(TooFewAnswers):
        start_difference(cellar_book, ["b-1"], question, ["Ada"], **given)
    assert samples(cellar_book) == []
    start_difference(cellar_book, ["b-1"], question, ["Ada"], **given, sure=True)
    assert [(each.vessel, each.moves[0].ml, each.hand, each.note) for each in samples(cellar_book)] == [
        ("B-1", 50, "Ada", "for the flight spring")
    ]
    start_difference(cellar_book, ["B-1", "K-1"], question, ["Ada"], sure=True)
    assert len(samples(cellar_book)) == 1


def test_a_control_is_pulled_too_and_once(cellar_book: Book) -> None:
    """The reference gets its sample; a control that is tasted besides is pulled once and poured twice."""
    poured = pull_flight(cellar_book, ["b-1"], 50, reference="K-1", control="B-1", attributes=["oak"], tasters=["Ada"])
    assert [entry.vessel for entry in samples(cellar_book)] == ["B-1", "K-1"]
    assert sorted((glass.vessel, glass.role) for glass in poured.glasses) == [
        ("B-1", ""),
        ("B-1", "control"),
        ("K-1", "reference"),
    ]
    assert (list(poured.orders), poured.attributes[0].name) == (["Ada"], "oak")


def test_without_a_volume_only_the_flight_is_poured(cellar_book: Book) -> None:
    """Samples that were pulled and written before are not written again."""
    pull_flight(cellar_book, ["B-1"], None)
    assert samples(cellar_book) == []
    assert len(flights(cellar_book)) == 1


def test_a_vessel_that_holds_less_stops_everything(cellar_book: Book) -> None:
    """An empty barrel among them: no sample is written from the others either, and no flight is poured."""
    with pytest.raises(NothingToTaste):
        pull_flight(cellar_book, ["B-1", "B-2"], 50)
    assert samples(cellar_book) == []
    assert flights(cellar_book) == []


@pytest.mark.parametrize(("tags", "scale", "error"), [([], "0-20", EmptyFlight), (["B-1"], "tall", NotAScale)])
def test_a_flight_that_cannot_be_poured_takes_no_samples(
    cellar_book: Book, tags: list[Any], scale: str, error: Any
) -> None:
    """Vessels and scale are looked at first."""
    with pytest.raises(error):
        pull_flight(cellar_book, tags, 50, scale=scale)
    assert samples(cellar_book) == []


def test_a_stop_at_any_statement_leaves_samples_and_flight_or_neither(cellar_book: Book) -> None:
    """The program dies before each statement in turn, on both backends; at last none is left at which it could."""
    engine = cellar_book._engine

    class Died(Exception):
        pass

    def until(last: Any) -> Any:
        seen = itertools.count()

        def die(*_: Any) -> None:
            if next(seen) == last:
                raise Died

        return die

    for last in itertools.count():
        die = until(last)
        event.listen(engine, "before_cursor_execute", die)
        try:
            pull_flight(cellar_book, ["B-1", "K-1"], 50)
        except Died:
            is_done = False
        else:
            is_done = True
        finally:
            event.remove(engine, "before_cursor_execute", die)
        if is_done:
            break
        assert (samples(cellar_book), flights(cellar_book)) == ([], [])
    assert (len(samples(cellar_book)), len(flights(cellar_book))) == (2, 1)
    assert last > 10, "it died at every statement before"


def test_the_next_pull_is_the_hands_last(cellar_book: Book) -> None:
    """A hand's own before another's; a sample for no flight, and one that is struck, are no pull."""
    clock: Any = cellar_book.now
    assert last_pull(cellar_book, "Ada") == FIRST_PULL_ML
    for hand, ml in (("Ada", 60), ("Bea", 35)):
        clock.pass_days(1)
        pull_flight(cellar_book, ["B-1"], ml, hand=hand)
    clock.pass_days(1)
    cellar_book.write(acts.Sample(vessel="B-1", volume=100, hand="Ada"))
    pull_flight(cellar_book, ["B-1"], None, hand="Ada")
    clock.pass_days(1)
    assert [last_pull(cellar_book, hand) for hand in ("Ada", "Bea", "Cleo")] == [60, 35, 35]
    cellar_book.write(acts.Strike(entry=next(each.id for each in samples(cellar_book) if each.moves[0].ml == 60)))
    assert last_pull(cellar_book, "Ada") == 35
