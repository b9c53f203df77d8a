"""The filter and the fit against published mixed models, exact algebra, and published rates of sulphite."""

import csv
from dataclasses import replace
from math import exp, inf, log
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from cooperage.programme.ageing.experience import PRIOR
from cooperage.programme.ageing.filtering import UsualAgeing, carry_on
from cooperage.programme.ageing.fitting import LEARNED, fit
from cooperage.programme.ageing.likeness import Likeness
from cooperage.programme.ageing.models import AGEINGS, Ageing
from cooperage.programme.ageing.side_by_side import Floats, Step, Trails

REFERENCE = Path(__file__).parents[2] / "reference"
DRIFT = Ageing("sg", usual_doubt=1e6, of_vessel=5.922, least=None)
FADE = AGEINGS["free_so2_mg_l"]
YEAR = 365.25


def steps_of(values: Floats, days: NDArray[Any], doubt: float) -> Trails:
    """Make trails of readings at common days, shape (vessels, readings), up to the day of the last reading."""
    n, count = values.shape
    gaps = np.diff(days, prepend=days[0])
    made = [
        step_of(n, age=np.full(n, gap), value=values[:, at], doubt=np.full(n, doubt), begins=np.full(n, at == 0))
        for at, gap in zip(range(count), gaps, strict=True)
    ]
    return Trails((*made, step_of(n)))


def step_of(n: int, **given: NDArray[Any]) -> Step:
    """Make one step of n vessels in which nothing happened but what is given."""
    nothing = dict.fromkeys(("age", "added", "added_age", "racked", "racked_age", "by_air"), np.zeros(n))
    nothing |= dict.fromkeys(("kept", "doubt"), np.ones(n)) | dict.fromkeys(("value", "came"), np.full(n, np.nan))
    return Step(**(nothing | {"begins": np.zeros(n, dtype=bool)} | given))


def alike(n: int, usual: float, doubt: float) -> tuple[Floats, Likeness]:
    """Return the columns of n vessels of which nothing is known but that they are alike."""
    return np.ones((n, 1)), Likeness((), (), (), np.array([usual]), np.array([doubt]))


def sleep_study() -> tuple[Floats, Floats]:
    """Return reaction times [ms] of 18 people on ten days (Belenky et al. (2003), J. Sleep Res. 12, 1-12)."""
    with (REFERENCE / "sleepstudy.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    people = sorted({row["Subject"] for row in rows})
    by = {(row["Subject"], int(row["Days"])): float(row["Reaction"]) for row in rows}
    return np.array([[by[person, day] for day in range(10)] for person in people]), np.arange(10.0)


def test_the_usual_drift_of_the_sleep_study() -> None:
    """Slope 10.467 with standard error 1.546 at the published variances: 35.07 between people, 654.94 of a reading.

    Bates, Maechler, Bolker and Walker (2015), J. Stat. Softw. 67(1), section 2. Ten days for each person, so the
    intercepts, which are random there and free here, do not move the slope or its error.
    """
    values, days = sleep_study()
    columns = np.ones((18, 1))
    trails, usual = steps_of(values, days, 654.94**0.5), UsualAgeing(np.array([0.0, 1.0, 1.0]), 35.07**0.5, far=inf)
    for _ in range(2):  # one Gauss-Newton step is exact where nothing bends; the second shows that it rests
        passed = carry_on(trails, columns, DRIFT, usual)
        slope = usual.coefficients[0] + passed.score[0] / passed.normal[0, 0]
        assert slope == pytest.approx(10.467286, rel=1e-6)
        usual = replace(usual, coefficients=np.array([slope, 1.0, 1.0]))
    assert passed.normal[0, 0] ** -0.5 == pytest.approx(1.546, abs=2e-3)


@given(
    st.lists(st.floats(20, 40), min_size=3, max_size=6),
    st.floats(1, 4),
    st.floats(0.001, 0.2),
    st.floats(-0.02, 0.02),
)
def test_a_drift_is_what_exact_algebra_makes_of_it(
    values: list[float], doubt: float, spread: float, usual: float
) -> None:
    """Figure and rate at the end are the conditional means of a joint normal, worked with matrices at once."""
    days = np.arange(len(values)) * 30.0
    passed = carry_on(
        steps_of(np.array([values]), days, doubt),
        np.ones((1, 1)),
        DRIFT,
        UsualAgeing(np.array([usual, 1.0, 1.0]), spread, far=inf),
    )
    design = np.column_stack([np.ones(len(values)), days])  # the figure at first, the rate
    precision = design.T @ design / doubt**2 + np.diag([0.0, spread**-2])
    mean = np.linalg.solve(precision, design.T @ np.array(values) / doubt**2 + np.array([0.0, usual / spread**2]))
    covariance = np.linalg.inv(precision)
    last = np.array([1.0, days[-1]])
    assert passed.value[0] == pytest.approx(last @ mean, rel=1e-6)
    assert passed.vv[0] == pytest.approx(last @ covariance @ last, rel=1e-6)
    assert passed.rate[0] == pytest.approx(mean[1], rel=1e-6, abs=1e-9)


def test_sulphite_falls_as_published_before_the_cellar_has_shown_its_own() -> None:
    """60 mg/L in a 225 L cask is 50 after a month (Bordeaux practice); later months lie in the band of the prior."""
    with (REFERENCE / "so2_series.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["case"] == "cask225_linear"]
    published = {int(row["time"]): float(row["value"]) for row in rows}
    columns, likeness = alike(1, FADE.usual, FADE.usual_doubt)
    for month in (1, 2, 3):
        days = np.array([0.0])
        trails = steps_of(np.array([[published[0]]]), days, 1.0)
        ahead = replace(trails.steps[-1], age=np.array([month * YEAR / 12]))
        passed = fit(replace(trails, steps=(trails.steps[0], ahead)), columns, likeness, FADE).passed
        sd = (FADE.usual_doubt**2 + FADE.of_vessel**2) ** 0.5
        low, high = (60 * exp(-exp(FADE.usual + sign * sd) * month * YEAR / 12) for sign in (1, -1))
        assert low < published[month] < high
        if month == 1:
            assert passed.value[0] == pytest.approx(published[1], abs=0.1)


def test_a_cellar_teaches_its_own_rate() -> None:
    """Forty vessels fall at rates about 0.003 a day, half of what is declared: the fit finds that within its error."""
    chance = np.random.default_rng(7)
    rates = 0.003 * np.exp(0.25 * chance.standard_normal(40))
    days = np.arange(6) * 90.0
    values = 40 * np.exp(-rates[:, None] * days) + 1.5 * chance.standard_normal((40, 6))
    columns, likeness = alike(40, FADE.usual, FADE.usual_doubt)
    found = fit(steps_of(values, days, 3.0), columns, likeness, FADE)
    assert found.ended == LEARNED
    assert found.usual.coefficients[0] == pytest.approx(log(0.003), abs=3 * found.covariance[0, 0] ** 0.5)
    assert found.covariance[0, 0] ** 0.5 < 0.1
    assert found.usual.scale == pytest.approx(0.5, abs=0.1)  # the readings err by 1.5 where they claim 3
    truth = 40 * np.exp(-rates * days[-1])
    off = (found.passed.value - truth) / found.passed.vv**0.5
    assert 0.6 < off.std() < 1.4


def test_without_readings_to_compare_the_declaration_holds() -> None:
    """One reading each is nothing to learn from, and the fit says so."""
    columns, likeness = alike(3, FADE.usual, FADE.usual_doubt)
    found = fit(steps_of(np.array([[30.0], [31.0], [32.0]]), np.array([0.0]), 3.0), columns, likeness, FADE)
    assert found.ended == PRIOR
    assert found.usual.coefficients[0] == FADE.usual


def test_no_vessel_differs_and_that_is_an_ending() -> None:
    """Rates without any spread between vessels are learned like others."""
    days = np.arange(5) * 60.0
    values = np.tile(35 * np.exp(-0.004 * days), (12, 1))
    columns, likeness = alike(12, FADE.usual, FADE.usual_doubt)
    found = fit(steps_of(values, days, 2.0), columns, likeness, FADE)
    assert found.ended == LEARNED
    assert exp(found.usual.coefficients[0]) == pytest.approx(0.004, rel=0.02)


def test_a_far_reading_moves_the_rate_little() -> None:
    """One reading of 5 among thirties moves the usual rate by less than a tenth of itself."""
    days = np.arange(6) * 60.0
    values = np.tile(35 * np.exp(-0.003 * days), (20, 1)) + 0.5 * np.random.default_rng(3).standard_normal((20, 6))
    columns, likeness = alike(20, FADE.usual, FADE.usual_doubt)
    calm = fit(steps_of(values, days, 1.0), columns, likeness, FADE).usual.coefficients[0]
    values[4, 3] = 5.0
    shaken = fit(steps_of(values, days, 1.0), columns, likeness, FADE).usual.coefficients[0]
    assert exp(shaken) == pytest.approx(exp(calm), rel=0.1)


@given(st.data())
def test_whatever_was_read_every_figure_is_finite(data: st.DataObject) -> None:
    """Zeros, jumps, doses larger than what there was, exact readings, years between: no warning, nothing infinite."""
    name = data.draw(st.sampled_from(sorted(AGEINGS)))
    ageing, n = AGEINGS[name], 4
    amounts = st.floats(0, 500, allow_subnormal=False)

    def column(values: st.SearchStrategy[float]) -> Floats:
        return np.array(data.draw(st.lists(values, min_size=n, max_size=n)), dtype=np.float64)

    steps = []
    for _ in range(data.draw(st.integers(1, 5))):
        begins = column(st.sampled_from([0.0, 1.0])) > 0
        steps.append(
            Step(
                kept=column(st.floats(0, 20)),
                age=column(st.floats(0, 3000)),
                added=column(amounts),
                added_age=column(st.floats(0, 3000)),
                racked=column(st.floats(0, 9)),
                racked_age=column(st.floats(0, 3000)),
                by_air=column(st.floats(-5, 5)),
                value=column(st.one_of(st.just(float("nan")), amounts)),
                doubt=column(st.floats(1e-4, 50)),
                came=np.where(begins, column(st.one_of(st.just(float("nan")), amounts)), np.nan),
                begins=begins,
            )
        )
    columns, likeness = alike(n, ageing.usual, ageing.usual_doubt)
    with np.errstate(all="raise", under="ignore"):
        found = fit(Trails(tuple(steps)), columns, likeness, ageing)
    known = ~np.isnan(found.passed.value)
    assert np.isfinite(found.passed.value[known]).all()
    assert (found.passed.vv[known] >= 0).all()
    assert np.isfinite(found.passed.rate).all()
    assert np.isfinite(found.usual.scale)


def racked(taken: Floats, came: float = 30.0, added: float = 0.0) -> Trails:
    """Make trails of vessels that took mead in and were read at once; where what it took is NaN, they were not read."""
    n = len(taken)
    is_there = {"came": np.full(n, came), "added": np.full(n, added), "added_age": np.full(n, 30.0)}
    begun = step_of(n, racked=np.ones(n), value=came + added - taken, begins=np.ones(n, dtype=bool), **is_there)
    return Trails((begun, step_of(n)))


def test_each_racking_takes_something_else() -> None:
    """6 mg/L give or take 5: found as such, and the next one racked is in doubt by that, not by readings."""
    taken = 6.0 + 5.0 * np.random.default_rng(5).standard_normal(40)
    taken[0] = np.nan
    columns, likeness = alike(40, FADE.usual, FADE.usual_doubt)
    found = fit(racked(taken), columns, likeness, FADE)
    assert found.usual.coefficients[-2] == pytest.approx(float(np.nanmean(taken)), abs=0.8)
    assert found.usual.scale == pytest.approx(1.0, abs=0.05)
    assert found.passed.vv[0] ** 0.5 == pytest.approx(5.0, rel=0.2)


def test_of_a_dose_before_a_racking_as_much_stays_as_of_others() -> None:
    """Where half of every dose is found, a racking does not bring the other half back: 10 of 20 mg/L, less 3."""
    usual = UsualAgeing(np.array([FADE.usual, 3.0, 0.5]), FADE.of_vessel)
    none = np.array([np.nan])
    dosed, plain = (carry_on(racked(none, 30.0, added), np.ones((1, 1)), FADE, usual) for added in (20.0, 0.0))
    assert plain.value[0] == pytest.approx(27.0)
    assert dosed.value[0] - plain.value[0] == pytest.approx(10.0 * exp(-30.0 * exp(FADE.usual)))
    assert dosed.vv[0] > plain.vv[0]


def test_a_racking_takes_no_more_than_there_is() -> None:
    """Of 4 mg/L a racking that usually takes 8 leaves 2."""
    usual = UsualAgeing(np.array([FADE.usual, 8.0, 1.0]), FADE.of_vessel)
    assert carry_on(racked(np.array([np.nan]), came=4.0), np.ones((1, 1)), FADE, usual).value[0] == pytest.approx(2.0)


def test_what_filling_changes_teaches_no_drift() -> None:
    """Mead that came at 12.0 is read as 12.5 give or take 0.3 in every barrel and stands still from then on."""
    ageing, n = AGEINGS["abv"], 30
    first = 12.5 + 0.3 * np.random.default_rng(17).standard_normal(n)
    begun = step_of(n, age=np.full(n, 90.0), came=np.full(n, 12.0), value=first, begins=np.ones(n, dtype=bool))
    again = [step_of(n, age=np.full(n, 180.0), value=first) for _ in range(2)]
    trails = Trails(tuple(replace(step, doubt=np.full(n, 0.1)) for step in (begun, *again, step_of(n))))
    columns, likeness = alike(n, ageing.usual, ageing.usual_doubt)
    found = fit(trails, columns, likeness, ageing)
    assert found.usual.of_fill > ageing.of_fill
    assert abs(found.usual.coefficients[0]) * 180 < 0.02


def test_an_earlier_result_to_begin_from_does_not_change_the_end() -> None:
    """What was likeliest of the spreads before does not stay where another is likelier now."""
    chance = np.random.default_rng(11)
    days = np.arange(6) * 60.0
    rates = 0.004 * np.exp(FADE.of_vessel * chance.standard_normal(30))
    values = 40 * np.exp(-rates[:, None] * days) + chance.standard_normal((30, 6))
    columns, likeness = alike(30, FADE.usual, FADE.usual_doubt)
    trails = steps_of(values, days, 1.0)
    cold = fit(trails, columns, likeness, FADE)
    warm = fit(trails, columns, likeness, FADE, replace(cold.usual, of_vessel=2 * FADE.of_vessel))
    assert warm.usual.of_vessel == cold.usual.of_vessel
    assert warm.usual.coefficients == pytest.approx(cold.usual.coefficients, abs=0.02)


def test_acidity_that_jumps_may_go_on() -> None:
    """Still at 0.40 for a year, then up by 0.15 every quarter: half of the third rise is foreseen."""
    values = np.array([[0.40, 0.41, 0.40, 0.39, 0.58, 0.73], [0.40, 0.40, 0.41, 0.40, 0.41, 0.40]])
    days = np.arange(6) * 91.0
    columns, likeness = alike(2, 0.0, 0.02 / YEAR)
    found = fit(steps_of(values, days, 0.02), columns, likeness, AGEINGS["va_g_l"])
    assert 0.075 < found.passed.rate[0] * 91 < 0.2
    assert abs(found.passed.rate[1] * 91) < 0.04


def test_a_rate_that_changes_with_the_season_is_in_doubt() -> None:
    """Half as fast again and half as slow by chance, read well: forecasts are as far off as they say."""
    chance = np.random.default_rng(13)
    days = np.arange(8) * 91.0
    a_day = 0.006 * np.exp(0.4 * chance.choice([-1, 1], (40, 7)))
    fallen = np.concatenate([np.zeros((40, 1)), np.cumsum(a_day * 91, axis=1)], axis=1)
    values = 60 * np.exp(-fallen) + 0.3 * chance.standard_normal((40, 8))
    columns, likeness = alike(40, FADE.usual, FADE.usual_doubt)
    seen = steps_of(values[:, :-1], days[:-1], 0.3)
    ahead = replace(seen.steps[-1], age=np.full(40, 91.0))
    found = fit(replace(seen, steps=(*seen.steps[:-1], ahead)), columns, likeness, FADE)
    off = (found.passed.value - values[:, -1]) / (found.passed.vv + 0.3**2) ** 0.5
    assert found.usual.scale < 2.5  # it is not the readings that err
    assert 0.7 < off.std() < 1.3
