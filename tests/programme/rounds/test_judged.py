"""What is decided about a vessel: when it is tasted again, and that nothing is drawn from one in quarantine."""

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from cooperage.blending.fit import StockUnknown
from cooperage.blending.from_cellar import pool_of
from cooperage.blending.solving import solve
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import NotAVerdict
from cooperage.book.errors import InQuarantine
from cooperage.programme.ageing.aged import aged
from cooperage.programme.rounds.due import Due, Task, next_due
from cooperage.programme.rounds.kegs import kegs_of, sources_for

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def clock_of(cellar_book: Book, clock: "Clock") -> "Clock":
    clock.pass_days(1)
    return clock


def taste_due(book: Book) -> Due:
    cellar = book.cellar()
    return next(due for due in next_due(cellar["B-1"], cellar) if due.task is Task.TASTE)


def test_a_look_that_was_decided_stands_in_place_of_the_interval(cellar_book: Book, clock_of: "Clock") -> None:
    """Eight weeks are eight weeks; struck, the interval counts again, as if nothing had been decided."""
    before = taste_due(cellar_book)
    judged = cellar_book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=8, flight="F-4"))
    due = taste_due(cellar_book)
    assert due.due == judged.at + timedelta(weeks=8)
    assert due.why == "look again in 8 weeks, decided today (F-4)"
    cellar_book.write(acts.Strike(entry=judged.id))
    assert taste_due(cellar_book) == before


def test_a_sample_soon_after_does_not_stand_for_the_look_and_one_near_its_time_does(
    cellar_book: Book, clock_of: "Clock"
) -> None:
    """A sample for the laboratory in the first week changes nothing; one in the eighth is the look."""
    judged = cellar_book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=8))
    clock_of.pass_days(7)
    cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    assert taste_due(cellar_book).due == judged.at + timedelta(weeks=8)
    clock_of.pass_days(45)
    tasted = cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    assert taste_due(cellar_book).due > tasted.at
    assert "tasted or sampled" in taste_due(cellar_book).why


def test_nothing_is_drawn_from_quarantine_until_it_is_lifted(cellar_book: Book, clock_of: "Clock") -> None:
    """No blend, no topping; another verdict lifts it, and that struck it is in quarantine again."""
    topping = acts.Top(vessel="B-1", volume=100, source="K-1", sure=True)
    blend = acts.Blend(vessel="T-2", draws=(("K-1", 1000), ("T-1", 1000)))
    cellar_book.write(acts.Judge(vessel="K-1", verdict="quarantine"))
    for act in (topping, blend):
        with pytest.raises(InQuarantine, match=r"^K-1 is in quarantine, so nothing is drawn from it; another verdict"):
            cellar_book.write(act)
    cellar = cellar_book.cellar()
    assert kegs_of(cellar) == []
    assert "K-1" not in [source.tag for source in sources_for(cellar["B-1"], cellar)]
    lifted = cellar_book.write(acts.Judge(vessel="K-1", verdict="keep"))
    cellar_book.write(blend)
    cellar_book.write(acts.Strike(entry=lifted.id))
    assert cellar_book.cellar()["K-1"].is_quarantined


def test_a_blend_leaves_out_what_is_in_quarantine(cellar_book: Book, clock_of: "Clock") -> None:
    """It is named with the reason, and a brief that insists on it is refused in one line."""
    cellar_book.write(acts.Judge(vessel="B-1", verdict="quarantine"))
    pool = pool_of(aged(cellar_book.cellar()), {})
    answer = solve(pool, {"litres": 50})
    assert [(out.stock, out.why) for out in answer.left_out] == [("B-1", "in quarantine")]
    with pytest.raises(StockUnknown, match="B-1 cannot be drawn: in quarantine"):
        solve(pool, {"litres": 50, "draws": {"must": ["B-1"]}})


def test_a_verdict_is_of_the_mead_and_a_quarantine_of_the_vessel(cellar_book: Book, clock_of: "Clock") -> None:
    """Emptied, what was decided of the mead is gone; a quarantine stays until somebody lifts it."""
    for verdict, stays in (("ready", False), ("quarantine", True)):
        cellar_book.write(acts.Judge(vessel="K-1", verdict=verdict))
        cellar_book.write(acts.Rack(vessel="K-1", destination="T-1", empties=True))
        assert (cellar_book.cellar()["K-1"].judged is not None) == stays
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=20_000))


@pytest.mark.parametrize(
    ("verdict", "weeks", "why"),
    [
        ("look again", None, "'look again' needs the weeks until then"),
        ("keep", 8, "'keep' takes no weeks"),
        ("look again", 0, "0 weeks is no time"),
        ("pour away", None, "'pour away' is not"),
    ],
)
def test_what_is_no_verdict_is_refused(cellar_book: Book, verdict: str, weeks: int | None, why: str) -> None:
    """One line that says what to give."""
    with pytest.raises((NotAVerdict, ValueError), match=why):
        cellar_book.write(acts.Judge(vessel="B-1", verdict=verdict, weeks=weeks))
