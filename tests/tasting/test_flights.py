"""Flights in the book: blind until revealed, scores that stand afterwards, results that say how little they know."""

from typing import TYPE_CHECKING

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import AlreadyThere, NoSuchVessel, VesselIsRetired
from cooperage.tasting.flights import (
    AlreadyRevealed,
    EmptyFlight,
    Flight,
    NoSuchFlight,
    NoSuchGlass,
    NotAScale,
    OffTheScale,
    StillBlind,
    flight,
    flights,
    results,
    reveal,
    score,
    start_flight,
)
from cooperage.tasting.flights.errors import NothingToTaste
from cooperage.tasting.pulling import pull_flight
from cooperage.tasting.vessels import last_scores, vessel_scores

if TYPE_CHECKING:
    from tests.conftest import Clock


@pytest.fixture
def poured(cellar_book: Book) -> Flight:
    return start_flight(cellar_book, ["B-1", "T-1", "K-1"], code="F-1", rng=np.random.default_rng(1))


def test_a_flight_pours_every_sample_once_under_a_code(cellar_book: Book, poured: Flight) -> None:
    """Three samples, three glasses, three different codes, positions 1 to 3."""
    kept = flight(cellar_book, "f-1")
    assert sorted(glass.vessel for glass in kept.glasses if glass.vessel is not None) == ["B-1", "K-1", "T-1"]
    assert [glass.position for glass in kept.glasses] == [1, 2, 3]
    assert len({glass.code for glass in kept.glasses}) == 3


def test_a_hidden_duplicate_is_one_more_glass(cellar_book: Book) -> None:
    """With a duplicate one vessel is poured twice, under two codes."""
    kept = start_flight(cellar_book, ["B-1", "T-1"], hidden_duplicate=True)
    vessels = [glass.vessel for glass in kept.glasses]
    assert len(vessels) == 3
    assert len(set(vessels)) == 2


def test_a_flight_names_itself_by_the_day(cellar_book: Book) -> None:
    """Two flights of one day get two codes."""
    codes = [start_flight(cellar_book, ["B-1"]).code for _ in range(2)]
    assert codes[0].endswith("-1")
    assert codes[1].endswith("-2")


def test_scores_are_kept_and_may_be_changed_until_revealed(cellar_book: Book, poured: Flight) -> None:
    """A taster changes her mind; after the codes are lifted nobody does."""
    glass = poured.glasses[0].code
    score(cellar_book, "F-1", glass, "Iko", 14.0, "honey")
    score(cellar_book, "F-1", glass, "Iko", 15.0, "honey, clove")
    assert flight(cellar_book, "F-1").scores[glass, "Iko"].value == 15.0
    reveal(cellar_book, "F-1", sure=True)
    with pytest.raises(AlreadyRevealed):
        score(cellar_book, "F-1", glass, "Iko", 3.0)
    assert flight(cellar_book, "F-1").scores[glass, "Iko"].words == "honey, clove"


def test_results_rank_the_glasses_and_say_how_little_they_tell(cellar_book: Book, poured: Flight) -> None:
    """The glass that everybody liked best comes first, and the words are plain."""
    for taster, offset in (("Iko", 0), ("Jory", 2), ("Maren", -1)):
        for place, glass in enumerate(poured.glasses):
            score(cellar_book, "F-1", glass.code, taster, 10 + 3 * place + offset)
    with pytest.raises(StillBlind):
        results(flight(cellar_book, "F-1"))
    found = results(reveal(cellar_book, "F-1"))
    assert found is not None
    assert [row.glass.position for row in found.rows] == [3, 2, 1]
    assert found.rows[0].adjusted == pytest.approx(16 + 1 / 3)
    assert found.words


def test_a_flight_without_scores_has_no_results(cellar_book: Book, poured: Flight) -> None:
    """Nobody has tasted, so there is nothing to tell."""
    assert results(reveal(cellar_book, poured.code, sure=True)) is None


def test_a_vessels_scores_over_time(cellar_book: Book, poured: Flight, clock: "Clock") -> None:
    """The last revealed flight's mean is the vessel's score; the earlier ones stay its history."""
    glass = next(glass for glass in poured.glasses if glass.vessel == "B-1")
    score(cellar_book, "F-1", glass.code, "Iko", 12.0)
    score(cellar_book, "F-1", glass.code, "Jory", 14.0)
    assert vessel_scores(cellar_book, "B-1") == []
    assert last_scores(cellar_book) == {}
    reveal(cellar_book, "F-1", sure=True)
    clock.pass_days(60)
    again = start_flight(cellar_book, ["B-1"], code="F-2")
    score(cellar_book, "F-2", again.glasses[0].code, "Iko", 17.0, "ready")
    assert last_scores(cellar_book)["B-1"].mean == 13.0
    reveal(cellar_book, "F-2", sure=True)
    assert last_scores(cellar_book)["B-1"].mean == 17.0
    assert [given.mean for given in vessel_scores(cellar_book, "B-1")] == [13.0, 17.0]
    assert [each.code for each in flights(cellar_book)] == ["F-2", "F-1"]


def test_what_cannot_be_poured_or_scored(cellar_book: Book, poured: Flight) -> None:
    """Each slip is one clear line, and nothing is written."""
    with pytest.raises(EmptyFlight):
        start_flight(cellar_book, [])
    with pytest.raises(NoSuchVessel):
        start_flight(cellar_book, ["B-9"])
    with pytest.raises(NotAScale):
        start_flight(cellar_book, ["B-1"], scale="twenty")
    with pytest.raises(AlreadyThere):
        start_flight(cellar_book, ["B-1"], code="F-1")
    with pytest.raises(NoSuchFlight):
        score(cellar_book, "F-9", "123", "Iko", 1.0)
    with pytest.raises(NoSuchGlass):
        score(cellar_book, "F-1", "000", "Iko", 1.0)
    with pytest.raises(OffTheScale):
        score(cellar_book, "F-1", poured.glasses[0].code, "Iko", 21.0)
    assert flight(cellar_book, "F-1").scores == {}


def test_what_holds_nothing_is_not_poured(cellar_book: Book) -> None:
    """All that are empty by name, a control too; one that is retired as everywhere."""
    with pytest.raises(NothingToTaste, match=r"^B-2, B-3 are empty; name vessels that hold something$"):
        start_flight(cellar_book, ["B-1", "B-2"], control="B-3")
    cellar_book.write(acts.Retire(vessel="B-2", reason="stave split"))
    with pytest.raises(VesselIsRetired, match=r"^B-2 was retired on .* \(stave split\); use another vessel$"):
        start_flight(cellar_book, ["B-1", "B-2"])
    with pytest.raises(NothingToTaste, match=r"^B-3 is empty"):
        pull_flight(cellar_book, ["B-1", "B-3"], 50)
    assert flights(cellar_book) == []


def test_a_sample_may_take_the_last_of_a_vessel(cellar_book: Book) -> None:
    """It is in the glass."""
    cellar_book.write(acts.Fill(vessel="B-4", source="K-1", volume=100, sure=True))
    assert pull_flight(cellar_book, ["B-4"], 100, sure=True).glasses[0].vessel == "B-4"
    assert cellar_book.cellar()["B-4"].ml == 0


def test_glasses_from_the_bench_keep_their_codes_and_what_is_in_them(cellar_book: Book) -> None:
    """A trial's glass bears the code of the bench sheet; a vessel beside it gets another; scores come back by code."""
    trials = {"417": "plan", "528": "control"}
    kept = start_flight(cellar_book, ["B-1"], code="BENCH", trials=trials, rng=np.random.default_rng(3))
    assert len({glass.code for glass in kept.glasses}) == 3
    assert {glass.code: glass.what for glass in flight(cellar_book, "BENCH").glasses if glass.vessel is None} == trials
    for taster in ("Iko", "Jory"):
        score(cellar_book, "BENCH", "417", taster, 15.0)
        score(cellar_book, "BENCH", "528", taster, 12.0)
    found = results(reveal(cellar_book, "BENCH", sure=True))
    assert found is not None
    assert [row.glass.what for row in found.rows[:2]] == ["plan", "control"]
    assert "B-1" not in last_scores(cellar_book)
