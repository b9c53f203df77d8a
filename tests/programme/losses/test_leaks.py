"""Leaks held against a barrel's own past, alarms that do not flicker, and jugs that show only whole steps."""

import math
from typing import Any

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.losses.leaks import BarrelVisits, Peers, look_for_leak
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import SURE_ENOUGH, Noise
from cooperage.programme.losses.noise import jug_step, learn_noise, visited
from cooperage.programme.losses.peers import peers_of
from cooperage.programme.losses.rates import estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.visits import LossVisit
from tests.examples import crossed

DAY = 86_400.0
MONTH = 30 * DAY


def look(*lost: float, peers: float = 10.0, looked_at: float = 0.0, season: Any = 1.0) -> Any:
    """Weigh visits a month apart of a barrel of 2 m2; 600 ml in a month are 10 ml/(m2 day)."""
    began, flat = np.arange(len(lost), dtype=np.float64) * MONTH, np.full(len(lost), 60.0)
    seen = BarrelVisits(
        np.array(lost, dtype=np.float64), flat * season, began, began + MONTH, np.zeros(len(lost)), flat
    )
    return look_for_leak(seen, Peers(peers, (0.4 * peers) ** 2 / 2), Noise(60.0, 0.1), looked_at)


def test_a_thrifty_barrel_that_leaks_no_more_than_its_peers_lose_is_found() -> None:
    """It lost 540 ml a month where its peers lose 1200, and loses 1500 now: 2.8 times its own, 1.25 times theirs."""
    leak = look(*[540] * 10, *[1500] * 3, peers=20.0)
    assert leak is not None
    assert leak.probability > 0.99
    assert leak.from_visit == 10
    assert look(*[540] * 13, peers=20.0) is None


@pytest.mark.parametrize(("high", "last"), [(1000, 700), (1050, 650), (1100, 600), (1150, 550)])
def test_a_sure_leak_is_held_through_a_visit_that_leaves_it_open(high: float, last: float) -> None:
    """Two high visits made it sure; the third says neither that it runs nor that it is over."""
    before, after = look(*[600] * 8, high, high), look(*[600] * 8, high, high, last)
    assert before is not None
    assert before.probability >= SURE_ENOUGH
    assert after is not None
    assert after.probability < SURE_ENOUGH <= after.sure
    assert after.is_likely


def test_a_look_at_the_bung_ends_the_hold_and_not_the_evidence() -> None:
    """A bung found tight after the alarm: what visits leave open is not held on to; what they agree on still is."""
    after_the_alarm = 10.5 * MONTH
    opened = look(*[600] * 8, 1100, 1100, 600, looked_at=after_the_alarm)
    assert opened is not None
    assert opened.sure < SURE_ENOUGH
    running = look(*[600] * 8, 3000, 3000, 3000, looked_at=after_the_alarm)
    assert running is not None
    assert running.sure > 0.99


@pytest.mark.parametrize(("sound", "is_over"), [(0, False), (1, False), (2, True), (3, True), (6, True)])
def test_a_leak_is_over_when_two_visits_show_it_sound(sound: int, is_over: bool) -> None:
    """Five visits of 3 L, then 600 ml as before: the first of these may be a slip, the second is not."""
    leak = look(*[600] * 6, *[3000] * 5, *[600] * sound)
    assert (leak is None or leak.sure < 0.1) is is_over


def test_a_leak_that_is_half_mended_is_not_over() -> None:
    """From 3 L to 1.8 L, where it lost 600 ml before it began."""
    leak = look(*[600] * 8, *[3000] * 4, *[1800] * 4)
    assert leak is not None
    assert leak.sure > 0.99


def test_a_leak_that_comes_back_is_found_again_from_there() -> None:
    """Sound for five visits between two leaks."""
    leak = look(*[600] * 6, *[3000] * 3, *[600] * 5, *[2400] * 3)
    assert leak is not None
    assert leak.probability > 0.99
    assert leak.since == 14 * MONTH
    assert leak.from_visit == 14


def test_what_leaks_out_does_not_know_the_season() -> None:
    """600 ml a month that swing by half; a leak of 900 ml through a year: still one and the same leak in summer."""
    swing = 1 - 0.5 * np.cos(2 * np.pi * np.arange(24) / 12)
    for visits in range(15, 25):
        lost = 600 * swing[:visits] + np.where(np.arange(visits) >= 12, 900.0, 0.0)
        leak = look(*lost, season=swing[:visits])
        assert leak is not None
        assert leak.sure > 0.99
        assert leak.from_visit in (11, 12)


@pytest.mark.parametrize("step", [50, 100, 250, 500])
def test_the_step_of_a_jug_is_read_from_what_was_poured(step: int) -> None:
    """Sixty toppings rounded to the step; one mistyped does not hide it."""
    poured = step * np.round(np.random.default_rng(1).uniform(1, 12, 60))
    assert jug_step(poured) == step
    poured[7] += 13
    assert jug_step(poured) == step


def test_toppings_to_the_millilitre_or_too_few_show_no_step() -> None:
    """And toppings of nothing are multiples of anything."""
    assert jug_step(np.random.default_rng(2).uniform(300, 900, 60).round()) == 0.0
    assert jug_step(np.full(7, 500.0)) == 0.0
    assert jug_step(np.append(np.full(7, 500.0), np.zeros(20))) == 0.0


@pytest.mark.parametrize(("is_paid_back", "least", "most"), [(False, 0.7, 1.0), (True, 0.0, 0.3)])
def test_rounding_is_counted_once_whether_the_next_visit_pays_it_back_or_not(
    is_paid_back: bool, least: float, most: float
) -> None:
    """A jug read to 500 ml, or half litres poured that stop short of the bung, which the next visit then finds."""
    rng, step, barrels = np.random.default_rng(3), 500.0, []
    began = np.arange(26, dtype=np.float64) * MONTH
    for _ in range(60):
        lost = rng.uniform(700, 1500) * rng.normal(1, 0.08, 26)
        levels = rng.uniform(-step / 2, step / 2, 27) if is_paid_back else rng.normal(0, 50, 27)
        lost = lost + levels[1:] - levels[:-1]
        seen = lost if is_paid_back else step * np.round(lost / step)
        barrels.append(visited(seen, np.full(26, 60.0), began, began + MONTH, np.full(26, step)))
    noise = learn_noise(barrels)
    assert least <= noise.rounding <= most
    expected = 2 * noise.level_ml**2 + noise.of_step(step)
    true = 2 * step**2 / 12 if is_paid_back else 2 * 50**2 + step**2 / 12
    assert float(expected) == pytest.approx(true, rel=0.35)


def test_peers_are_fitted_without_the_barrel_itself() -> None:
    """By its leverage, as the fit without it would be with the same weights: the weighted mean of the other eight."""
    rng = np.random.default_rng(4)
    cellar = [VisitRecord(f"B-{n}", 2.0, "Low", "oak", 0.0, 2, ()) for n in range(9)]
    own = {each.tag: (float(rng.normal(10, 2)), float(rng.uniform(0.1, 2))) for each in cellar}
    for tag, peer in peers_of(cellar, own, 10.0).items():
        rest = [(rate, 1 / (variance + peer.between)) for name, (rate, variance) in own.items() if name != tag]
        rates, weights = np.array(rest).T
        assert peer.others is not None
        assert peer.others.rate == pytest.approx(np.average(rates, weights=weights))
        assert peer.others.fit_variance == pytest.approx(1 / weights.sum())


def test_each_keg_has_its_own_jug() -> None:
    """Half litres from one keg, 50 ml from the other, and a dip that was no topping: each visit by its own step."""
    rng = np.random.default_rng(5)

    def record(tag: str, keg: str | None, step: float) -> VisitRecord:
        lost = step * np.round(rng.normal(1200, 150, 12) / step)
        visits = [
            LossVisit(n * MONTH, (n + 1) * MONTH, float(ml), 0.0, "Low", keg, float(ml)) for n, ml in enumerate(lost)
        ]
        return VisitRecord(tag, 2.0, "Low", "oak", 0.0, 2, visits)

    cellar = [record("A", "K-1", 500), record("B", "K-2", 50), record("C", None, 1), record("D", "K-2", 50)]
    assert {tag: rate.noise.step_ml for tag, rate in estimate_rates(cellar).items()} == {
        "A": 500,
        "B": 50,
        "C": 0,
        "D": 50,
    }


def test_the_book_tells_what_was_poured_and_whence(cellar_book: Book, clock: Any) -> None:
    """Half litres from K-1 for nine months, a sample in between: the jug shows half litres."""
    for _ in range(9):
        clock.pass_days(15)
        cellar_book.write(acts.Sample(vessel="B-1", volume=37))
        clock.pass_days(15)
        cellar_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=500))
        cellar_book.write(acts.Top(vessel="B-1", volume=500, source="K-1", sure=True))
    assert loss_rates(cellar_book)["B-1"].noise.step_ml == 500


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "found"),
    crossed(["thrifty", "usual", "thirsty"], [(2.0, 0.85), (2.7, 0.95), (3.4, 0.95), (5.0, 0.95)]),
)
def test_leaks_of_any_barrel_are_found_and_stay_found(leaks: Any, kind: str, found: tuple[float, float]) -> None:
    """24 leaks in 6 cellars, looked over every four weeks: all are found, and none is withdrawn while it runs.

    Longer runs found 96 % of the weakest within four visits; 0.85 of 24 are three binomial deviations below.
    """
    times, within_4 = found
    seen = leaks.watch(np.random.default_rng(41), 6, leaks.Jug(), leaks.Planted(4, kind, times))
    print(leaks.leak_line(f"{kind}, {times} times", seen))
    assert all(math.isfinite(visits) for visits in seen.visits)
    assert seen.share_within(4) >= within_4
    assert seen.share_within(8) == 1.0
    assert seen.withdrawn == 0
    assert seen.false_alarms <= 2


@pytest.mark.slow
@pytest.mark.parametrize(("is_whole", "step"), crossed([False, True], [50, 250, 500]))
def test_a_coarse_jug_accuses_nobody(leaks: Any, step: int, is_whole: bool) -> None:
    """276 sound barrel-years: no more than 5 false alarms, or 1.8 in 100.

    In longer runs 0.0 to 0.9 in 100 were seen (4.2 before the step was counted); 6 at a true rate of 0.9 have a chance
    of 4 % (Poisson), at 0.5 of 0.3 %.
    """
    seen = leaks.watch(np.random.default_rng(42), 6, leaks.Jug(step, is_whole), leaks.Planted())
    print(leaks.leak_line(f"none, {step} ml", seen))
    assert seen.false_alarms <= 5


@pytest.mark.slow
@pytest.mark.parametrize("step", [250, 500])
def test_a_coarse_jug_hides_no_leak(leaks: Any, step: int) -> None:
    """3.4 times the usual: found within four visits, and not withdrawn."""
    seen = leaks.watch(np.random.default_rng(43), 6, leaks.Jug(step), leaks.Planted(4, "usual", 3.4))
    assert seen.share_within(4) >= 0.85
    assert seen.share_within(8) == 1.0
    assert seen.withdrawn == 0
