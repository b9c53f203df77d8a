"""The mixed model against published fits, and against algebra that it must obey."""

import csv
import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.ready.mixed import (
    LEARNED,
    PRIOR,
    Declared,
    Series,
    Spreads,
    ahead,
    fit,
    own_effects,
    refit,
    surprises,
)

REFERENCE = Path(__file__).parents[2] / "reference"
FLAT = np.zeros(2)


def series_of(file: str, subject: str, time: str, value: str) -> dict[str, Series]:
    """Read a table of subjects measured at several times; columns are one and the time."""
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    with (REFERENCE / file).open(encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            found[row[subject]].append((float(row[time]), float(row[value])))
    return {key: one_series(np.array(rows)) for key, rows in found.items()}


def one_series(rows: Any) -> Series:
    """Make a series of rows of time and value."""
    times, values = rows[:, 0], rows[:, 1]
    one = np.ones(len(times))
    return Series(times, np.column_stack([one, times]), times, values, one)


SLEEP = series_of("sleepstudy.csv", "Subject", "Days", "Reaction")
PUBLISHED: dict[str, Any] = json.loads((REFERENCE / "hierarchical_cases.json").read_text())["cases"][0]


@pytest.mark.parametrize(("case", "correlated"), [("reml_slope", True), ("reml_uncorrelated", False)])
def test_the_sleep_study(case: str, correlated: bool) -> None:
    """Coefficients, standard errors, variances, likelihood and each person's own, by restricted likelihood.

    Bates, Maechler, Bolker and Walker (2015), J. Stat. Softw. 67(1); data of Belenky et al. (2003).
    """
    series, wanted = list(SLEEP.values()), PUBLISHED[case]
    start = Spreads(20.0, 5.0, 0.0, 30.0)
    found = fit(series, Declared(FLAT, FLAT, start, correlated=correlated))
    assert found.ended == LEARNED
    assert found.coefficients == pytest.approx(wanted["beta"], rel=1e-6)
    assert np.sqrt(np.diagonal(found.covariance)) == pytest.approx(wanted["se"], rel=1e-3)
    assert found.likelihood == pytest.approx(wanted["loglik"], abs=1e-3)
    assert found.spreads.between() == pytest.approx(np.array(wanted["random_cov"]), rel=2e-3, abs=1e-6)
    assert found.spreads.error**2 == pytest.approx(wanted["residual_var"], rel=1e-3)
    effects = dict(zip(SLEEP, own_effects(series, found), strict=True))
    for person, own in wanted["blups"].items():
        assert effects[person] == pytest.approx(own, abs=0.05)


def test_the_published_figures_of_the_sleep_study() -> None:
    """What was printed: 251.405 (6.825) and 10.467 (1.546), variances 612.10, 35.07 and 654.94, criterion 1743.6."""
    printed = PUBLISHED["published"]
    spreads = Spreads(612.10**0.5, 35.07**0.5, 0.0, 654.94**0.5, 0.066)
    found = refit(list(SLEEP.values()), Declared(FLAT, FLAT, spreads), spreads)
    assert found.coefficients == pytest.approx(printed["beta"], abs=5e-4)
    assert np.sqrt(np.diagonal(found.covariance)) == pytest.approx(printed["se"], abs=1e-3)
    assert -2 * found.likelihood == pytest.approx(printed["reml_criterion"], abs=0.05)


def test_growth_of_children() -> None:
    """Distance on age: 16.761 + 0.660 age, spreads 2.327, 0.226 (correlation -0.609) and 1.310, likelihood -221.32.

    Data of Potthoff and Roy (1964), Biometrika 51, 313-326; the fit is from memory of Pinheiro and Bates (2000),
    Mixed-Effects Models in S and S-PLUS, chapter 4.
    """
    series = list(series_of("orthodont.csv", "Subject", "age", "distance").values())
    found = fit(series, Declared(FLAT, FLAT, Spreads(2.0, 0.2, 0.0, 1.0), correlated=True))
    assert found.coefficients == pytest.approx([16.7611, 0.66019], abs=2e-4)
    assert found.likelihood == pytest.approx(-221.318, abs=2e-3)
    spreads = found.spreads
    shown = (spreads.level, spreads.gain, spreads.correlation, spreads.error)
    assert shown == pytest.approx((2.327, 0.2264, -0.609, 1.310), abs=5e-3)


def test_nothing_to_learn_from() -> None:
    """Without a series what is declared comes back, and the fit ends so."""
    spreads = Spreads(1.0, 1.0, 0.1, 1.0)
    found = fit([], Declared(np.array([3.0, 1.0]), np.array([4.0, 1.0]), spreads))
    assert (found.ended, list(found.coefficients), found.spreads) == (PRIOR, [3.0, 1.0], spreads)
    mean, covariance = ahead(None, np.array([2.0]), np.array([[1.0, 2.0]]), np.array([5.0]), found)
    assert mean == pytest.approx([5.0])
    assert covariance == pytest.approx(np.array([[1 + 4 + 0.05 + 0.25 + 4]]))


values = st.lists(st.floats(0, 10), min_size=1, max_size=5)


@given(st.lists(values, min_size=1, max_size=4), st.floats(0.1, 3), st.floats(0.05, 2), st.floats(0.0, 0.5))
def test_looks_one_after_the_other_are_all_at_once(
    looks: list[list[float]], level: float, gain: float, wander: float
) -> None:
    """What is ahead of a series is the normal law given its values, errors left out: as one large matrix has it."""
    spreads = Spreads(level, gain, wander, 1.0)
    series = [one_series(np.column_stack([np.arange(1.0, len(row) + 1), row])) for row in looks]
    means, precisions = np.array([5.0, 0.0]), np.array([0.25, 1.0])
    fitted = refit(series, Declared(means, precisions, spreads), spreads)
    at, seen = np.array([2.5, 7.0]), series[0]
    columns = np.column_stack([np.ones(2), at])
    mean, covariance = ahead(seen, at, columns, at, fitted)
    all_days = np.concatenate([*(each.times for each in series), at])
    owner = np.concatenate([*(np.full(len(each.times), k) for k, each in enumerate(series)), np.zeros(2)])
    every = np.column_stack([np.ones(len(all_days)), all_days])
    same = owner[:, None] == owner
    joint = every @ np.diag(1 / precisions) @ every.T
    joint += same * (every @ spreads.between() @ every.T + wander**2 * np.minimum(all_days[:, None], all_days))
    n = len(all_days) - 2
    joint[:n, :n] += np.eye(n)
    known = np.concatenate([each.values for each in series])
    gained = np.linalg.solve(joint[:n, :n], joint[:n, n:]).T
    assert mean == pytest.approx(every[n:] @ means + gained @ (known - every[:n] @ means), rel=1e-6, abs=1e-6)
    assert covariance == pytest.approx(joint[n:, n:] - gained @ joint[:n, n:], rel=1e-6, abs=1e-6)


def test_surprises_are_in_standard_deviations() -> None:
    """A value that its columns expect is no surprise; one a standard deviation off is one."""
    spreads = Spreads(3.0, 0.0, 0.0, 4.0)
    one = np.ones(2)
    series = Series(one, one[:, None], one, np.array([10.0, 15.0]), one)
    fitted = refit([series], Declared(np.array([10.0]), np.array([1e12]), spreads), spreads)
    assert surprises([series], fitted)[0] == pytest.approx([0.0, 1.0])
