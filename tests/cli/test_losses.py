"""Losses from the command line, beside what is usual and allowed."""

import pytest

from cooperage.programme.losses import GROUPINGS


@pytest.mark.parametrize("by", GROUPINGS)
def test_losses_sum_to_the_same_by_any_grouping(demo, by):
    """The same litres lost, drunk and usual; every row's causes make up its litres."""
    rows, causes = demo.json("losses", "--by", by), demo.json("losses")
    for figure in ("litres", "drunk", "usual"):
        wholes = [sum(row[figure] or 0 for row in told) for told in (rows, causes)]
        assert wholes[0] == pytest.approx(wholes[1], abs=0.1)
    assert all(sum(row["causes"].values()) == pytest.approx(row["litres"]) for row in rows)


def test_a_leaking_barrel_stands_out_against_its_usual(demo):
    """The demo's leak drinks several times what it should; the others drink about what they do."""
    rows = {row["barrel"]: row for row in demo.json("losses", "--by", "barrel", "--since", "365 days ago")}
    over = [tag for tag, row in rows.items() if row["usual"] and row["drunk"] > 2 * row["usual"]]
    assert over == ["B-025"]


def test_a_year_is_held_against_the_allowance(demo):
    """With its reference; longer times have none."""
    assert "of 16757.5 l (27 CFR 24.266" in demo.run("losses", "--since", "365 days ago").stdout
    assert "the allowance is of one year" in demo.run("losses").stdout
