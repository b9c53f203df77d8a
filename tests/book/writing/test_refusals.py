"""What the book refuses: each rule by name, the figures in the message, and nothing changed."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Barrel, Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.properties import UnknownProperty
from cooperage.book.declared.substances import UnknownSubstance, UnknownTreatment
from cooperage.book.errors import (
    ID_LETTERS,
    AlreadyStruck,
    AlreadyThere,
    Implausible,
    Incomplete,
    InTheFuture,
    NoSuchEntry,
    NoSuchLot,
    NoSuchVessel,
    NotABarrel,
    NothingMoved,
    NothingToStrike,
    NothingToTrace,
    NotPossible,
    SameVessel,
    SourceHoldsLess,
    VesselIsEmpty,
    VesselIsRetired,
    VesselNotEmpty,
    WouldOverflow,
)
from cooperage.book.log import entries
from cooperage.book.replay.latest import LatestStates
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.units import Units, show_when

if TYPE_CHECKING:
    from tests.conftest import Clock


def everything(book: Book) -> Any:
    """All entries and all kept states: what must not change."""
    with book.reading() as connection:
        states, _ = LatestStates().read(connection, Registry(connection))
        return [e.id for e in entries(connection)], {key: to_text(state) for key, state in states.items()}


def write_all(book: Book, run: Any) -> None:
    """Write several acts in one transaction."""
    with book.writing() as session:
        for act in run:
            session.write(act)


def refused(book: Book, act: Any, error: Any) -> Any:
    """Write an act that must be refused; nothing may have changed. Returns the error."""
    before = everything(book)
    with pytest.raises(error) as caught:
        book.write(act)
    assert everything(book) == before
    assert "\n" not in str(caught.value)
    return caught.value


def test_an_unknown_tag_names_the_nearest(cellar_book: Book) -> None:
    """A tag that nobody bears is refused with the tags that look like it."""
    error = refused(cellar_book, acts.Sample(vessel="B-11", volume=100), NoSuchVessel)
    assert "did you mean B-1" in str(error)


def test_more_than_is_there(cellar_book: Book) -> None:
    """A keg of 40 L cannot give 41 L; the message has both figures."""
    error = refused(cellar_book, acts.Rack(vessel="K-1", destination="T-2", volume=41_000), SourceHoldsLess)
    assert str(error) == "K-1 holds 40.0 L; 41.0 L cannot come out of it"
    assert error.volumes_ml == {"asked": 41_000, "there": 40_000}


def test_a_topping_of_more_than_all_there_is_names_the_keg(cellar_book: Book) -> None:
    """800 L can have evaporated from no barrel either; what is wrong is what the keg holds."""
    act = acts.Top(vessel="B-1", source="K-1", volume=800_000, sure=True)
    error = refused(cellar_book, act, SourceHoldsLess)
    assert str(error) == "K-1 holds 40.0 L; 800.0 L cannot come out of it"


def test_the_message_speaks_the_persons_units(cellar_book: Book) -> None:
    """Somebody who thinks in gallons is told gallons."""
    error = refused(cellar_book, acts.Rack(vessel="K-1", destination="T-2", volume=41_000), SourceHoldsLess)
    assert error.words(Units(volume="gal")) == "K-1 holds 10.57 gal; 10.83 gal cannot come out of it"


def test_over_the_brim(cellar_book: Book) -> None:
    """A full barrel has room for nothing."""
    error = refused(cellar_book, acts.Fill(vessel="B-1", source="T-1", volume=1_000), WouldOverflow)
    assert error.volumes_ml == {"asked": 1_000, "room": 0}


def test_the_future(cellar_book: Book, clock: "Clock") -> None:
    """What has not happened cannot be written."""
    tomorrow = clock() + timedelta(days=1)
    error = refused(cellar_book, acts.Sample(vessel="B-1", volume=100, at=tomorrow), InTheFuture)
    assert error.happened_at == tomorrow
    assert timedelta(0) < clock() - error.now < timedelta(hours=1)
    assert str(error) == (
        f"{show_when(tomorrow)} is in the future (it is {show_when(error.now)}); write it when it is done"
    )


def test_an_imported_entry_cannot_be_written_before_it_happened(cellar_book: Book, clock: "Clock") -> None:
    """The line names when it would have been done, and when it was written down."""
    written_at = clock()
    done_at = written_at + timedelta(minutes=30)
    clock.pass_days(1)
    with pytest.raises(InTheFuture) as caught, cellar_book.writing() as session:
        session.write(acts.Sample(vessel="B-1", volume=100, at=done_at), written_at=written_at)
    assert (caught.value.happened_at, caught.value.now) == (done_at, written_at)


def test_a_retired_vessel(cellar_book: Book) -> None:
    """Nothing is done to a retired vessel, whichever end of the act it is."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    cellar_book.write(acts.Retire(vessel="B-1", reason="musty"))
    for act in (
        acts.Fill(vessel="B-1", source="T-1", volume=10_000),
        acts.Treat(vessel="B-1", treatment="rinse"),
        acts.Shift(vessel="B-1", room="Low"),
        acts.Reading(vessel="B-1", property="abv", value=13.0),
        acts.Retire(vessel="B-1", reason="again"),
    ):
        assert "musty" in str(refused(cellar_book, act, VesselIsRetired))


@pytest.mark.parametrize("received", [-1.0, 2e9])
def test_a_sum_that_cannot_be_is_refused(cellar_book: Book, received: float) -> None:
    """What was received for a barrel is no debt and no fortune."""
    refused(cellar_book, acts.Retire(vessel="B-2", reason="spent", received=received), NotPossible)


def test_a_full_vessel_is_not_retired_nor_steamed(cellar_book: Book) -> None:
    """A vessel is emptied before it is retired, and before heat goes in."""
    refused(cellar_book, acts.Retire(vessel="B-1", reason="spent"), VesselNotEmpty)
    refused(cellar_book, acts.Treat(vessel="B-1", treatment="steam"), VesselNotEmpty)


def test_nothing_is_done_to_mead_that_is_not_there(cellar_book: Book) -> None:
    """An empty barrel is not topped, racked or dosed."""
    refused(cellar_book, acts.Top(vessel="B-2", volume=1_000, source="K-1"), VesselIsEmpty)
    refused(cellar_book, acts.Rack(vessel="B-2", destination="T-2"), VesselIsEmpty)
    refused(cellar_book, acts.Addition(vessel="B-2", substance="metabisulphite", amount=5.0), VesselIsEmpty)


def test_a_vessel_cannot_feed_itself(cellar_book: Book) -> None:
    """Source and destination are two vessels."""
    refused(cellar_book, acts.Rack(vessel="T-1", destination="T-1", volume=1_000), SameVessel)


def test_nothing_moved(cellar_book: Book) -> None:
    """A zero is a slip, not an entry; what says too little is told what it needs."""
    refused(cellar_book, acts.Sample(vessel="B-1", volume=0), NothingMoved)
    refused(cellar_book, acts.Blend(vessel="T-2", draws=()), Incomplete)
    error = refused(cellar_book, acts.Gauge(vessel="B-1"), Incomplete)
    assert str(error) == "a gauge needs a volume or a headspace"


def test_names_that_are_not_declared(cellar_book: Book) -> None:
    """Lots, properties, substances and treatments are known by name."""
    refused(cellar_book, acts.Receive(lot="NONE", vessel="T-2", volume=1_000), NoSuchLot)
    refused(cellar_book, acts.Reading(vessel="B-1", property="colour", value=1.0), UnknownProperty)
    refused(cellar_book, acts.Addition(vessel="B-1", substance="gold", amount=1.0), UnknownSubstance)
    refused(cellar_book, acts.Treat(vessel="B-1", treatment="sing"), UnknownTreatment)
    refused(cellar_book, acts.Strike(entry="ffff"), NoSuchEntry)
    with pytest.raises(NothingToTrace):
        cellar_book.trace("NO-SUCH")


@pytest.mark.slow
def test_a_fill_goes_into_a_barrel(cellar_book: Book) -> None:
    """A tank is racked into, not filled; and a tank has no bung to dip under."""
    refused(cellar_book, acts.Fill(vessel="T-2", source="T-1", volume=1_000), NotABarrel)
    refused(cellar_book, acts.Gauge(vessel="T-1", headspace=30.0), NotABarrel)


def test_a_tag_and_a_bottling_code_are_the_only_ones(cellar_book: Book) -> None:
    """A second vessel or bottling of the same name is refused; a struck bottling's code is free again."""
    with pytest.raises(AlreadyThere), cellar_book.writing() as session:
        session.add_vessel(Vessel("", "b-1", "barrel", 225_000))
    first = cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=10))
    refused(cellar_book, acts.Bottle(vessel="B-1", code="NIGHT", bottles=10), AlreadyThere)
    cellar_book.write(acts.Strike(entry=first.id))
    cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=10))


@pytest.mark.parametrize(
    ("name", "value"), [("ph", 35.0), ("abv", 135.0), ("sg", 1.9), ("headspace_mm", -3.0), ("va_g_l", 50.0)]
)
def test_what_no_instrument_can_show(cellar_book: Book, name: str, value: float) -> None:
    """A slipped decimal point outside all that can be is refused."""
    refused(cellar_book, acts.Reading(vessel="B-1", property=name, value=value, sure=True), NotPossible)


@pytest.mark.parametrize(
    "act",
    [
        acts.Top(vessel="B-1", volume=5_000, source="K-1"),
        acts.Sample(vessel="B-1", volume=5_000),
        acts.Reading(vessel="B-1", property="va_g_l", value=1.6),
        acts.Addition(vessel="B-1", substance="metabisulphite", amount=60.0),
        acts.Gauge(vessel="B-1", volume=150_000),
    ],
    ids=["5 L into one barrel", "5 L sample", "high VA", "tenfold dose", "75 L gone"],
)
def test_the_implausible_is_asked_back_and_goes_through_when_it_is_so(cellar_book: Book, act: Any) -> None:
    """What is more likely a slip is asked back; the same act with 'sure' is written."""
    from dataclasses import replace

    error = refused(cellar_book, act, Implausible)
    assert "sure" in str(error)
    if isinstance(act, acts.Top):
        cellar_book.write(acts.Sample(vessel="B-1", volume=1_000))
    cellar_book.write(replace(act, sure=True))


def test_a_topping_that_cannot_be_squared_is_asked_back(cellar_book: Book) -> None:
    """A barrel topped a minute after it was full cannot have lost 4 L; one 40 L short is not filled by 1 L."""
    refused(cellar_book, acts.Top(vessel="B-1", volume=4_000, source="K-1"), Implausible)
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2", volume=40_000))
    refused(cellar_book, acts.Top(vessel="B-1", volume=1_000, source="K-1"), Implausible)


def test_a_flame_in_a_spirit_barrel_is_asked_back_with_the_caution(cellar_book: Book) -> None:
    """Sulphur is not burned in a barrel that held whiskey before somebody has read why."""
    error = refused(cellar_book, acts.Treat(vessel="B-3", treatment="sulphur wick"), Implausible)
    assert "flame" in str(error)


@pytest.mark.parametrize(("past", "held"), [(None, "its past is unknown"), ("fortified", "held port-like")])
def test_no_flame_near_a_barrel_that_may_have_held_spirit(cellar_book: Book, past: str | None, held: str) -> None:
    """What nobody knows is asked back like what everybody knows; a barrel that held none is not."""
    with cellar_book.writing() as session:
        barrel = Barrel(past_life="port-like" if past else None, past_kind=past)
        session.add_vessel(Vessel("", "B-9", "barrel", 225_000, barrel=barrel))
        session.add_vessel(Vessel("", "B-8", "barrel", 225_000, barrel=Barrel(past_kind="wine")))
    error = refused(cellar_book, acts.Treat(vessel="B-9", treatment="sulphur wick"), Implausible)
    assert held in str(error)
    cellar_book.write(acts.Treat(vessel="B-8", treatment="sulphur wick"))


def test_a_strike_is_not_struck_nor_an_entry_twice(cellar_book: Book) -> None:
    """Struck is struck."""
    entry = cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    strike = cellar_book.write(acts.Strike(entry=entry.id))
    refused(cellar_book, acts.Strike(entry=entry.id), AlreadyStruck)
    refused(cellar_book, acts.Strike(entry=strike.id), AlreadyStruck)


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("ffff", "there is no entry 'ffff'; "),
        ("", "there is no entry ''; "),
        (" ", "there is no entry ' '; "),
        ("%", "there is no entry '%'; "),
        ("_", "there is no entry '_'; "),
        ("0", "more than one entry begins with '0'; "),
    ],
)
def test_an_entry_is_struck_only_by_letters_that_it_alone_begins_with(cellar_book: Book, typed: str, line: str) -> None:
    """A blank or a search sign names none, a beginning that several share is no name, and the line says which."""
    error = refused(cellar_book, acts.Strike(entry=typed), NoSuchEntry)
    assert str(error).startswith(line)


def test_an_id_as_it_is_shown_is_of_one_entry_alone(cellar_book: Book) -> None:
    """Entries of one moment differ in their number within it; where a beginning is shared, longer ones are named."""
    with cellar_book.writing() as session:
        samples = [session.write(acts.Sample(vessel="B-1", volume=100)) for _ in range(3)]
    shown = [sample.id[:ID_LETTERS] for sample in samples]
    error = refused(cellar_book, acts.Strike(entry=samples[1].id[:12]), NoSuchEntry)
    assert str(error).endswith(f"give more of it, such as {', '.join(shown)}")
    strike = cellar_book.write(acts.Strike(entry=shown[1])).act
    assert strike == acts.Strike(entry=samples[1].id)


@pytest.mark.parametrize("typed", ["%", "_", ""])
def test_no_search_sign_strikes_the_only_entry(book: Book, typed: str) -> None:
    """A book of one entry is no excuse: what is typed must be the beginning of its id."""
    from tests.conftest import furnish

    furnish(book)
    entry = book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=1_000))
    refused(book, acts.Strike(entry=typed), NoSuchEntry)
    book.write(acts.Strike(entry=entry.id[:1].upper()))
    assert book.cellar()["T-1"].ml == 0


def test_an_empty_book_has_nothing_to_strike(book: Book) -> None:
    """The last entry of a book without entries cannot be struck."""
    refused(book, acts.Strike(entry="last"), NothingToStrike)


@pytest.mark.slow
def test_a_refused_act_among_many_takes_all_of_them_back(cellar_book: Book) -> None:
    """One transaction: all are written, or none."""
    before = everything(cellar_book)
    run = [acts.Sample(vessel="B-1", volume=100), acts.Rack(vessel="K-1", destination="T-2", volume=900_000)]
    with pytest.raises(SourceHoldsLess):
        write_all(cellar_book, run)
    assert everything(cellar_book) == before


def test_a_reading_of_an_empty_vessel_is_asked_back(cellar_book: Book) -> None:
    """A barrel that was never filled has no pH; who is sure may write it all the same."""
    reading = acts.Reading(vessel="B-2", property="ph", value=3.4)
    with pytest.raises(Implausible, match="B-2 is empty in the book") as caught:
        cellar_book.write(reading)
    assert "--sure" in str(caught.value)
    cellar_book.write(replace(reading, sure=True))
