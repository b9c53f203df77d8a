"""Late, back-dated and struck entries change everything after them, or are refused with the later entry named."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import ID_LETTERS, LaterEntryImpossible
from cooperage.book.log import entries
from cooperage.book.replay.latest import LatestStates
from cooperage.book.replay.snapshots import replayed
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.book.words import entry_line
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.conftest import Clock


def states(book: Book, *, anew: Any = False) -> Any:
    with book.reading() as connection:
        registry = Registry(connection)
        found = replayed(connection, registry) if anew else LatestStates().read(connection, registry)[0]
        return {registry.by_id(key).tag: to_text(state) for key, state in found.items()}


def test_a_late_entry_changes_what_came_after(cellar_book: Book, clock: "Clock") -> None:
    """100 L racked out the day before yesterday, written today, are missing from yesterday on."""
    day_1 = clock.pass_days(1)
    day_2 = clock.pass_days(1)
    clock.pass_days(1)
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=100_000, at=day_1))
    assert cellar_book.cellar(day_2)["T-1"].ml == 535_000
    assert cellar_book.cellar()["T-2"].ml == 100_000
    assert states(cellar_book) == states(cellar_book, anew=True)


def test_a_late_addition_of_mead_flows_on(cellar_book: Book, clock: "Clock") -> None:
    """Another lot that had been in the tank before the barrel was filled is in the barrel, too."""
    before_the_fill = clock.time
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=100_000))
    clock.pass_days(1)
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    assert set(cellar_book.cellar()["B-2"].lots) == {"HEATHER"}
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-1", volume=100_000, at=before_the_fill))
    assert set(cellar_book.cellar()["B-2"].lots) == {"HEATHER", "LIME"}


def test_a_late_entry_that_would_empty_a_later_one_is_refused_and_names_it(cellar_book: Book, clock: "Clock") -> None:
    """30 L taken from the keg last week would leave yesterday's 35 L nothing to come from."""
    last_week = clock.time
    clock.pass_days(7)
    later = cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=35_000))
    clock.pass_days(1)
    before = states(cellar_book)
    with pytest.raises(LaterEntryImpossible) as caught:
        cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=30_000, at=last_week))
    assert (caught.value.tag, caught.value.later_id, caught.value.later_kind) == ("K-1", later.id, "rack")
    assert states(cellar_book) == before


def test_a_late_entry_that_would_overflow_a_later_one_is_refused(cellar_book: Book, clock: "Clock") -> None:
    """A barrel filled yesterday was empty before: what is put in late runs over then."""
    early = clock.time
    clock.pass_days(1)
    cellar_book.write(acts.Fill(vessel="B-2", source="T-1"))
    clock.pass_days(1)
    with pytest.raises(LaterEntryImpossible, match="run over"):
        cellar_book.write(acts.Fill(vessel="B-2", source="T-1", volume=10_000, at=early))


def test_a_late_fill_of_a_barrel_retired_since_is_refused(cellar_book: Book, clock: "Clock") -> None:
    """A barrel retired empty cannot have been filled the day before."""
    early = clock.time
    clock.pass_days(1)
    cellar_book.write(acts.Retire(vessel="B-2", reason="sold"))
    clock.pass_days(1)
    with pytest.raises(LaterEntryImpossible, match="not be empty"):
        cellar_book.write(acts.Fill(vessel="B-2", source="T-1", volume=10_000, at=early))


def test_a_strike_restores(cellar_book: Book, clock: "Clock") -> None:
    """After writing and striking, every state is to the letter what it was."""
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.1))
    before = states(cellar_book)
    clock.pass_days(30)
    written = cellar_book.write(acts.Top(vessel="B-1", volume=1_500, source="K-1"))
    assert states(cellar_book) != before
    cellar_book.write(acts.Strike(entry=written.id))
    assert states(cellar_book) == before


@pytest.mark.slow
def test_a_struck_reading_is_as_if_never_read(cellar_book: Book) -> None:
    """A reading is an entry and can be struck: the older figure is back."""
    cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.4))
    wrong = cellar_book.write(acts.Reading(vessel="B-1", property="ph", value=3.6))
    cellar_book.write(acts.Strike(entry=wrong.id))
    assert cellar_book.cellar()["B-1"].value("ph") == pytest.approx(3.4)


def test_an_old_entry_can_be_struck_when_nothing_depends_on_it(cellar_book: Book, clock: "Clock") -> None:
    """The topping of last month is struck; the keg has its litres back, and today's topping stays."""
    clock.pass_days(30)
    old = cellar_book.write(acts.Top(vessel="B-1", volume=1_500, source="K-1"))
    clock.pass_days(30)
    cellar_book.write(acts.Top(vessel="B-1", volume=1_200, source="K-1"))
    cellar_book.write(acts.Strike(entry=old.id))
    cellar = cellar_book.cellar()
    assert (cellar["K-1"].ml, cellar["B-1"].ml) == (38_800, 225_000)


def test_an_entry_that_others_rest_on_is_not_struck(cellar_book: Book) -> None:
    """The receipt of the lot cannot be struck while its mead is in the barrel."""
    first = cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=300_000))
    cellar_book.write(acts.Fill(vessel="B-2", source="T-2"))
    with pytest.raises(LaterEntryImpossible) as caught:
        cellar_book.write(acts.Strike(entry=first.id))
    assert caught.value.later_kind == "fill"


def test_the_last_entry_is_the_last_written_not_the_last_dated(cellar_book: Book, clock: "Clock") -> None:
    """'last' strikes what the hand wrote last, though it was back-dated."""
    early = clock.time
    clock.pass_days(2)
    cellar_book.write(acts.Sample(vessel="T-1", volume=100))
    cellar_book.write(acts.Sample(vessel="B-1", volume=200, at=early))
    cellar_book.write(acts.Strike(entry="last"))
    assert cellar_book.cellar()["B-1"].ml == 225_000
    cellar_book.write(acts.Strike(entry="last"))
    assert cellar_book.cellar()["T-1"].ml == 635_000


def test_a_late_retirement_of_a_vessel_used_since_is_refused(cellar_book: Book, clock: "Clock") -> None:
    """A barrel rinsed yesterday was not retired the day before."""
    early = clock.time
    clock.pass_days(1)
    cellar_book.write(acts.Treat(vessel="B-2", treatment="rinse"))
    clock.pass_days(1)
    with pytest.raises(LaterEntryImpossible, match="would be retired"):
        cellar_book.write(acts.Retire(vessel="B-2", reason="sold", at=early))


def test_the_later_entry_is_shown_as_everywhere_in_the_persons_units(cellar_book: Book, clock: "Clock") -> None:
    """What must be struck first is the line of the book, with its id."""
    early = clock.time
    clock.pass_days(1)
    later = cellar_book.write(acts.Fill(vessel="B-2", source="T-1", hand="Ada"))
    with pytest.raises(LaterEntryImpossible) as caught:
        cellar_book.write(acts.Fill(vessel="B-2", source="T-1", volume=10_000, at=early))
    with cellar_book.reading() as connection:
        [entry] = entries(connection, ids=[later.id])
    gallons = Units(volume="gal")
    assert entry_line(entry) in str(caught.value)
    assert entry_line(entry, gallons) in caught.value.words(gallons)
    assert later.id[:ID_LETTERS] in str(caught.value)
