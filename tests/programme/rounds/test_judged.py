"""What is decided about a vessel: when it is tasted again, and that nothing is drawn from one in quarantine."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from cooperage.blending.fit import StockBarred
from cooperage.blending.from_cellar import pool_of
from cooperage.blending.solving import solve
from cooperage.book import Book, Cellar
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import NotAVerdict
from cooperage.book.errors import Implausible, InQuarantine
from cooperage.book.vessel_words import judged_words
from cooperage.programme.ageing.aged import aged, cellar_now
from cooperage.programme.rounds.due import Due, Task, next_due
from cooperage.programme.rounds.kegs import kegs_of, sources_for
from cooperage.programme.together import AskedTogether, OneRefused, write_as_one
from cooperage.tasting.flights import reveal, score, start_flight

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def clock_of(cellar_book: Book, clock: "Clock") -> "Clock":
    clock.pass_days(1)
    return clock


def taste_due(book: Book) -> Due:
    return taste_due_in(book.cellar())


def taste_due_in(cellar: Cellar) -> Due:
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


def test_scores_of_a_revealed_flight_meet_a_look_though_nothing_was_pulled(
    cellar_book: Book, clock_of: "Clock"
) -> None:
    """Blind, they meet none: that would show what stands in the glasses. A glass that nobody scored meets none."""
    clock_of.pass_days(50)
    before = taste_due(cellar_book)
    assert before.due < clock_of.time
    poured = start_flight(cellar_book, ["B-1", "K-1"], code="F-1")
    own, other = sorted(poured.glasses, key=lambda glass: glass.vessel or "")
    score(cellar_book, "F-1", other.code, "Ada", 14.0)
    clock_of.pass_days(1)
    assert taste_due(cellar_book).due == before.due
    score(cellar_book, "F-1", own.code, "Ada", 12.0)
    assert taste_due(cellar_book).due == before.due
    reveal(cellar_book, "F-1", sure=True)
    met = taste_due(cellar_book)
    assert met.due == poured.poured_at + timedelta(days=42)
    assert met.why == "tasted or sampled 1 day ago"
    assert taste_due_in(cellar_now(cellar_book)).due == met.due


def test_nothing_is_drawn_from_quarantine_until_it_is_lifted(cellar_book: Book, clock_of: "Clock") -> None:
    """No blend, no topping; another verdict lifts it, and that struck it is in quarantine again."""
    topping = acts.Top(vessel="B-1", volume=100, source="K-1", sure=True)
    blend = acts.Blend(vessel="T-2", draws=(("K-1", 1000), ("T-1", 1000)))
    cellar_book.write(acts.Judge(vessel="K-1", verdict="quarantine"))
    for act in (topping, blend):
        with pytest.raises(
            InQuarantine, match=r"^K-1 is in quarantine, so its mead .* another verdict, such as 'keep', lifts"
        ):
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
    with pytest.raises(StockBarred, match=r"^B-1 cannot be drawn: in quarantine; "):
        solve(pool, {"litres": 50, "draws": {"must": ["B-1"]}})


def test_a_verdict_is_of_the_mead_and_a_quarantine_of_the_vessel(cellar_book: Book, clock_of: "Clock") -> None:
    """Emptied, what was decided of the mead is gone; a quarantine stays until somebody lifts it."""
    for verdict, into, stays in (("ready", "T-1", False), ("quarantine", "T-2", True)):
        cellar_book.write(acts.Judge(vessel="K-1", verdict=verdict))
        cellar_book.write(acts.Rack(vessel="K-1", destination=into, empties=True, sure=True))
        assert (cellar_book.cellar()["K-1"].judged is not None) == stays
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=20_000, sure=True))


OUT_OF_QUARANTINE = (
    acts.Rack(vessel="B-1", destination="T-1", volume=1000),
    acts.Fill(vessel="B-1", source="T-1", volume=1000),
    acts.Bottle(vessel="B-1", code="HE-1", bottles=10, bottle=750),
    acts.Blend(vessel="T-2", draws=(("B-1", 1000),)),
    acts.Top(vessel="K-1", volume=100, source="B-1"),
)


@pytest.mark.parametrize("act", OUT_OF_QUARANTINE, ids=lambda act: act.kind)
def test_mead_in_quarantine_is_not_bottled_and_meets_no_other(
    cellar_book: Book, clock_of: "Clock", act: acts.Act
) -> None:
    """Sure or not; another verdict lifts it, and poured away it harms nothing."""
    cellar_book.write(acts.Sample(vessel="B-1", volume=1000))
    tag = act.source if isinstance(act, acts.Fill) else "B-1"
    cellar_book.write(acts.Judge(vessel=tag, verdict="quarantine"))
    for sure in (False, True):
        with pytest.raises(InQuarantine, match=rf"^{tag} is in quarantine.* another verdict, such as 'keep', lifts"):
            cellar_book.write(replace(act, sure=sure))
    cellar_book.write(acts.Rack(vessel=tag, destination=acts.POURED_AWAY, volume=1000))
    cellar_book.write(acts.Judge(vessel=tag, verdict="keep"))
    cellar_book.write(replace(act, sure=True))


@pytest.mark.parametrize(
    "act",
    [
        acts.Rack(vessel="T-1", destination="T-2", volume=1000),
        acts.Rack(vessel="T-1", destination="T-2", lees=1000, empties=True),
        acts.Fill(vessel="B-2", source="T-1"),
    ],
    ids=["part", "whole", "fill"],
)
def test_a_quarantine_goes_with_the_mead_into_an_empty_vessel(
    cellar_book: Book, clock_of: "Clock", act: acts.Rack | acts.Fill
) -> None:
    """It is asked back; done, both are in quarantine, and struck, the empty vessel is as it was."""
    into = act.vessel if isinstance(act, acts.Fill) else act.destination
    cellar_book.write(acts.Judge(vessel="T-1", verdict="quarantine", flight="F-4"))
    with pytest.raises(Implausible, match=rf"^T-1 is in quarantine, and so would be what it gives to {into}\."):
        cellar_book.write(act)
    moved = cellar_book.write(replace(act, sure=True))
    cellar = cellar_book.cellar()
    assert cellar["T-1"].is_quarantined
    source, carried = cellar["T-1"].judged, cellar[into].judged
    assert source is not None
    assert carried == replace(source, carried_from="T-1")
    assert judged_words(cellar[into]) == "quarantine carried from T-1, decided today (F-4)"
    assert judged_words(cellar_now(cellar_book)[into]) == judged_words(cellar[into])
    assert judged_words(cellar["T-1"]) == "quarantine, decided today (F-4)"
    cellar_book.write(acts.Strike(entry=moved.id))
    assert cellar_book.cellar()[into].judged is None


def test_a_quarantine_written_late_goes_with_the_mead(cellar_book: Book, clock_of: "Clock") -> None:
    """What had left the keg since is in quarantine too; what a taster decided there afterwards stands."""
    before = clock_of.time
    clock_of.pass_days(1)
    cellar_book.write(acts.Top(vessel="B-1", volume=100, source="K-1", sure=True))
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=1000))
    clock_of.pass_days(1)
    cellar_book.write(acts.Judge(vessel="B-1", verdict="keep"))
    late = cellar_book.write(acts.Judge(vessel="K-1", verdict="quarantine", at=before))
    cellar = cellar_book.cellar()
    assert [tag for tag in ("B-1", "K-1", "T-1", "T-2") if cellar[tag].is_quarantined] == ["K-1", "T-2"]
    assert [finding.law for finding in cellar_book.check() if finding.broken] == []
    cellar_book.write(acts.Strike(entry=late.id))
    assert not any(standing.is_quarantined for standing in cellar_book.cellar())


def test_a_move_written_late_heeds_the_quarantine_of_its_day(cellar_book: Book, clock_of: "Clock") -> None:
    """A racking before the verdict is taken as it was, one after it is refused though it was lifted since."""
    before = clock_of.time
    clock_of.pass_days(1)
    cellar_book.write(acts.Judge(vessel="K-1", verdict="quarantine"))
    during = clock_of.pass_days(1)
    cellar_book.write(acts.Judge(vessel="K-1", verdict="keep"))
    clock_of.pass_days(1)
    with pytest.raises(InQuarantine):
        cellar_book.write(acts.Rack(vessel="K-1", destination="T-1", volume=1000, at=during, sure=True))
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-2", volume=1000, at=before))
    assert cellar_book.cellar()["T-2"].judged is None


@pytest.mark.parametrize(
    "act",
    [
        acts.Rack(vessel="T-1", destination="K-1", volume=1000),
        acts.Receive(vessel="K-1", lot="HEATHER", volume=1000),
        acts.Blend(vessel="K-1", draws=(("T-1", 1000),)),
    ],
    ids=lambda act: act.kind,
)
def test_sound_mead_into_quarantine_is_asked_back(cellar_book: Book, clock_of: "Clock", act: acts.Act) -> None:
    """It would be in quarantine too; a topping is not asked about, for a barrel in quarantine is kept full."""
    for tag in ("K-1", "B-1"):
        cellar_book.write(acts.Judge(vessel=tag, verdict="quarantine"))
    with pytest.raises(Implausible, match=r"^K-1 is in quarantine, and so would be what goes into it\."):
        cellar_book.write(act)
    cellar_book.write(replace(act, sure=True))
    cellar_book.write(acts.Sample(vessel="B-1", volume=500))
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=1000))
    cellar_book.write(acts.Top(vessel="B-1", volume=500, source="T-2"))


def test_several_into_one_vessel_keep_the_rule(cellar_book: Book, clock_of: "Clock") -> None:
    """Mead in quarantine and sound mead meet in no order: the one is asked back with what follows, or refused."""
    cellar_book.write(acts.Judge(vessel="K-1", verdict="quarantine"))
    first, second = (acts.Rack(vessel=tag, destination="T-2", volume=1000) for tag in ("K-1", "T-1"))
    with pytest.raises(AskedTogether) as asked:
        write_as_one(cellar_book, {"K-1": first, "T-1": second})
    assert len(asked.value.questions) == 2
    with pytest.raises(OneRefused, match="K-1 is in quarantine"):
        write_as_one(cellar_book, {"T-1": second, "K-1": first})


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
