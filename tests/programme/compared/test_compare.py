"""Treatments held against barrels: published analyses, exact ones, and that glasses never count as barrels."""

import csv
from typing import Any

import numpy as np
import pytest

from cooperage.programme.compared.analysis import BarrelValues, compare
from cooperage.programme.compared.layout import TooFewTrialBarrels, TreatmentsApart
from tests.programme.compared.conftest import REFERENCE


def observed(values: Any, width: float = 20) -> BarrelValues:
    """Values of shape (barrels, columns), NaN where there is none; every column an occasion."""
    table = np.array(values, dtype=float)
    barrel, column = np.nonzero(np.isfinite(table))
    return BarrelValues(table[barrel, column], barrel, column, column, width)


def orthodont() -> tuple[Any, list[int]]:
    rows = list(csv.DictReader((REFERENCE / "orthodont.csv").open()))
    people = sorted({row["Subject"] for row in rows})
    table = [[float(row["distance"]) for row in rows if row["Subject"] == each] for each in people]
    return np.array(table), [int(each.startswith("F")) for each in people]


def test_a_factor_between_subjects_as_published(cases: Any) -> None:
    """Four readings of each of 27 people are 27 people."""
    published = cases["sex_of_orthodont"]
    table, sex = orthodont()
    found = compare(observed(table), sex, [0] * 27)
    assert found.is_exact
    assert found.degrees == published["degrees"]
    assert found.f == pytest.approx(published["f"], abs=5e-5)
    assert found.p == pytest.approx(published["p"], abs=5e-5)
    assert found.pairs[0].value == pytest.approx(-published["difference"], abs=5e-7)
    assert found.pairs[0].standard_error == pytest.approx(published["standard_error"], abs=5e-7)


def test_incomplete_blocks_as_published(cases: Any) -> None:
    published = cases["incomplete_blocks"]
    held = [(row, at, v) for row, values in enumerate(published["values"]) for at, v in enumerate(values) if v]
    values = observed([[v] for _, _, v in held], 100)
    found = compare(values, [row for row, _, _ in held], [at for _, at, _ in held])
    assert found.f == pytest.approx(published["f"], abs=5e-3)
    assert found.p == pytest.approx(published["p"], abs=5e-5)
    error = published["error_mean_square"] * published["pair_variance"]
    assert all(pair.standard_error**2 == pytest.approx(error) for pair in found.pairs)


def test_two_treatments_have_students_interval() -> None:
    """Two groups of barrels, one value each, are the two-sample t test: t of .975 with 4 degrees is 2.7764."""
    found = compare(observed([[10.25], [11.5], [12.0], [14.25], [15.0], [16.25]]), [0, 0, 0, 1, 1, 1], [0] * 6)
    pair = found.pairs[0]
    assert pair.value == pytest.approx(-3.9166667)
    assert pair.high - pair.value == pytest.approx(2.776445 * pair.standard_error, rel=1e-6)
    assert found.means[0].mean == pytest.approx(11.25)
    assert found.means[1].high - found.means[1].mean == pytest.approx(2.776445 * pair.standard_error / 2**0.5, rel=1e-6)


def test_more_tasters_make_no_more_barrels() -> None:
    """The same values from each of twenty tasters: the interval is that of the barrels, not a fifth of it."""
    one = [[10.1], [12.3], [11.2], [13.9]]
    few = compare(observed(one), [0, 0, 1, 1], [0, 0, 0, 0])
    many = compare(observed(np.repeat(one, 20, axis=1)), [0, 0, 1, 1], [0, 0, 0, 0])
    assert many.degrees == few.degrees == 2
    assert many.pairs[0].high == pytest.approx(few.pairs[0].high, rel=1e-6)


def test_glasses_not_tasted_leave_the_degrees_to_the_barrels() -> None:
    """Where barrels differ by nothing, a mixed model alone would count glasses: here they never count."""
    rng = np.random.default_rng(4)
    table = rng.normal(10, 1, (6, 12))
    table[1, 3] = table[4, 7] = np.nan
    found = compare(observed(table), [0, 0, 0, 1, 1, 1], [0] * 6)
    assert not found.is_exact
    assert found.degrees <= 4


def test_a_missing_glass_changes_little() -> None:
    table, sex = orthodont()
    whole = compare(observed(table), sex, [0] * 27)
    table[3, 2] = np.nan
    found = compare(observed(table), sex, [0] * 27)
    assert found.pairs[0].value == pytest.approx(whole.pairs[0].value, abs=0.1)
    assert found.pairs[0].standard_error == pytest.approx(whole.pairs[0].standard_error, rel=0.03)
    assert found.barrel_sd == pytest.approx(whole.barrel_sd, rel=0.05)


def test_what_sets_blocks_and_tasters_apart_is_no_error() -> None:
    rng = np.random.default_rng(8)
    table = np.round(rng.normal(10, 1, (8, 5)), 2)
    block = [0, 0, 1, 1, 2, 2, 3, 3]
    shifted = table + np.array(block)[:, None] * 10 + np.arange(5) * 3
    first, second = (compare(observed(each, 100), [0, 1] * 4, block) for each in (table, shifted))
    assert second.pairs[0].value == pytest.approx(first.pairs[0].value)
    assert second.pairs[0].low == pytest.approx(first.pairs[0].low)
    assert second.degrees == first.degrees == 3


def test_sittings_of_other_barrels_are_compared_within_their_blocks() -> None:
    """Two sittings with a block each, tasted by others: exact, and no difference between sittings is a treatment's."""
    table = np.full((8, 4), np.nan)
    table[:4, :2] = [[10, 11], [12, 13.5], [10.5, 11], [12, 14]]
    table[4:, 2:] = [[15, 17], [16, 19.5], [15.5, 17], [18, 19]]
    found = compare(observed(table), [0, 1] * 4, [0] * 4 + [1] * 4)
    assert found.is_exact
    assert found.pairs[0].value == pytest.approx(np.nanmean(table[::2]) - np.nanmean(table[1::2]))
    assert found.degrees == 5


def test_a_glass_poured_twice_is_one_barrel() -> None:
    once = observed([[10.0, 11.0], [12.0, 12.5], [11.0, 10.0], [13.0, 14.5]])
    again = BarrelValues(
        np.append(once.value, [9.0, 12.0]),
        np.append(once.barrel, [0, 0]),
        np.append(once.column, [0, 1]),
        np.append(once.occasion, [0, 1]),
    )
    table = observed([[9.5, 11.5], [12.0, 12.5], [11.0, 10.0], [13.0, 14.5]])
    found, wanted = (compare(each, [0, 1, 0, 1], [0, 0, 0, 0]) for each in (again, table))
    assert found.pairs == wanted.pairs


def test_tasters_who_agree_to_the_step_are_not_surer_than_it() -> None:
    """Whole points that happen to agree claim nothing that half a point could undo."""
    found = compare(observed([[12], [12], [13], [13]]), [0, 0, 1, 1], [0] * 4)
    assert not found.pairs[0].is_found


def test_too_little_is_refused() -> None:
    with pytest.raises(TooFewTrialBarrels):
        compare(observed([[10, 11], [12, 13]]), [0, 1], [0, 0])
    with pytest.raises(TooFewTrialBarrels):
        compare(observed([[10, 11], [12, 13], [11, 11]]), [0, 0, 0, 1], [0] * 4)
    with pytest.raises(TreatmentsApart):
        compare(observed([[10], [12], [11], [11]]), [0, 0, 1, 1], [0, 0, 1, 1])
