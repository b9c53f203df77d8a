"""Treatments drawn within blocks: evenly, the same from the same seed, and what short blocks cost."""

from collections import Counter
from typing import Any

import pytest

from cooperage.programme.compared.layout import BarrelLayout, TooFewTrialBarrels, TreatmentsApart, assign, numbered


def test_every_treatment_is_as_often_in_every_complete_block() -> None:
    rows = ["A"] * 6 + ["B"] * 3 + ["C"] * 3
    drawn = assign(rows, 3, seed=5)
    counts = Counter(zip(drawn.block, drawn.treatment, strict=True))
    assert set(counts.values()) == {2, 1}
    assert all(counts[0, each] == 2 for each in range(3))
    assert drawn.given == (4, 4, 4)
    assert drawn.short_blocks == 0
    assert drawn.efficiency == pytest.approx(1)
    assert drawn.degrees == 12 - 2 - 3


def test_the_same_seed_draws_the_same_and_others_differ() -> None:
    rows = numbered("AAAABBBBCCC")
    assert assign(rows, 2, seed=11) == assign(rows, 2, seed=11)
    assert len({assign(rows, 2, seed=seed).treatment for seed in range(20)}) > 12


def test_a_seed_draws_the_same_for_ever() -> None:
    """A layout that was written down can be drawn again to see that nobody chose it."""
    assert assign("AABBCC", 2, seed=2026).treatment == (1, 0, 0, 1, 1, 0)


def test_every_assignment_within_a_block_comes_as_often() -> None:
    """Of the six ways to give three barrels three treatments each comes a sixth of the time, within 5 deviations."""
    found = Counter(assign("AAABBB", 3, seed=seed).treatment[:3] for seed in range(600))
    assert len(found) == 6
    assert all(abs(count - 100) < 5 * (600 * 5 / 36) ** 0.5 for count in found.values())


def test_short_blocks_are_filled_in_balance() -> None:
    """Three pairs for three treatments: each pair of treatments once, which keeps three quarters (Yates 1936)."""
    drawn = assign("AABBCC", 3, seed=3)
    assert drawn.given == (2, 2, 2)
    assert {frozenset(drawn.treatment[at : at + 2]) for at in (0, 2, 4)} == {
        frozenset(each) for each in ((0, 1), (0, 2), (1, 2))
    }
    assert drawn.efficiency == pytest.approx(0.75)
    assert drawn.short_blocks == 3


def test_an_incomplete_design_compares_as_published(cases: Any) -> None:
    published = cases["incomplete_blocks"]
    held = [(row, at) for row, values in enumerate(published["values"]) for at, v in enumerate(values) if v is not None]
    layout = BarrelLayout(tuple(row for row, _ in held), tuple(at for _, at in held), 4)
    assert layout.degrees == published["degrees"]
    assert layout.pair_variance == pytest.approx(published["pair_variance"])
    assert layout.widest_pair_variance == pytest.approx(published["pair_variance"])
    assert layout.efficiency == pytest.approx(published["efficiency"])


@pytest.mark.parametrize(("rows", "treatments"), [("AB", 2), ("A", 1), ("AABB", 4), ("", 2)])
def test_too_few_barrels_are_refused(rows: str, treatments: int) -> None:
    with pytest.raises(TooFewTrialBarrels, match="give more barrels"):
        assign(rows, treatments, seed=1)


def test_treatments_that_no_block_has_together_are_refused() -> None:
    with pytest.raises(TreatmentsApart, match="share no block"):
        BarrelLayout((0, 0, 0, 1, 1, 1), (0, 0, 0, 1, 1, 1), 2).check()
