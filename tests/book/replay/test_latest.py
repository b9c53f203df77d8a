"""Reading the cellar again makes only those states anew that have changed, and never tells anything stale."""

from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, text

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.replay.state import to_text
from cooperage.book.store.tables import STATE

if TYPE_CHECKING:
    from tests.conftest import Clock


def states_of(book: Book) -> Any:
    return {standing.tag: standing.state for standing in book.cellar()}


def test_only_what_has_changed_is_made_anew(cellar_book: Book) -> None:
    """A topping touches its barrel and its keg; every other state is the very one read before."""
    before = states_of(cellar_book)
    cellar_book.write(acts.Top(vessel="B-1", source="K-1", volume=400, sure=True))
    after = states_of(cellar_book)
    assert {tag for tag in after if after[tag] is not before[tag]} == {"B-1", "K-1"}


def test_a_state_read_before_is_not_changed_by_what_is_written_later(cellar_book: Book) -> None:
    """Who still holds the cellar of before sees it as it was."""
    before = cellar_book.cellar()
    held = {standing.tag: to_text(standing.state) for standing in before}
    cellar_book.write(acts.Top(vessel="B-1", source="K-1", volume=400, sure=True))
    cellar_book.cellar()
    assert {standing.tag: to_text(standing.state) for standing in before} == held


def test_a_late_entry_and_a_strike_are_seen(cellar_book: Book, clock: "Clock") -> None:
    """The past changed: the next reading tells it, as a book that was opened afresh would."""
    clock.pass_days(20)
    at = cellar_book.now()
    clock.pass_days(20)
    cellar_book.cellar()
    for act in (acts.Top(vessel="B-1", source="K-1", volume=300, at=at, sure=True), acts.Strike(entry="last")):
        cellar_book.write(act)
        again = type(cellar_book)(cellar_book._engine, cellar_book.now)
        kept = {tag: to_text(state) for tag, state in states_of(cellar_book).items()}
        assert kept == {tag: to_text(state) for tag, state in states_of(again).items()}


def test_a_dropped_or_foreign_cache_is_passed_over(cellar_book: Book) -> None:
    """Without its rows, or with one that another version wrote, the states are reckoned from the entries."""
    result = {tag: to_text(state) for tag, state in states_of(cellar_book).items()}
    with cellar_book.writing() as session:
        session.connection.execute(text("UPDATE reckoned SET state = '{}'"))
    assert {tag: to_text(state) for tag, state in states_of(cellar_book).items()} == result
    with cellar_book.writing() as session:
        session.connection.execute(delete(STATE))
    assert {tag: to_text(state) for tag, state in states_of(cellar_book).items()} == result
