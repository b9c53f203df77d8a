"""Losses from the command line, beside what is usual and allowed."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.programme.losses.ledger import GROUPINGS

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


@pytest.mark.slow
@pytest.mark.parametrize("by", GROUPINGS)
def test_losses_sum_to_the_same_by_any_grouping(demo: "Cooperage", by: Any) -> None:
    """The same litres lost, by barrels and usually; every row's causes make up its litres."""
    rows, causes = demo.json("losses", "--per", by), demo.json("losses")
    for figure in ("lost_l", "barrel_loss_l", "usual_loss_l"):
        wholes = [sum(row[figure] or 0 for row in result) for result in (rows, causes)]
        assert wholes[0] == pytest.approx(wholes[1], abs=0.1)
    assert all(sum(row["causes_l"].values()) == pytest.approx(row["lost_l"]) for row in rows)


def test_a_leaking_barrel_stands_out_against_its_usual(demo: "Cooperage") -> None:
    """The demo's leak loses several times what it should; the others lose about what they usually do."""
    rows = {row["barrel"]: row for row in demo.json("losses", "--per", "barrel", "--since", "365 days ago")}
    over = [tag for tag, row in rows.items() if row["usual_loss_l"] and row["barrel_loss_l"] > 2 * row["usual_loss_l"]]
    assert over == ["B-025"]


@pytest.mark.slow
def test_a_year_is_held_against_the_allowance(demo: "Cooperage") -> None:
    """With its reference; longer times have none."""
    assert "of 17378.5 L (27 CFR 24.266" in demo.run("losses", "--since", "365 days ago").stdout
    assert "Give --since within the last 12 months to compare." in demo.run("losses").stdout
    assert "so far" in demo.run("losses", "--since", "yesterday").stdout


@pytest.mark.parametrize("words", [("losses",), ("report", "operations"), ("report", "book")])
def test_a_period_that_ends_before_it_begins_is_refused_in_one_line(demo: "Cooperage", words: tuple[Any, ...]) -> None:
    """Wherever a period is asked for; one day alone is a period."""
    status, line = demo.refuses(*words, "--since", "2026-07-15", "--until", "2026-07-14")
    assert (status, line) == (2, "cooperage: '2026-07-14' is not after '2026-07-15'; a period ends after it begins")
    assert demo.run(*words, "--since", "2026-07-15", "--until", "2026-07-15").exit_code == 0


def test_the_stock_of_a_day_is_the_same_by_every_door(demo: "Cooperage") -> None:
    """The stock report, the list of vessels as they stood, and the end of the operations agree on a day's end."""
    day = "100 days ago"
    stock = sum(row["held_l"] for row in demo.json("report", "stock", "--until", day)["rows"])
    vessels = sum(row["litres"] for row in demo.json("barrels", "--kind", "any", "--retired", "--on", day))
    operations = demo.json("report", "operations", "--until", day)["rows"][-1]["volume_l"]
    assert stock == pytest.approx(vessels, abs=1e-6)
    assert stock == pytest.approx(operations, abs=1e-6)


def test_a_figure_that_differs_between_reports_is_explained(empty: "Cooperage") -> None:
    """0.05 L and then 0.1 L: the report's lines add up as printed, so that its second month has 0.2 L, and says why."""
    for words in (
        ["add", "vessel", "T-1", "--kind", "tank", "--capacity", "1000l"],
        ["add", "lot", "HEATHER"],
        ["log", "receive", "HEATHER", "T-1", "900", "--when", "2026-01-05"],
        ["log", "sample", "T-1", "50ml", "--when", "2026-01-10"],
        ["log", "sample", "T-1", "100ml", "--when", "2026-02-10"],
    ):
        assert empty.run(*words).exit_code == 0
    february = ("--since", "2026-02-01", "--until", "2026-02-28")
    assert "sample  0.1 L" in empty.run("losses", *february).stdout
    for report in ("losses", "operations"):
        told = empty.run("report", report, *february).stdout
        assert "0.2 L" in told
        assert "`cooperage losses` rounds\neach period by itself and may differ in the last digit." in told
