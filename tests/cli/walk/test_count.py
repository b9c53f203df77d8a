"""A physical count from a file, held against the book and written."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


@pytest.fixture
def counted(demo: "Cooperage", tmp_path: Path) -> Any:
    """Write a count of B-041 0.8 L short and T-1 as the book has it; returns its path."""
    held = {row["tag"]: row["litres"] for row in demo.json("barrels", "--kind", "any")}
    path = tmp_path / "count.csv"
    path.write_text(f"tag,volume\nB-041,{held['B-041'] - 0.8:.3f}\nT-1,{held['T-1']:.3f}\n")
    return path


def test_a_count_is_shown_and_nothing_is_written(demo: "Cooperage", counted: Any) -> None:
    """Book, counted and missing for each vessel, the total, the verdict with its reference, what was not counted."""
    done = demo.run("count", str(counted))
    assert done.exit_code == 0, done.stderr
    table = [line.split() for line in done.stdout.splitlines()]
    assert ["0.8", "L"] in [row[-2:] for row in table if row[:1] == ["B-041"]]
    assert "within the year's allowance" in done.stdout
    assert "27 CFR 24.266" in done.stdout
    assert "not counted: B-042, " in done.stdout
    assert "nothing was written" in done.stdout
    assert demo.json("count", str(counted))["missing_l"] == pytest.approx(0.8)


@pytest.mark.slow
def test_a_count_is_written_with_its_cause(demo: "Cooperage", counted: Any) -> None:
    """One gauge, for the vessel that differs; afterwards book and count agree, and the laws hold."""
    result = demo.json("count", str(counted), "--write", "--cause", "spilled", "--hand", "Ada")
    assert (result["is_written"], result["is_within_allowance"]) == (True, True)
    last = demo.json("barrel", "B-041")["entries"][-1]
    assert (last["kind"], last["hand"], last["note"], last["said"]["cause"]) == ("gauge", "Ada", "count", "spilled")
    assert demo.json("count", str(counted))["missing_l"] == 0
    assert demo.json("check")["ok"]


def test_lines_not_understood_and_odd_differences_stop_everything(demo: "Cooperage", counted: Any) -> None:
    """Each is named in one line, and nothing is written until it may be."""
    counted.write_text(f"{counted.read_text()}B-999,3\nB-042,10\n")
    assert demo.run("count", str(counted)).exit_code == 0
    done = demo.run("count", str(counted), "--write")
    assert (done.exit_code, "line 4 was not understood" in done.stderr) == (2, True)
    done = demo.run("count", str(counted), "--write", "--leave-unread")
    assert (done.exit_code, "B-042 holds" in done.stderr) == (1, True)
    assert demo.json("count", str(counted))["missing_l"] > 50
    assert demo.run("count", str(counted), "--write", "--leave-unread", "--sure").exit_code == 0
    assert demo.json("count", str(counted))["missing_l"] == 0


def test_the_allowance_may_rest_on_a_time(demo: "Cooperage", counted: Any) -> None:
    """What was on hand a year ago and received since is more than what two vessels hold now."""
    of_two, of_all = (demo.json("count", str(counted), *since) for since in ([], ["--since", "365 days ago"]))
    assert of_all["allowed_l"] > 5 * of_two["allowed_l"]


@pytest.mark.slow
def test_a_count_of_an_earlier_day_is_held_against_that_day(demo: "Cooperage", tmp_path: Path) -> None:
    """What B-041 held 60 days ago agrees with the book of that day, and a gauge is dated then."""
    (then,) = [row for row in demo.json("barrels", "--on", "60 days ago") if row["tag"] == "B-041"]
    (tmp_path / "count.txt").write_text(f"B-041 {then['litres'] - 0.4:.3f}")
    result = demo.json("count", str(tmp_path / "count.txt"), "--on", "60 days ago", "--write")
    assert result["missing_l"] == pytest.approx(0.4)
    (gauge,) = [entry for entry in demo.json("barrel", "B-041")["entries"] if entry["note"] == "count"]
    assert gauge["happened_at"] < gauge["written_at"][:8]
