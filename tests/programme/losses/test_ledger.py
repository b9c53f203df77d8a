"""Losses by the room and lot of the day, what is usual beside them, and a year's allowance."""

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.facts import fact_named, set_fact
from cooperage.programme.ahead.usual import usual_by
from cooperage.programme.losses.allowance import Allowance, allowance_over, allowed_share
from cooperage.programme.losses.ledger import GROUPINGS, LossRow, UnknownGrouping, losses_by
from cooperage.programme.losses.loss_rate import Leak, LossRate
from cooperage.programme.losses.stays import Stay, Stays, stays
from cooperage.programme.pasted.count import compare
from cooperage.programme.rules.kept import use_profile
from cooperage.units import Span, local_day, read_span

if TYPE_CHECKING:
    from tests.conftest import Clock


DAY = 86_400.0


@pytest.fixture
def moved(cellar_book: Book, clock: "Clock") -> Any:
    """B-1 loses 1 L in the Low room with HEATHER, 2 L in the Loft, and 4 L there after it was filled with LIME."""
    book = cellar_book

    def gauge(missing: Any) -> None:
        clock.pass_days(10)
        held = book.cellar()["B-1"].ml
        book.write(acts.Gauge(vessel="B-1", volume=held - missing, cause="evaporated"))

    gauge(1_000)
    book.write(acts.Shift(vessel="B-1", room="Loft"))
    gauge(2_000)
    book.write(acts.Rack(vessel="B-1", destination="T-1", lees=500))
    book.write(acts.Receive(lot="LIME", vessel="T-2", volume=300_000))
    clock.pass_days(5)
    book.write(acts.Fill(vessel="B-1", source="T-2"))
    gauge(4_000)
    return book


def lost(book: Book, by: Any) -> Any:
    return {row.what: row.total_ml for row in losses_by(book, by)}


def test_losses_belong_to_the_room_and_the_lot_of_their_day(moved: Any) -> None:
    """Not to where the barrel lies now; the lees left at the rack are HEATHER's still."""
    assert lost(moved, "room") == {"Low": 1_000, "Loft": 6_500}
    assert lost(moved, "lot") == {"HEATHER": 3_500, "LIME": 4_000}


def test_a_stay_ends_with_its_room_its_lot_or_its_mead(moved: Any) -> None:
    """B-1: Low, Loft, five days of nothing, Loft with LIME until now."""
    found = [stay for stay in stays(moved) if stay.tag == "B-1"]
    assert [(stay.room, stay.lot) for stay in found] == [("Low", "HEATHER"), ("Loft", "HEATHER"), ("Loft", "LIME")]
    assert [round((stay.ended - stay.began) / DAY) for stay in found] == [10, 10, 10]
    assert round((found[2].began - found[1].ended) / DAY) == 5


def test_what_happens_to_an_empty_vessel_belongs_to_no_stay() -> None:
    """Between two stays there is none; what ends one belongs to it."""
    kept = Stays([Stay("B-1", 0, 10, "Low", "X"), Stay("B-1", 20, 30, "Low", "Y")])
    assert [getattr(kept.at("B-1", moment), "lot", None) for moment in (0, 10, 15, 20, 31)] == [
        "X",
        "X",
        None,
        "Y",
        None,
    ]
    assert kept.at("B-2", 5) is None


def rate(ml_per_day: Any, **known: Any) -> Any:
    return LossRate(ml_per_day, 0.1, None, 0.0, 225_000, **known)


def test_the_usual_is_the_rate_over_the_time_that_a_barrel_held_mead(moved: Any) -> None:
    """100 ml a day over three stays of ten days; the other vessels have no rate and no norm."""
    cellar, spent, rates = moved.cellar(), stays(moved), {"B-1": rate(100.0)}
    assert usual_by(cellar, spent, rates, "room") == {
        "Low": pytest.approx(1_000, abs=5),
        "Loft": pytest.approx(2_000, abs=5),
    }
    assert usual_by(cellar, spent, rates, "lot")["LIME"] == pytest.approx(1_000, abs=5)
    assert usual_by(cellar, spent, rates, "cause") == {"evaporated": pytest.approx(3_000, abs=5)}
    since = cellar.at - timedelta(days=4)
    assert usual_by(cellar, spent, rates, "barrel", since) == {"B-1": pytest.approx(400, abs=5)}
    assert usual_by(cellar, spent, rates, "barrel", since, cellar.at - timedelta(days=3)) == {
        "B-1": pytest.approx(100, abs=5)
    }


def test_what_wood_and_air_took_is_held_against_the_usual() -> None:
    """Evaporated, leaked and missing at the dip, 115 ml; what new wood soaked up and what was tasted is not usual."""
    causes = {"evaporated": 100, "leak": 20, "gauging difference": -5, "soaked": 1_000, "sample": 50}
    assert LossRow("B-1", causes, sum(causes.values())).taken_ml == 115
    assert LossRow("B-2", {"sample": 50}, 50).taken_ml == 0


def test_months_are_told_apart(moved: Any) -> None:
    """A stay over New Year's is cut there: 10 days of it in December, 5 in January."""
    began, ended = datetime(2024, 12, 22, tzinfo=UTC), datetime(2025, 1, 6, tzinfo=UTC)
    spent = Stays([Stay("B-1", began.timestamp(), ended.timestamp(), "Low", "X")])
    assert usual_by(moved.cellar(), spent, {"B-1": rate(100.0)}, "month") == {"2024-12": 1_000, "2025-01": 500}


def test_a_leaking_barrel_is_held_against_its_peers(moved: Any) -> None:
    """What it drinks since it leaks is not what it usually drinks: 30 days at its peers' 20 ml, not its own 100."""
    cellar, spent = moved.cellar(), stays(moved)
    for probability, usual in ((0.95, 600), (0.05, 3_000)):
        leak = Leak(probability, 0.0, 0, 5.0, 0.0, 0.0, 0.0)
        found = usual_by(cellar, spent, {"B-1": rate(100.0, peers_ml_per_day=20.0, leak=leak)}, "barrel")
        assert found == {"B-1": pytest.approx(usual, abs=15)}


def test_wholes_agree_by_any_grouping(moved: Any) -> None:
    """Every grouping sums to the same litres, lost and usual."""
    cellar, spent, rates = moved.cellar(), stays(moved), {"B-1": rate(100.0)}
    assert {sum(row.total_ml for row in losses_by(moved, by)) for by in GROUPINGS} == {7_500}
    assert {round(sum(usual_by(cellar, spent, rates, by).values()), -2) for by in GROUPINGS} == {3_000}
    with pytest.raises(UnknownGrouping):
        usual_by(cellar, spent, rates, "moon")


def test_only_a_year_has_an_allowance(moved: Any, clock: "Clock") -> None:
    """7.5 L of 1,200 are within 3 %; over all time, or two years, it says what to do instead."""
    year = Span(moved.cellar().at - timedelta(days=365))
    result = allowance_over(moved, year).words(7_500)
    assert result.startswith("7.5 L, within the year's allowance of 36.0 L, 3.0 % of 1200.0 L (27 CFR")
    covers = "7.5 L. The allowance covers one year. Give --since within the last 12 months to compare."
    assert allowance_over(moved, Span()).words(7_500) == covers
    clock.pass_days(400)
    assert allowance_over(moved, year).words(7_500) == covers


@pytest.mark.parametrize(
    ("days", "share"), [(1, "1 day is 0.1 L"), (31, "31 days is 3.1 L"), (364, "364 days is 35.9 L")]
)
def test_less_than_a_year_is_given_its_share_and_no_verdict(days: int, share: str) -> None:
    """A day's losses are not "within" a year's allowance; but more than the whole of it is more on any day."""
    result = Allowance(1_200_000, days=days).words(7_500)
    so_far = "7.5 L of the year's allowance of 36.0 L so far, 3.0 % of 1200.0 L; the share of "
    assert result.startswith(f"{so_far}{share} (27 CFR")
    assert "within" not in result
    assert "MORE than the year's allowance" in Allowance(1_200_000, days=days).words(36_001)


@pytest.mark.parametrize(
    ("since", "until", "days"),
    [("2025-01-01", "2025-01-31", 31), ("2025-02-01", "2025-02-28", 28), ("2025-01-08", "2025-01-08", 1)],
)
def test_a_month_has_all_its_days(moved: Any, clock: "Clock", since: str, until: str, days: int) -> None:
    """Up to and including the last day: the share of January is that of 31 days."""
    clock.pass_days(400)
    assert allowance_over(moved, read_span(since, until, clock())).days == days


def test_what_was_added_is_no_part_of_what_was_received(moved: Any) -> None:
    """Honey that was dosed does not raise the allowance."""
    before = allowance_over(moved, Span()).base_ml
    moved.write(acts.Addition(vessel="T-1", substance="honey", amount=14_200, sure=True))
    assert allowance_over(moved, Span()).base_ml == before


def test_the_us_allowance_counts_only_under_us_rules(moved: Any) -> None:
    """Under any others the authority is to be asked, unless the cellar has given its own share."""
    begins = moved.cellar().at - timedelta(days=365)
    year = Span(begins)
    use_profile(moved, "EU", since=local_day(begins))
    unknown = allowance_over(moved, year)
    assert (unknown.allowed_ml, unknown.pace_ml, unknown.holds(7_500)) == (None, None, None)
    ask = "the EU rules that are known here have no allowance: ask your authority"
    assert unknown.words(7_500) == f"7.5 L; {ask}"
    assert compare(moved.cellar(), {"T-2": 1_000}, allowed_share(moved)).allowance.words(1_000) == f"1.0 L; {ask}"
    with moved.writing() as session:
        set_fact(session.connection, fact_named("loss_allowance"), 2.0)
    own = allowance_over(moved, year).words(7_500)
    assert own.startswith("7.5 L, within the year's allowance of 24.0 L, 2.0 % of 1200.0 L (the cellar's own")
    assert "27 CFR" not in own


def test_the_rules_are_those_of_the_day_a_time_began(moved: Any, clock: "Clock") -> None:
    """Chosen today, others change nothing that is asked for from an earlier day on."""
    use_profile(moved, "EU", since=local_day(clock()))
    assert allowance_over(moved, Span(clock() - timedelta(days=30))).allowed_ml is not None
    assert allowed_share(moved).share is None
