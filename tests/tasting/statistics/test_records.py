"""Tasters over many flights: what is recovered of simulated tasters, and how often intervals hold the truth."""

import math

import numpy as np
import pytest
from scipy import stats

from cooperage.tasting.statistics.additive import fit_additive
from cooperage.tasting.statistics.records import TastedTable, taster_records

NAMES = ("Ada", "Ben", "Cas")


def test_a_record_by_hand() -> None:
    """Two flights. Ada 2 and 3 above the mean of the others: 2.5, on one degree; duplicates 1, 0 and 2 apart."""
    first = TastedTable(np.array([[12.0, 10, 10], [13, 11, 11], [14, 12, 12], [13, 11, 11]]), NAMES, ((1, 3),))
    second = TastedTable(np.array([[15.0, 12, 12], [16, 13, 13], [14, 11, 11], [18, 15, 15]]), NAMES, ((0, 1), (1, 3)))
    ada, ben, _ = taster_records([first, second])
    assert (ada.taster, ada.flights, ada.glasses, ada.pairs) == ("Ada", 2, 8, 3)
    assert ada.bias.value == pytest.approx(2.5)
    half = 12.706 * 0.5  # the standard error of 2 and 3 is a half
    assert (ada.bias.low, ada.bias.high) == pytest.approx((2.5 - half, 2.5 + half), abs=1e-3)
    assert ben.bias.value == pytest.approx(-1.25)
    assert ada.steady.value == pytest.approx(math.sqrt((0 + 1 + 4) / 6))
    low, high = (math.sqrt(2.5 / stats.chi2.isf(tail, 3)) for tail in (0.025, 0.975))
    assert (ada.steady.low, ada.steady.high) == pytest.approx((low, high))
    assert ada.likeness.value == pytest.approx(1)
    assert math.isnan(ada.likeness.low)


def test_duplicates_scored_alike_are_no_surer_than_the_step() -> None:
    """Whole points, no gap between duplicates: one score is known to 1/sqrt(12) of a point, no better."""
    table = TastedTable(np.array([[12.0, 10], [13, 12], [12, 10]]), ("Ada", "Ben"), ((0, 2),))
    steady = taster_records([table], width=8.0)[0].steady
    assert steady.value == pytest.approx(math.sqrt(1 / 12))
    assert steady.low == pytest.approx(math.sqrt(1 / 12 / stats.chi2.isf(0.025, 1)))
    assert steady.high == math.inf
    assert taster_records([table])[0].steady.high == pytest.approx(math.sqrt(1 / 12 / stats.chi2.isf(0.975, 1)))


def test_an_interval_of_likeness_is_fishers_in_one_flight() -> None:
    """One flight of nine glasses: SciPy's interval of Pearson's correlation with the mean of the others."""
    scores = np.random.default_rng(5).normal(size=(9, 3)) + np.arange(9)[:, None] * 0.3
    for at, record in enumerate(taster_records([TastedTable(scores, NAMES)], 0.9)):
        expected = stats.pearsonr(scores[:, at], np.delete(scores, at, axis=1).mean(axis=1))
        interval = expected.confidence_interval(0.9)
        assert record.likeness.value == pytest.approx(expected.statistic)
        assert (record.likeness.low, record.likeness.high) == pytest.approx((interval.low, interval.high))


def test_what_cannot_be_known_is_not() -> None:
    """One taster alone, two glasses, no duplicate: counts, and NaN for the rest; who scored nothing has no record."""
    (alone,) = taster_records([TastedTable(np.array([[5.0], [6.0]]), ("Ada",))])
    assert (alone.flights, alone.glasses, alone.pairs) == (1, 2, 0)
    assert all(math.isnan(known.value) for known in (alone.bias, alone.steady, alone.likeness))
    pair = taster_records([TastedTable(np.array([[5.0, 6.0, math.nan], [6.0, 7.5, math.nan]]), NAMES)])
    assert [record.taster for record in pair] == ["Ada", "Ben"]
    assert pair[0].bias.value == pytest.approx(-1.25)
    assert taster_records([]) == []


def simulated(rng: np.random.Generator, flights: int, bias: np.ndarray, sd: float) -> list[TastedTable]:
    """Flights of six glasses, the first poured again as the last; whole points, a tenth of the glasses missed."""
    tables = []
    for _ in range(flights):
        truth = rng.normal(20, 2, 6)[[0, 1, 2, 3, 4, 0]]
        scores = np.round(truth[:, None] + bias + rng.normal(0, sd, (6, len(bias))))
        scores[rng.random(scores.shape) < 0.1] = np.nan
        tables.append(TastedTable(scores, NAMES, ((0, 5),)))
    return tables


@pytest.mark.slow
def test_intervals_hold_the_truth_as_often_as_stated() -> None:
    """150 panels of three over five flights: bias and steadiness within three binomial deviations at each level."""
    rng, truth = np.random.default_rng(3), np.array([1.5, -0.5, -1.0])
    levels = (0.5, 0.8, 0.95)
    held = {level: np.zeros(2) for level in levels}
    spread = math.sqrt(1 + 1 / 12)  # of one score: a point, and its rounding
    for _ in range(150):
        tables = simulated(rng, 5, truth, 1.0)
        for level in levels:
            records = taster_records(tables, level)
            for record, bias in zip(records, truth * 1.5, strict=True):  # above the others alone
                held[level] += (
                    record.bias.low <= bias <= record.bias.high,
                    record.steady.low <= spread <= record.steady.high,
                )
    for level in levels:
        allowed = 3 * math.sqrt(level * (1 - level) / 150)  # the three biases of a panel are not independent
        assert held[level] / 450 == pytest.approx(np.full(2, level), abs=allowed), level


def test_bias_is_not_moved_by_which_glasses_were_missed() -> None:
    """A taster who misses the best glasses only is no harsher for it."""
    scores = np.array([10.0, 12, 14, 16, 18])[:, None] + np.array([0.0, 1.0, -1.0])
    scores[3:, 0] = np.nan
    assert taster_records([TastedTable(scores, NAMES)])[0].bias.value == pytest.approx(0)
    fit = fit_additive(scores)
    assert fit.bias_per_variance[0] > fit.bias_per_variance[1]


def test_how_much_of_the_scale_is_used_by_hand() -> None:
    """Ada sets glasses apart twice as widely as the others in one flight, eight times in the next: four times."""
    others = np.array([10.0, 11.0, 12.0])
    tables = [TastedTable(np.column_stack([others * times, others, others]), NAMES) for times in (2, 8)]
    ada, ben, _ = taster_records(tables)
    half = 12.706 * math.log(2)  # the logarithms are log 4 give or take log 2, on one degree
    assert ada.scale_use.value == pytest.approx(4)
    assert (ada.scale_use.low, ada.scale_use.high) == pytest.approx((4 / math.exp(half), 4 * math.exp(half)), rel=1e-3)
    assert ben.scale_use.value < 1
    (one, *_) = taster_records(tables[:1])
    assert one.scale_use.value == pytest.approx(2)
    assert math.isnan(one.scale_use.low)
    flat = TastedTable(np.column_stack([others * 0 + 5, others]), ("Ada", "Ben"))
    assert math.isnan(taster_records([flat])[0].scale_use.value)
