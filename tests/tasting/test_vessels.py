"""What a panel gave each vessel: the flight's own adjusted means, on one scale, and nothing before the reveal."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.blending.from_cellar import pool_of
from cooperage.book import Book
from cooperage.tasting.flights import Flight, Glass, Score, results, reveal, score, start_flight
from cooperage.tasting.vessels import last_scores, of_flight, on_one_scale, vessel_scores

if TYPE_CHECKING:
    from tests.conftest import Clock


WHEN = datetime(2026, 3, 1, tzinfo=UTC)


Scores: TypeAlias = list[list[float | None]]
"""By vessel and taster; None where one did not taste."""


def flight_of(scores: Scores, scale: str = "0-20", revealed: datetime | None = WHEN) -> Flight:
    """A flight of vessels V0, V1 ... by tasters T0, T1 ...; None where one did not taste."""
    glasses = [Glass(str(place), f"{100 + place}", place + 1, f"V{place}") for place in range(len(scores))]
    given_ = {
        (glasses[place].code, f"T{taster}"): Score(value)
        for place, row in enumerate(scores)
        for taster, value in enumerate(row)
        if value is not None
    }
    return Flight("id", "F", "", scale, WHEN, revealed, glasses, given_)


def tables(highest: int = 20) -> st.SearchStrategy[Scores]:
    points = st.none() | st.integers(0, highest).map(float)
    return st.tuples(st.integers(2, 5), st.integers(1, 4)).flatmap(
        lambda size: st.lists(st.lists(points, min_size=size[1], max_size=size[1]), min_size=size[0], max_size=size[0])
    )


@given(tables())
def test_vessels_rank_for_a_blend_as_in_the_flights_results(scores: Scores) -> None:
    """However generous the tasters were and whoever missed what: the figures and the order are the results' own."""
    poured = flight_of(scores)
    result, blended = results(poured), on_one_scale(of_flight(poured))
    known = (
        {}
        if result is None
        else {row.glass.vessel: row.adjusted for row in result.rows if row.adjusted == row.adjusted}
    )
    assert blended == pytest.approx({vessel: 5 * adjusted for vessel, adjusted in known.items()})
    in_order = sorted(blended, key=lambda tag: -blended[tag])
    assert [known[tag] for tag in in_order] == pytest.approx(sorted(known.values(), reverse=True))


@given(tables(), st.sampled_from([(0, 10), (0, 100), (1, 9), (20, 60)]))
def test_a_scale_in_proportion_changes_nothing(scores: Scores, ends: tuple[int, int]) -> None:
    """The same judgements on another scale are the same score."""
    low, high = ends
    other = [[None if value is None else low + value / 20 * (high - low) for value in row] for row in scores]
    here, there = (on_one_scale(of_flight(poured)) for poured in (flight_of(scores), flight_of(other, f"{low}-{high}")))
    assert here == pytest.approx(there, abs=1e-6)


def test_45_of_100_is_less_than_17_of_20() -> None:
    """Two flights of two scales, one blend."""
    of_hundred, of_twenty = flight_of([[45.0, 45.0]], "0-100"), flight_of([[17.0, 17.0]])
    assert on_one_scale(of_flight(of_hundred))["V0"] == pytest.approx(45)
    assert on_one_scale(of_flight(of_twenty))["V0"] == pytest.approx(85)


def test_a_generous_taster_lifts_no_vessel() -> None:
    """T1 scores 6 above T0 and tasted V1 alone with V0: V2, by T0 alone, is worth as much more as it tasted."""
    result = of_flight(flight_of([[10.0, 16.0], [9.0, 15.0], [12.0, None]]))
    assert [result[f"V{place}"].mean for place in range(3)] == pytest.approx([13.0, 12.0, 15.0])


def test_tasters_without_a_glass_in_common_give_no_score() -> None:
    """Their scores have no common footing: the vessel's score is unknown, not a raw mean."""
    result = of_flight(flight_of([[5.0, None], [None, 17.0]]))
    assert [(given_.mean, given_.of_100) for given_ in result.values()] == [(None, None)] * 2
    assert on_one_scale(result) == {}


def test_a_blind_flight_tells_nothing() -> None:
    assert of_flight(flight_of([[5.0], [17.0]], revealed=None)) == {}


def test_the_pool_reads_the_latest_revealed_flight_on_one_scale(cellar_book: Book, clock: "Clock") -> None:
    """17 of 20, then 45 of 100: 85 until the second flight is revealed, then 45; the vessel keeps both."""
    for code, scale, value in (("F-1", "0-20", 17.0), ("F-2", "0-100", 45.0)):
        clock.pass_days(5)
        glass = start_flight(cellar_book, ["B-1"], code=code, scale=scale).glasses[0].code
        score(cellar_book, code, glass, "Iko", value)

    def pooled() -> float | None:
        pool = pool_of(cellar_book.cellar(), on_one_scale(last_scores(cellar_book)))
        found = pool.figures.get("score")
        return None if found is None else float(found[list(pool.names).index("B-1")])

    assert pooled() is None
    reveal(cellar_book, "F-1")
    assert pooled() == pytest.approx(85)
    reveal(cellar_book, "F-2")
    assert pooled() == pytest.approx(45)
    assert [(given_.flight, given_.mean) for given_ in vessel_scores(cellar_book, "B-1")] == [
        ("F-1", 17.0),
        ("F-2", 45.0),
    ]
