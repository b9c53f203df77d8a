"""Statistics of the fill against computed examples, and the plans' chances of acceptance."""

import csv
import json
from datetime import date
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import t

from cooperage.liquid.refermentation import bottle_bar, bottle_gauge_bar, co2_from_sugar, co2_volumes
from cooperage.liquid.warmed import volume_against_20c
from cooperage.programme.bottling_risks.fill import (
    NoPlan,
    TooFewBottles,
    average_is_within,
    average_off_percent,
    chance_accepted,
    check_each,
    fill_sample,
    fill_target,
    inspect,
    short_average,
    student,
    tolerable_error,
    volume_from_weight,
)
from cooperage.programme.rules.figure import RuleUnknown
from cooperage.programme.rules.kept import OwnRule
from cooperage.programme.rules.profile import Profile, profile_with

REFERENCE = Path(__file__).parents[2] / "reference"
TODAY = date(2026, 11, 27)
FOUND = json.loads((REFERENCE / "fill_examples.json").read_text())


def rules(name: str, **own: str) -> Profile:
    from datetime import UTC, datetime

    at = datetime(2026, 1, 1, tzinfo=UTC)
    entered = [OwnRule(key, name, key, value, TODAY, "read", "", "", at) for key, value in own.items()]
    return profile_with(entered, name, TODAY)


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / f"{name}.csv").open(newline="") as file:
        return list(csv.DictReader(file))


# The bands above a litre are from memory, so they are shipped without a value; here the person has entered them.
ABOVE_A_LITRE = {"tne.1-10l": "1.5", "tne.10-15l": "150", "tne.15l": "1"}


@pytest.mark.parametrize("place", ["EU", "UK"])
def test_tolerable_errors(place: str) -> None:
    """Dir. 76/211/EEC Annex I 2.4: each band, and each bottle with both limits; percentages go up to 0.1 mL."""
    entered = rules(place, **ABOVE_A_LITRE)
    for row in rows("rules_tne"):
        at = (float(row["qn_from_ml"]) + float(row["qn_to_ml"] or 30000)) / 2
        rule = entered.find("tne", at)
        assert rule is not None
        assert float(rule.number) == float(row["tne_ml"] or row["tne_percent_of_qn"])
        if row["confidence"] == "memory":
            with pytest.raises(RuleUnknown):
                tolerable_error(rules(place), at)
    for row in rows("rules_tne_by_bottle"):
        nominal = float(row["nominal_ml"])
        error = float(tolerable_error(entered, nominal))
        assert error == float(row["tne_ml"])
        assert nominal - error == pytest.approx(float(row["t1_limit_ml"]))
        assert nominal - 2 * error == pytest.approx(float(row["t2_limit_ml"]))


@pytest.mark.parametrize(
    "case", [each for each in FOUND["cases"] if each["rule"].startswith("EU")], ids=lambda c: c["id"]
)
def test_inspected_samples(case: Any) -> None:
    """Mean, spread, both checks, and the lot."""
    sample = fill_sample(case["volumes_ml_at_20c"])
    lot = 400 if "100-500" in case["rule"] else 1000
    found = inspect(rules("EU"), sample, case["nominal_ml"], lot, destructive="destructive" in case["rule"])
    assert sample.n == case["n"]
    assert sample.mean_ml == pytest.approx(case["mean"], abs=1e-3)
    assert sample.s_ml == pytest.approx(case["s"], abs=1e-4)
    assert found.mean_limit_ml == pytest.approx(case["mean_limit"], abs=1e-3)
    assert (found.short, found.far_short) == (case["below_t1"], case["below_t2"])
    assert (found.mean_check, found.count_check, found.lot) == (case["mean_check"], case["count_check"], case["lot"])


@pytest.mark.parametrize(
    "case", [each for each in FOUND["cases"] if each["id"].startswith("us")], ids=lambda c: c["id"]
)
def test_each_bottle(case: Any) -> None:
    """27 CFR 24.255(b), (c): just on the limit is inside, and over and under are counted."""
    sample = fill_sample(case["volumes_ml_at_20c"])
    found = check_each(rules("US"), sample.volumes_ml, case["nominal_ml"])
    assert (float(found.low_ml), float(found.high_ml)) == (case["low"], case["high"])
    assert (list(found.outside), found.over, found.under) == (case["outside"], case["over"], case["under"])
    assert average_off_percent([sample.mean_ml], 750) == pytest.approx(case["average_percent_off"], abs=1e-4)
    is_within = average_is_within(rules("US"), [sample.mean_ml] * 6, 750)
    assert is_within is (case["half_percent_check"] == "ok")
    assert average_is_within(rules("US"), [sample.mean_ml] * 5, 750) is None


@pytest.mark.parametrize(
    "case", [each for each in FOUND["cases"] if each["id"].startswith("hb")], ids=lambda c: c["id"]
)
def test_short_average(case: Any) -> None:
    """NIST Handbook 133 (2026) chapter 2; the largest shortage is what the tester typed."""
    sample = fill_sample(case["volumes_ml_at_20c"])
    found = short_average(sample, case["nominal_ml"], case["mav_used_ml"])
    assert found.average_ml == pytest.approx(case["average_error"], abs=1e-3)
    assert found.limit_ml == pytest.approx(case["sample_error_limit"], rel=2e-3)
    assert found.passes is (case["average_check"] == "pass")
    assert found.beyond == case["unreasonable_minus_errors"]


@pytest.mark.parametrize("df", [1, 2, 3, 4, 5, 10, 11, 29, 47, 124, 999])
def test_student_s_t_is_that_of_the_library(df: int) -> None:
    assert student(df) == pytest.approx(float(t.ppf(0.975, df)), rel=1e-8)


def test_factors_of_every_plan_are_student_s() -> None:
    """Every factor beside a plan, those from memory too, is t over the root of n."""
    for row in rows("rules_sampling_plans"):
        if row["factor_on_s_computed"]:
            n, level = int(row["n"]), 0.975 if row["jurisdiction"] == "US" else 0.995
            assert float(t.ppf(level, n - 1)) / sqrt(n) == pytest.approx(float(row["factor_on_s_computed"]), abs=6e-4)


def test_targets() -> None:
    """The least mean of a line by its spread; the largest of three binds."""
    for row in FOUND["targets"]["rows"]:
        found = fill_target(row["nominal"], row["tne"], row["sd"])
        got = (found.by_average, found.by_short, found.by_never, found.ml)
        assert got == pytest.approx([row[each] for each in ("rule1", "rule2", "rule3", "target_min")], abs=6e-3)


PLANS: Any = {
    "destructive_20_1": ((20, 1, 2), None),
    "single_50_3": ((50, 3, 4), None),
    "single_80_5": ((80, 5, 6), None),
    "single_125_7": ((125, 7, 8), None),
    "double_30": ((30, 1, 3), (30, 4, 5)),
    "double_50": ((50, 2, 5), (50, 6, 7)),
    "double_80": ((80, 3, 7), (80, 8, 9)),
}


def test_chances_of_acceptance() -> None:
    """A lot of which so many are short is accepted so often."""
    for row in FOUND["operating_characteristics"]["rows"]:
        for name, plan in PLANS.items():
            assert chance_accepted(row["percent_below_t1"] / 100, *plan) == pytest.approx(row[name], abs=6e-5)


def test_what_cannot_be_judged_is_refused() -> None:
    """One bottle has no spread; a sample of another size, or a size without a tolerance, has no verdict."""
    with pytest.raises(TooFewBottles):
        fill_sample([750.0])
    with pytest.raises(NoPlan, match="30 of them"):
        inspect(rules("EU"), fill_sample([750.0] * 20), 750, 400)
    with pytest.raises(NoPlan, match="all measured"):
        inspect(rules("EU"), fill_sample([750.0] * 20), 750, 60)
    with pytest.raises(RuleUnknown, match=r"fill-each\.500ml"):
        check_each(rules("US"), [500.0], 500)
    with pytest.raises(NoPlan, match=r"fill-each\.630ml"):
        check_each(rules("US"), [630.0], 630)


def test_weights_become_volumes() -> None:
    """A litre of water at 20 °C weighs 997.15 g in air of 1.2 kg/m3 (998.203 less its buoyancy)."""
    assert volume_from_weight(500 + 997.154, 500, 998.203) == pytest.approx(1000.0, abs=0.01)


def test_refermentation() -> None:
    """Sugar to CO2, pressure at 10 and 20 °C and volumes, within the 10 % the table has."""
    for row in rows("refermentation"):
        co2 = float(row["co2_before_g_per_l"]) + co2_from_sugar(float(row["sugar_fermented_g_per_l"]))
        assert co2 == pytest.approx(float(row["co2_after_g_per_l"]), abs=0.006)
        assert bottle_bar(co2, 10) == pytest.approx(float(row["abs_bar_10c"]), rel=0.1)
        assert bottle_bar(co2, 20) == pytest.approx(float(row["abs_bar_20c"]), rel=0.1)
        assert bottle_gauge_bar(co2, 20) == pytest.approx(
            float(row["gauge_bar_20c"]), abs=0.1 * float(row["abs_bar_20c"])
        )
        assert co2_volumes(co2) == pytest.approx(float(row["volumes_co2"]), abs=0.01)
        assert (co2 > 3.92) is (row["above_us_still_limit_3.92_g_l"] == "yes")


def test_sorbate_doses() -> None:
    """An amateur table's doses as sorbic acid (0.746 of potassium sorbate), against 200 and 300 mg/L."""
    for row in rows("rules_sorbate_dose"):
        dose = float(row["ml_per_l_of_30_g_l_stock"]) * 30
        acid = dose * 112.13 / 150.22
        assert dose == pytest.approx(float(row["k_sorbate_mg_per_l"]))
        assert acid == pytest.approx(float(row["as_sorbic_acid_mg_per_l"]), abs=0.6)
        assert ("no" if rules("US").named("sorbic-acid.wine").limit.holds(acid) else "yes") == row["over_300_mg_l"]
        assert ("no" if rules("OIV").named("sorbic-acid.wine").limit.holds(round(acid, 6)) else "yes") == row[
            "over_200_mg_l"
        ]


def test_volume_at_other_temperatures() -> None:
    """Every row, dry to 1e-5; those with sugar are computed within a twentieth of the difference."""
    found = rows("volume_temperature")
    got = volume_against_20c(*([float(row[name]) for row in found] for name in ("abv_20c", "sugar_g_per_l", "t_c")))
    for row, ratio in zip(found, got, strict=True):
        wanted = float(row["volume_at_t_over_volume_at_20"])
        slack = 1e-5 if float(row["sugar_g_per_l"]) == 0 else 1e-5 + 0.06 * abs(wanted - 1)
        assert float(ratio) == pytest.approx(wanted, abs=slack), row
