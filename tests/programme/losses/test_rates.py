"""Each barrel's thirst: its own visits, its peers, the soak, the season, and barrels that leak."""

from typing import Any

import numpy as np
import pytest

from cooperage.programme.air.harmonic import season, spells
from cooperage.programme.air.season import NO_SEASON, UNKNOWN_SEASON, Season
from cooperage.programme.losses.leaks import Peers, find_leak
from cooperage.programme.losses.learning import loss_rate
from cooperage.programme.losses.loss_rate import Noise
from cooperage.programme.losses.peers import PeerRate, peers_of
from cooperage.programme.losses.pooling import NotADesign, pool, pool_given
from cooperage.programme.losses.rates import _weighed, estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.room_effects import _or
from cooperage.programme.losses.visits import LossVisit

DAY = 86_400.0
MONTH = 30 * DAY


def visits(*lost: Any, began: Any = 0.0, filled: Any = 0.0, month: Any = MONTH) -> Any:
    """Visits a month apart that lost so many ml."""
    return tuple(LossVisit(began + n * month, began + (n + 1) * month, ml, filled) for n, ml in enumerate(lost))


def record(tag: Any, *lost: Any, room: Any = "Low", soaks: Any = False, **more: Any) -> Any:
    """A barrel of 2 m2; 600 ml in 30 days are 10 ml/(m2 day)."""
    return VisitRecord(tag, 2.0, room, "oak", 0.0, 2, visits(*lost), soaks, **more)


def test_a_design_of_rooms_draws_each_barrel_to_its_own_room() -> None:
    """One column for each room, the spread between barrels known: as if each room were pooled by itself."""
    rates, variances = np.array([1.0, 2.0, 3.0, 10.0, 12.0, 17.0]), np.array([0.5, 1.0, 2.0, 0.5, 1.0, 2.0])
    rooms = np.array([[1, 0], [1, 0], [1, 0], [0, 1], [0, 1], [0, 1]])
    together = pool_given(rates, variances, 1.5, rooms)
    process = [pool_given(rates[part], variances[part], 1.5) for part in (slice(3), slice(3, 6))]
    assert together.estimates == pytest.approx(np.concatenate([each.estimates for each in process]))
    assert together.deviations == pytest.approx(np.concatenate([each.deviations for each in process]))
    assert together.fitted == pytest.approx([process[0].mean] * 3 + [process[1].mean] * 3)


def test_a_straight_fit_is_the_weighted_least_squares_of_numpy() -> None:
    """Fitted values and their standard errors against numpy.polyfit with the same weights."""
    size, variances = np.array([-1.0, -0.5, 0.0, 0.5, 1.0, 2.0]), np.array([0.5, 1.0, 2.0, 0.5, 1.0, 2.0])
    rates = np.array([1.0, 2.5, 2.0, 3.5, 4.0, 7.0])
    found = pool_given(rates, variances, 0.5, np.column_stack([np.ones(6), size]))
    line, covariance = np.polyfit(size, rates, 1, w=1 / np.sqrt(variances + 0.5), cov="unscaled")
    assert found.fitted == pytest.approx(np.polyval(line, size))
    columns = np.column_stack([size, np.ones(6)])
    assert found.fit_deviations**2 == pytest.approx(np.einsum("ij,jk,ik->i", columns, covariance, columns))


def test_a_rate_far_out_is_moved_no_further_than_two_of_its_errors() -> None:
    """Two visits of some 800 ml among barrels of 600: no leak, and lent the others' rate only so far."""
    rng = np.random.default_rng(6)
    cellar = [record(f"B-{n}", *rng.normal(600, 60, 12)) for n in range(9)]
    found = estimate_rates([*cellar, record("B-9", 820, 790)])["B-9"]
    assert found.leak is None or found.leak.probability < 0.5
    assert found.own is not None
    assert found.own_sd is not None
    assert found.own - 2 * found.own_sd - 1e-9 <= found.rate < found.own


def test_a_design_that_does_not_fit_is_refused() -> None:
    """A row too few, or the same column twice."""
    with pytest.raises(NotADesign):
        pool([1, 2, 3, 4, 5, 6], [1] * 6, np.ones((5, 1)))
    with pytest.raises(NotADesign):
        pool([1, 2, 3, 4, 5, 6], [1] * 6, np.ones((6, 2)))


def test_a_rate_is_all_that_was_lost_over_all_that_was_exposed() -> None:
    """500 + 700 + 600 ml in 3 x 30 days from 2 m2 are 10 ml/(m2 day), whatever the order."""
    cellar = [record(f"B-{n}", *lost) for n, lost in enumerate(([500, 700, 600], [600, 700, 500], [600, 600, 600]))]
    for rate in estimate_rates(cellar).values():
        assert rate.own == pytest.approx(10.0, rel=0.02)


def test_soak_in_the_first_month_is_no_thirst() -> None:
    """New wood takes 4 L in its first month and 600 ml after: its rate is the 600 ml, and about 3.4 L were soak."""
    new = record("B-new", 4000, 600, 600, 600, 600, soaks=True)
    cellar = [new, *(record(f"B-{n}", 600, 620, 580, 600, 600) for n in range(5))]
    found = estimate_rates(cellar)["B-new"]
    assert found.own == pytest.approx(10.0, rel=0.02)
    assert found.leak is None
    assert loss_rate(new, found, 225_000).soaked_ml == pytest.approx(4000 - 600, rel=0.02)


def test_a_leaking_barrel_is_not_talked_into_normality() -> None:
    """Nine barrels lose 600 ml a month; the tenth loses 600, then 3000: it keeps its 3000, and the others their 600."""
    rng = np.random.default_rng(1)
    cellar = [record(f"B-{n}", *rng.normal(600, 60, 12)) for n in range(9)]
    leaking = record("B-9", *rng.normal(600, 60, 7), *rng.normal(3000, 60, 5))
    found = estimate_rates([*cellar, leaking])
    assert found["B-9"].rate == pytest.approx(50.0, rel=0.05)
    leak = found["B-9"].leak
    assert leak is not None
    assert leak.probability > 0.99
    assert leak.since == pytest.approx(7 * MONTH)
    assert all(found[each.tag].rate == pytest.approx(10.0, rel=0.1) for each in cellar)
    assert all(each.leak is None or each.leak.probability < 0.1 for tag, each in found.items() if tag != "B-9")


def test_a_barrel_without_visits_is_lent_its_rooms_rate() -> None:
    """Eight barrels of the loft lose three times what eight below do; a ninth up there is expected to do the same."""
    rng = np.random.default_rng(2)
    low = [record(f"L-{n}", *rng.normal(600, 50, 6)) for n in range(8)]
    loft = [record(f"H-{n}", *rng.normal(1800, 50, 6), room="Loft") for n in range(8)]
    found = estimate_rates([*low, *loft, record("H-new", room="Loft")])["H-new"]
    assert found.own is None
    assert found.rate == pytest.approx(30.0, rel=0.1)


def test_no_visits_no_rates() -> None:
    """A cellar without a single stretch between two levels, or without barrels, says nothing."""
    assert estimate_rates([record("B-1")]) == {}
    assert estimate_rates([]) == {}


def test_one_odd_visit_is_no_leak_and_the_second_makes_it_one() -> None:
    """4 L once may be a slip; 4 L twice in a row is a leak that began two visits ago."""
    exposure, began = np.full(10, 60.0), np.arange(10, dtype=np.float64) * MONTH
    lost = np.array([600.0] * 9 + [4000.0])
    peers, noise = Peers(10.0, 4.0), Noise(60.0, 0.1)
    once = find_leak(lost, exposure, began, began + MONTH, peers, noise)
    assert once is not None
    assert once.probability < 0.5
    assert once.probability + once.odd > 0.99
    lost[8] = 4000.0
    twice = find_leak(lost, exposure, began, began + MONTH, peers, noise)
    assert twice is not None
    assert twice.probability > 0.95
    assert twice.since == 8 * MONTH
    lost[8:] = 600.0
    lost[4] = 4000.0
    assert find_leak(lost, exposure, began, began + MONTH, peers, noise) is None


def test_a_visit_beyond_all_measure_is_still_weighed() -> None:
    """11 L after months of 0.1 L: no account of a leak has weight left, and every figure is a number."""
    exposure, began = np.full(10, 60.0), np.arange(10, dtype=np.float64) * MONTH
    lost = np.array([600.0] * 9 + [1e6])
    found = find_leak(lost, exposure, began, began + MONTH, Peers(10.0, 0.01), Noise(6.0, 0.01))
    assert found is not None
    assert np.isfinite(found.times)
    assert found.probability + found.odd > 0.99


@pytest.mark.parametrize(
    ("second", "third"), [(1500, 1450), (600, 1200), (900, 950), (800, 850), (650, 1000)], ids=lambda ml: f"{ml} ml"
)
def test_the_posterior_of_a_leak_agrees_with_adding_up_over_the_rate(second: float, third: float) -> None:
    """Three visits, no shared levels: each account's likelihood summed over the rate on a fine grid gives the same.

    From a leak that is all but sure, over one odd visit as likely as a leak, to a barrel that is all but sound.
    """
    from scipy.stats import norm

    from cooperage.programme.losses.leaks import _ODD_TIMES, LEAKS_PER_YEAR, ODD_VISITS, TIMES

    lost, exposure = np.array([600.0, second, third]), np.array([60.0, 60.0, 60.0])
    began = np.array([0.0, 40.0, 80.0]) * DAY
    ended = began + 30 * DAY
    peers, noise = Peers(10.0, 4.0), Noise(80.0, 0.15)
    expected = peers.rate * exposure
    spread = 2 * noise.level_ml**2 + (noise.share * expected) ** 2
    rate = np.linspace(-30, 50, 20_001)
    prior = norm.pdf(rate, peers.rate, peers.variance**0.5) * (rate[1] - rate[0])

    def likelihood(times: Any, more: Any = 0.0) -> Any:
        means = rate[:, None] * exposure * times
        return float((prior * norm.pdf(lost, means, np.sqrt(spread + more)).prod(axis=1)).sum())

    sound = likelihood(np.ones(3))
    odd = [ODD_VISITS * likelihood(np.ones(3), (_ODD_TIMES * expected) ** 2 * np.eye(3)[n]) for n in range(3)]
    leak = sum(
        LEAKS_PER_YEAR * 30 / 365.25 / len(TIMES) * likelihood(np.where(np.arange(3) >= start, times, 1.0))
        for start in range(3)
        for times in TIMES
    )
    found = find_leak(lost, exposure, began, ended, peers, noise)
    assert found is not None
    total = sound + sum(odd) + leak
    assert found.probability == pytest.approx(leak / total, rel=1e-4)
    assert 1 - found.probability - found.odd == pytest.approx((sound + sum(odd[:2])) / total, rel=1e-4)
    assert found.odd == pytest.approx(odd[2] / total, rel=1e-4)


def test_a_season_is_found_again() -> None:
    """A swing of 40 % with its top in late July comes back from two years of monthly visits; noise gives none."""
    began = np.tile(np.arange(24) * MONTH, 4)
    at = 2 * np.pi * (np.arange(0, 31 * 24) * DAY) / (365.25 * DAY)
    truth = 1 + 0.4 * np.cos(at - 3.5)
    ratio = np.array([truth[int(b / DAY) : int(b / DAY) + 30].mean() for b in began])
    found = season(began, began + MONTH, ratio)
    assert np.hypot(found.cosine, found.sine) == pytest.approx(0.4, rel=0.03)
    assert np.arctan2(found.sine, found.cosine) % (2 * np.pi) == pytest.approx(3.5, abs=0.05)
    noise = np.random.default_rng(3).normal(1, 0.3, len(began))
    assert season(began, began + MONTH, noise) == NO_SEASON
    assert season(began[:5], began[:5] + MONTH, ratio[:5]) == UNKNOWN_SEASON


@pytest.mark.parametrize(
    ("count", "days", "is_known"), [(24, 300, True), (23, 300, False), (24, 299, False), (24, 301, True)]
)
def test_a_season_is_known_from_24_visits_over_300_days(count: int, days: float, is_known: bool) -> None:
    """A swing of half in twelve stretches side by side: one visit or one day less and it is not known yet."""
    began = np.linspace(0, days - 30, count) * DAY
    ratio = 1 + 0.5 * np.cos(2 * np.pi * (began + 15 * DAY) / (365.25 * DAY))
    found = season(began, began + 30 * DAY, ratio)
    assert found.is_known is is_known
    assert not is_known or found.cosine == pytest.approx(0.5, rel=0.1)


@pytest.mark.parametrize(
    ("own", "visits_seen", "takes_own"),
    [
        (Season(0.3), 5, True),  # what a room has shown is its own, however few its visits
        (Season(0.3), 100, True),
        (NO_SEASON, 31, False),
        (NO_SEASON, 32, True),  # enough visits to say that it has none
        (UNKNOWN_SEASON, 31, False),
        (UNKNOWN_SEASON, 32, True),
    ],
)
def test_a_room_takes_the_cellars_season_below_32_visits(own: Season, visits_seen: int, takes_own: bool) -> None:
    """And only where it has not shown one itself."""
    cellar = Season(0.1, 0.2)
    assert _or(own, cellar, np.ones(visits_seen)) == (own if takes_own else cellar)


def test_a_rate_is_weighed_by_its_variance_and_keeps_the_doubt_of_both() -> None:
    """Own 10 with variance 4, peers 14 with 4 between them and 8 of their fit: half way, sd^2 = 4/2 + 8/4.

    Far off, at 30, half way would be 20: it is moved by two of its own deviations and no further, to 14.
    """
    assert _weighed(10.0, 4.0, PeerRate(14.0, 8.0, 4.0)) == pytest.approx((12.0, 2.0))
    assert _weighed(10.0, 4.0, PeerRate(30.0, 8.0, 4.0)) == pytest.approx((14.0, 2.0))


@pytest.mark.parametrize(("barrels", "are_told_apart"), [(11, False), (12, True)])
def test_rooms_are_told_apart_from_twelve_barrels(barrels: int, are_told_apart: bool) -> None:
    """Four in the loft lose 14, the others 10: four barrels for each column and two more, so twelve for a second."""
    cellar = [record(f"B-{n}", room="Loft" if n < 4 else "Low") for n in range(barrels)]
    own = {each.tag: (14.0 if each.room == "Loft" else 10.0, 0.04) for each in cellar}
    found = peers_of(cellar, own, 10.0)
    if are_told_apart:
        assert (found["B-0"].rate, found["B-5"].rate) == pytest.approx((14.0, 10.0))
    else:
        assert found["B-0"].rate == found["B-5"].rate == pytest.approx((4 * 14 + (barrels - 4) * 10) / barrels)


def test_a_barrel_far_out_has_no_say_in_what_its_peers_lose() -> None:
    """Twenty-four lose 10 and one loses 19: the mean of all is 10.36, and that of the peers is 10."""
    cellar = [record(f"B-{n}") for n in range(25)]
    own = {each.tag: (19.0 if each.tag == "B-24" else 10.0, 0.01) for each in cellar}
    assert [each.rate for each in peers_of(cellar, own, 10.0).values()] == pytest.approx([10.0] * 25)


def test_a_level_is_last_known_at_the_end_of_the_last_visit() -> None:
    """Three months of visits end after 90 days; a barrel without any has no such day, and its peers' rate."""
    seen, new = record("B-1", 600, 610, 590), record("B-2")
    found = estimate_rates([seen, new])
    rates = [loss_rate(each, found[each.tag], 225_000) for each in (seen, new)]
    assert [rate.known_at for rate in rates] == [3 * MONTH, None]
    assert [rate.basis for rate in rates] == ["its own visits", "barrels like it"]


@pytest.mark.parametrize(("slip", "leaking"), [(3_000, 2_000), (3_000, 4_000), (6_000, 3_000)])
def test_a_slip_at_the_first_visit_does_not_hide_a_leak_at_the_last(slip: int, leaking: int) -> None:
    """Several litres at the first topping, then 600 ml, then a leak: as surely found as without the slip."""
    exposure, began = np.full(10, 60.0), np.arange(10.0) * MONTH
    for first in (600, slip):
        lost = np.array([first] + [600] * 7 + [leaking] * 2, dtype=np.float64)
        found = find_leak(lost, exposure, began, began + MONTH, Peers(10.0, 4.0), Noise(60.0, 0.1))
        assert found is not None
        assert found.probability > 0.999
        assert found.since == 8 * MONTH
        assert 0.7 < found.times / (leaking / 600) < 1.3


def test_a_hot_spell_of_the_room_is_told_from_a_thirsty_barrel() -> None:
    """In the third month every barrel drinks double; with 20 barrels the spell reads nearly two, elsewhere one.

    Moments lie a fortnight apart and are joined by straight lines, which rounds the top off by up to a tenth.
    """
    began = np.tile(np.arange(6) * MONTH, 20)
    ratio = np.where(began == 2 * MONTH, 2.0, 1.0)
    moments, spell = spells(began, began + MONTH, ratio)
    at = np.interp(np.array([0.5, 2.5, 4.5]) * MONTH, moments, spell)
    assert at == pytest.approx([1.0, (20 * 2 + 3) / 23, 1.0], rel=0.1)


@pytest.mark.slow
@pytest.mark.parametrize(("bung_ml", "most_of_own"), [(60.0, 1.0), (200.0, 0.92)])
def test_pooling_errs_less_than_each_barrel_alone_and_than_the_grand_mean(
    walks: Any, bung_ml: float, most_of_own: float
) -> None:
    """Simulated cellars with known rates, two visits each, twelve seeds of 200 barrels: pooling wins with every seed.

    With rough levels (200 ml at the bung) it errs less than 0.92 times as much as the barrels' own records with every
    seed, and less than 0.85 times in the mean; with good ones there is little to win, and it is won.
    """
    seeds = [
        walks.pooling_errors(np.random.default_rng(seed), 5, visits=2, bung_ml=bung_ml, seasons=False)
        for seed in range(12)
    ]
    of_own = np.array([errors.pooled / errors.own for errors in seeds])
    of_mean = np.array([errors.pooled / errors.grand_mean for errors in seeds])
    print(f"pooled over own {of_own.mean():.2f} ({of_own.min():.2f} to {of_own.max():.2f})")
    print(f"pooled over grand mean {of_mean.mean():.2f} ({of_mean.min():.2f} to {of_mean.max():.2f})")
    assert (of_own < most_of_own).all()
    assert bung_ml < 100 or of_own.mean() < 0.85
    assert (of_mean < 0.6).all()


def test_with_a_long_record_pooling_does_no_harm(walks: Any) -> None:
    """After two years a barrel's own record says it all; pooled errors are the same within the simulation's 5 %."""
    errors = walks.pooling_errors(np.random.default_rng(8), 10, visits=26)
    assert errors.pooled < 1.05 * errors.own


@pytest.mark.slow
@pytest.mark.parametrize(("times", "most_days"), [(2.0, 95), (3.0, 90), (5.0, 85)])
def test_planted_leaks_are_found_soon_and_sound_barrels_left_in_peace(walks: Any, times: float, most_days: int) -> None:
    """Leaks of 2, 3 and 5 times the norm, visits four weeks apart: all found, the middling one after three visits.

    24 leaks: their median is known to about ten days. False alarms: over some 900 sound barrel-years fewer than 1.2 in
    100, where 0.1 to 0.4 were seen in longer runs of the benchmark; a count of 11 at a true rate of 0.4 has a chance of
    0.2 % (Poisson).
    """
    seen = walks.watch(np.random.default_rng(11), 8, times)
    assert np.isfinite(seen.delays).mean() > 0.95
    assert np.median(seen.delays) <= most_days
    assert np.median(seen.first_looks) <= np.median(seen.delays)
    assert seen.per_100_barrel_years < 1.2
