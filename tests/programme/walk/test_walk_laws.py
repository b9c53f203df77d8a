"""Any walk keeps the laws of the book: generated lines at stops go through the functions the rounds screen calls."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries
from cooperage.errors import CooperageError
from cooperage.programme.rounds.due import rounds
from cooperage.programme.walk.progress import begin_sheet, end_walk, mark_all, open_walk
from cooperage.programme.walk.stop_line import parse_stop_line, write_stop_acts
from cooperage.programme.walk.stops import next_open, stops_of
from cooperage.programme.walk.summary import summarise_walk
from tests.examples import tried_on

if TYPE_CHECKING:
    from tests.conftest import Clock

pytestmark = pytest.mark.slow
LINES = (
    *("1.2", "0.4", "2", "3.5 not full", "1.8 weeping", "dip 30 1.8", "dip 45", "very low", "full", "", "; dusty"),
    *("24", "so2 22", "0.5 so2 24 air 12 70; foam", "6", "1.1 from T-1", "1 from B-3", "egg", "nonsense", "0", "ok"),
    *("1.1; so2 24 ph 3.41; weeping, smells of vinegar", "taste clean", "add 3 g kmbs, 0.8", "skip", "weepin"),
)


@dataclass(frozen=True)
class Step:
    """What the hand does next: says a line, leaves the stop, strikes the last entry, waits, or turns to a sheet."""

    what: str
    line: str
    sure: bool


steps = st.builds(
    Step,
    what=st.sampled_from(["say"] * 12 + ["skipped", "out of reach", "strike", "wait", "sheet", "end", "power cut"]),
    line=st.sampled_from(LINES),
    sure=st.booleans(),
)


class Hand:
    """Somebody who walks the rounds of a book as the screen lets them."""

    def __init__(self, book: Book) -> None:
        self.book, self.clock = book, cast("Clock", book.now)
        book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
        book.write(acts.Rack(vessel="T-1", destination="K-1", volume=45_000))
        for tag in ("B-1", "B-2", "B-4"):
            book.write(acts.Fill(vessel=tag, source="T-1"))
        self.clock.pass_days(70)
        self.walk = open_walk(book)
        self.acknowledged: list[str] = []
        self.refusals: list[str] = []

    def does(self, step: Step) -> None:
        """Take one step; whatever is refused leaves the book as it was."""
        match step.what:
            case "say" | "skipped" | "out of reach":
                self._at_the_stop(step)
            case "strike":
                self._try(self._strike)
            case "wait":
                self.clock.pass_days(9)
            case "sheet" if self.walk.walked_at is None:
                self.walk = begin_sheet(self.book, self.book.now() - timedelta(days=2))
            case "end":
                end_walk(self.book, self.walk)
                self.walk = open_walk(self.book)
            case "power cut":
                before = self.walk
                self.walk = open_walk(self.book)
                assert self.walk == before

    def _at_the_stop(self, step: Step) -> None:
        at = self.walk.walked_at
        cellar = self.book.cellar(at)
        stops = stops_of(rounds(cellar), self.walk, cellar)
        here = next_open(stops, -1)
        if here is None:
            return
        stop = stops[here]
        if step.what != "say":
            mark_all(self.book, self.walk, [(stop.tag, task) for task in stop.open_tasks], step.what)
            return

        def write() -> None:
            message = parse_stop_line(stop, step.line, {"from": stop.keg or ""}, self.book.now())
            written = write_stop_acts(self.book, self.walk, stop, message, sure=step.sure)
            self.acknowledged += [each.id for each in written]

        self._try(write)

    def _strike(self) -> None:
        struck = self.book.write(acts.Strike(entry=self.acknowledged[-1] if self.acknowledged else "last")).act
        assert isinstance(struck, acts.Strike)
        self.acknowledged = [known for known in self.acknowledged if known != struck.entry]

    def _try(self, work: Any) -> None:
        try:
            work()
        except CooperageError as error:
            self.refusals.append(str(error))


@tried_on(60)
@given(walk=st.lists(steps, min_size=5, max_size=25))
def test_any_walk_keeps_the_laws_and_loses_nothing(fresh_sqlite: Callable[[], Book], walk: list[Any]) -> None:
    """Every law of `check` holds, what was written and not struck stands, and the walk can be summed up."""
    hand = Hand(fresh_sqlite())
    for step in walk:
        hand.does(step)
    assert not [finding for finding in hand.book.check() if finding.broken]
    assert not [refusal for refusal in hand.refusals if "\n" in refusal]
    with hand.book.reading() as connection:
        standing = {entry.id for entry in entries(connection, standing=True)}
    assert set(hand.acknowledged) <= standing
    cellar = hand.book.cellar(hand.walk.walked_at)
    stops = stops_of(rounds(cellar), hand.walk, cellar)
    result = summarise_walk(hand.book, hand.walk, stops)
    assert sum(map(len, result.states.values())) == len(stops)


def test_the_generated_walks_do_get_somewhere(fresh_sqlite: Callable[[], Book]) -> None:
    """Every line said three times, with weeks between: many are written, so the law above is not about nothing."""
    hand = Hand(fresh_sqlite())
    for line in LINES * 3:
        hand.does(Step("say", line, sure=True))
        hand.does(Step("wait", "", sure=True))
    assert len(hand.acknowledged) >= 30
