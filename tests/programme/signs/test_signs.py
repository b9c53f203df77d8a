"""Signs of trouble in the mead and in the book, and the words they are told in."""

from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from cooperage.book import Barrel, Book, Vessel
from cooperage.book.declared import acts
from cooperage.programme.losses.loss_rate import Leak, LossRate
from cooperage.programme.rounds.due import Task, next_due, rounds
from cooperage.programme.signs.all_signs import ClassLine, signs
from cooperage.programme.signs.leak import leak_sign
from cooperage.programme.signs.trends import Slope, moves, slope, usual_slope
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.conftest import Clock


DAY, YEAR = 86_400.0, 365.25 * 86_400.0
GALLONS = Units(volume="gal")


def kinds(book: Book, **more: Any) -> Any:
    return {(sign.vessel, sign.kind) for sign in signs(book, **more)}


@pytest.fixture
def five(cellar_book: Book, clock: "Clock") -> Any:
    """Five full barrels."""
    with cellar_book.writing() as session:
        for tag in ("B-5", "B-6", "B-7"):
            session.add_vessel(Vessel("", tag, "barrel", 100_000, barrel=Barrel(fills_before=3)))
    for tag in ("B-3", "B-5", "B-6", "B-7"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    return cellar_book


def read_monthly(book: Book, clock: "Clock", name: Any, *months: Any) -> None:
    """Read a property on the five barrels, once a month; the first value of a month is B-1's."""
    for values in months:
        clock.pass_days(30)
        for tag, value in zip(("B-1", "B-3", "B-5", "B-6", "B-7"), values, strict=True):
            book.write(acts.Reading(vessel=tag, property=name, value=value))


def test_gravity_that_falls_is_a_sign_of_fermentation(five: Any, clock: "Clock") -> None:
    """From 1.012 to 1.004 in three months; the others stand still within what a hydrometer shows."""
    read_monthly(
        five, clock, "sg",
        (1.012, 1.010, 1.011, 1.010, 1.010), (1.010, 1.010, 1.010, 1.010, 1.011),
        (1.007, 1.010, 1.011, 1.010, 1.010), (1.004, 1.011, 1.011, 1.010, 1.010),
    )  # fmt: skip
    found = [sign for sign in signs(five) if sign.kind == "gravity"]
    assert [sign.vessel for sign in found] == ["B-1"]
    assert found[0].sure is not None
    assert found[0].sure > 0.999
    assert found[0].why == "gravity fell from 1.012 to 1.004 in 90 days: refermenting?"


def test_sulphite_that_falls_fast_is_a_sign(five: Any, clock: "Clock") -> None:
    """40 to 12 mg/L in a month, where the others go from 40 to 36 or so."""
    read_monthly(five, clock, "free_so2_mg_l", (40, 40, 41, 39, 40), (12, 36, 37, 35, 35))
    assert [s.vessel for s in signs(five) if s.kind == "sulphite loss"] == ["B-1"]


def test_a_dose_in_between_is_reckoned_with(five: Any, clock: "Clock") -> None:
    """10 g in 225 L should raise free SO2 by 0.6 x 25.6 = 15 mg/L; where it stays at 40 something ate it."""
    read_monthly(five, clock, "free_so2_mg_l", (40, 40, 41, 39, 40))
    five.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=10.0))
    read_monthly(five, clock, "free_so2_mg_l", (53, 37, 38, 36, 37))
    assert not [sign for sign in signs(five) if sign.kind == "sulphite loss"]
    five.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=20.0))
    read_monthly(five, clock, "free_so2_mg_l", (30, 35, 36, 34, 35))
    assert [s.vessel for s in signs(five) if s.kind == "sulphite loss"] == ["B-1"]


@pytest.mark.parametrize(("held", "is_partly_full"), [(4_999, False), (5_000, True), (92_000, True), (92_001, False)])
def test_a_barrel_is_partly_full_from_5_to_92_percent(five: Book, held: int, is_partly_full: bool) -> None:
    """Of 100 L, both ends included: below lie dregs, above is a barrel to top (common practice, no source)."""
    five.write(acts.Rack(vessel="B-6", destination="T-2", volume=100_000 - held))
    assert (("B-6", "partial") in kinds(five)) is is_partly_full


@pytest.mark.parametrize(
    ("probability", "odd", "lost", "has_dip", "kind"),
    [
        (0.90, 0.05, 4_000, False, "leak"),
        (0.90, 0.05, 4_000, True, "leak"),
        (0.89, 0.05, 4_000, False, None),  # neither as sure as a leak nor as odd as a slip
        (0.05, 0.90, 4_000, False, "thirst"),
        (0.05, 0.89, 4_000, False, None),
        (0.05, 0.90, 4_000, True, None),  # the dip has its own sign
        (0.05, 0.89, 4_000, True, None),
        (0.05, 0.90, 600, False, None),  # odd, but no more than was expected
        (0.05, 0.90, 601, False, "thirst"),
    ],
)
def test_a_leak_is_shown_when_it_is_sure_or_the_last_visit_odd(
    five: Book, probability: float, odd: float, lost: float, has_dip: bool, kind: str | None
) -> None:
    """Sure from 0.9 on, odd from 0.95 on with both together, and a dip that disagrees goes before an odd visit."""
    if has_dip:
        five.write(acts.Reading(vessel="B-1", property="headspace_mm", value=80.0, sure=True))
    standing = five.cellar()["B-1"]
    leak = Leak(probability, 0.0, 0, 5.0, odd, float(lost), 600.0)
    rate = LossRate(100.0, 1.0, 100.0, 300.0, 225_000, peers_ml_per_day=20.0, leak=leak, known_at=86_400.0)
    assert [sign.kind for sign in leak_sign(standing, rate)] == ([] if kind is None else [kind])


def test_a_leak_that_was_sure_is_told_until_it_is_known_to_be_over(five: Book) -> None:
    """97 % sure once and 60 % by now: still a leak, and the words say how that is known."""
    leak = Leak(0.6, 0.0, 0, 5.0, 0.1, 700.0, 600.0, held=0.97)
    rate = LossRate(100.0, 1.0, 100.0, 300.0, 225_000, peers_ml_per_day=20.0, leak=leak, known_at=86_400.0)
    (sign,) = leak_sign(five.cellar()["B-1"], rate)
    assert (sign.kind, sign.sure) == ("leak", 0.97)
    assert sign.why == (
        "losing 3.0 L a month; similar barrels lose 0.6 L. "
        "Leak? (97 % sure before the last visits, which do not show it sound)"
    )


def test_strength_near_a_configured_line_is_told_with_its_source(five: Any) -> None:
    """15.9 % vol is within 0.2 of 16: the sign names the line, its source and its date, and gives no advice."""
    five.write(acts.Reading(vessel="B-5", property="abv", value=15.9, sure=True))
    (sign,) = [sign for sign in signs(five) if sign.kind == "class line"]
    assert "16 % vol" in sign.why
    assert "26 USC 5041" in sign.why
    assert "check with your authority" in sign.why
    own = ClassLine(13.0, "own class", "house rule", date(2025, 1, 1))
    assert ("B-5", "class line") not in kinds(five, lines=[own])
    assert ("B-1", "class line") in kinds(five, lines=[own])


def test_litres_that_do_not_add_up_are_a_sign(five: Any) -> None:
    """Off by more than 1 % or 1 L, whichever is larger (common practice, no source): 2 L of 225 are not, 3 are."""
    five.write(acts.Gauge(vessel="B-1", volume=223_000, cause="gauging difference"))
    assert ("B-1", "litres") not in kinds(five)
    five.write(acts.Gauge(vessel="B-1", volume=222_000, cause="gauging difference"))
    assert ("B-1", "litres") in kinds(five)


def test_an_odd_visit_is_told_before_it_is_sure_to_be_a_leak(five: Any, clock: "Clock") -> None:
    """Six months of 0.7 L, then 4 L once: one odd visit. The next one makes it a leak, with its beginning."""

    def top(first: Any) -> None:
        clock.pass_days(30)
        five.write(acts.Rack(vessel="T-1", destination="K-1", volume=first + 1970))
        for tag, ml in zip(("B-1", "B-3", "B-5", "B-6", "B-7"), (first, 650, 450, 430, 440), strict=True):
            five.write(acts.Top(vessel=tag, volume=ml, source="K-1", sure=True))

    for month in range(6):
        top(700 + 20 * (month % 2))
    assert not {kind for _, kind in kinds(five)} & {"leak", "thirst"}
    began = clock.time
    top(4000)
    assert {("B-1", "thirst")} == {each for each in kinds(five) if each[1] in ("leak", "thirst")}
    top(4000)
    (leak,) = [sign for sign in signs(five) if sign.kind == "leak"]
    assert leak.vessel == "B-1"
    assert leak.since is not None
    assert leak.sure is not None
    assert abs((leak.since - began).days) <= 1
    assert leak.sure > 0.9


def test_reasons_are_in_the_persons_units(five: Any, clock: "Clock") -> None:
    """12 L of air are 3.3 US gallons; without units they are litres, as scripts read them."""
    five.write(acts.Reading(vessel="B-1", property="headspace_mm", value=80.0))
    five.write(acts.Rack(vessel="B-3", destination="T-2", volume=100_000))
    cellar = five.cellar()
    for result, unit in ((rounds(cellar), " l"), (rounds(cellar, units=GALLONS), " gal")):
        assert unit in next(due.why for due in result if due.task is Task.GAUGE)
    assert " gal" in next(due.why for due in next_due(cellar["B-1"], units=GALLONS) if due.task is Task.GAUGE)
    partial = next(sign.why for sign in signs(five, units=GALLONS) if sign.kind == "partial")
    assert partial.startswith("26.42 gal of air above 26.42 gal")  # 100 L / 3.785412


def test_a_slope_is_the_weighted_straight_fit_of_numpy() -> None:
    """Slope and its variance against numpy.polyfit with the same weights."""
    points = [(0.0, 0.30, 0.04), (0.1 * YEAR, 0.33, 0.02), (0.3 * YEAR, 0.40, 0.04), (0.4 * YEAR, 0.39, 0.08)]
    at, value, u = np.array(points).T
    line, covariance = np.polyfit(at / YEAR, value, 1, w=1 / u, cov="unscaled")
    assert (slope(points).per_year, slope(points).variance) == pytest.approx((line[0], covariance[0, 0]))


def rising(*values: float, days: float = 30.0) -> list[tuple[float, float, float]]:
    """Readings so many days apart, each give or take 0.02."""
    return [(days * DAY * nth, value, 0.02) for nth, value in enumerate(values)]


@pytest.mark.parametrize(("days", "count", "is_looked_at"), [(5.0, 3, True), (4.99, 3, False), (30.0, 2, False)])
def test_three_readings_over_ten_days_make_a_trend(days: float, count: int, is_looked_at: bool) -> None:
    """Two readings, or three within less than ten days, show none, nor do such barrels make a usual slope."""
    points = rising(*[0.3 + 0.1 * nth for nth in range(count)], days=days)
    assert (moves(points, Slope(0.0, 0.0), +1) is not None) is is_looked_at
    usual = usual_slope({f"B-{nth}": points for nth in range(4)})
    assert usual.per_year == (pytest.approx(0.1 * 365.25 / days) if is_looked_at else 0.0)


@pytest.mark.parametrize(("barrels", "slopes"), [(3, 0.0), (4, 365.25 / 300)])
def test_four_barrels_make_a_usual_slope(barrels: int, slopes: float) -> None:
    """Fewer say nothing of what is usual."""
    found = usual_slope({f"B-{nth}": rising(0.3, 0.4, 0.5) for nth in range(barrels)})
    assert found.per_year == pytest.approx(slopes)


def test_a_trend_begins_where_the_readings_begin_to_move() -> None:
    """Down to 0.3 at the third reading, then up by 0.1 a month: the last three move furthest, from 0.3 on day 60."""
    trend = moves(rising(0.5, 0.4, 0.3, 0.4, 0.5), Slope(0.0, 0.0), +1)
    assert trend is not None
    assert (trend.first, trend.last, trend.since) == (0.3, 0.5, 60 * DAY)
    assert trend.per_year == pytest.approx(0.1 * 365.25 / 30)


def test_readings_that_only_scatter_seldom_move() -> None:
    """Of 2000 barrels with nine steady readings at most a few are said to move at a chance of one in a hundred.

    The looks share readings, so the rate lies below one in a hundred; 20 of 2000 would be just that, 32 is 2.7
    standard errors more.
    """
    rng = np.random.default_rng(4)
    false = 0
    for _ in range(2000):
        points = [(30 * DAY * n, float(rng.normal(0.4, 0.04)), 0.04) for n in range(9)]
        trend = moves(points, Slope(0.0, 0.0), +1)
        false += trend is not None and trend.chance < 0.01
    assert false < 32


def test_a_move_that_all_barrels_make_is_no_sign() -> None:
    """Where every barrel rises alike, the usual slope is theirs, and none moves beyond it."""
    histories = {f"B-{n}": [(30 * DAY * k, 0.3 + 0.1 * k + 0.001 * n, 0.02) for k in range(6)] for n in range(6)}
    usual = usual_slope(histories)
    assert usual.per_year == pytest.approx(0.1 * 365.25 / 30)
    for points in histories.values():
        move = moves(points, usual, +1)
        assert move is not None
        assert move.chance > 0.1
