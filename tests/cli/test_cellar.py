"""Facts of the cellar from the command line, and who goes by them."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_facts_are_told_with_their_default_and_reference(demo: "Cooperage") -> None:
    """Each with its value; what law stands behind says whom to ask."""
    result = demo.run("cellar").stdout
    assert "3.0 %" in result
    assert "14.0; 16.0; 21.0" in result
    assert "27 CFR 24.266, as of 2006" in result
    assert result.count("check it with your authority") == 3


def test_a_fact_is_set_and_taken_back(demo: "Cooperage") -> None:
    """Words need no quotes; --default goes back."""
    assert demo.run("cellar", "name", "Cold", "Harbour").exit_code == 0
    assert demo.json("cellar", "class-lines", "8.5; 14") == {"class_lines_abv": [8.5, 14.0]}
    assert demo.json("cellar")["name"] == "Cold Harbour"
    assert demo.json("cellar", "class_lines", "--default") == {"class_lines_abv": [14.0, 16.0, 21.0, 24.0]}


@pytest.mark.parametrize(
    ("typed", "days", "shown"), [("1 day", 1.0, "1 day"), ("2 weeks", 14.0, "14 days"), ("3.5", 3.5, "3.5 days")]
)
def test_the_time_between_walks_is_in_days(demo: "Cooperage", typed: str, days: float, shown: str) -> None:
    """Typed and shown in days, or typed in weeks."""
    assert "walk_every      7 days " in demo.run("cellar").stdout
    assert demo.json("cellar", "walk_every", typed) == {"walk_every_days": days}
    assert demo.run("cellar", "walk_every").stdout.splitlines()[1].startswith(f"walk_every  {shown}  ")


def test_what_makes_no_sense_is_refused_in_one_line(demo: "Cooperage") -> None:
    """An unknown fact, a value that cannot be, a contradiction."""
    assert demo.refuses("cellar", "colour")[0] == 2
    assert demo.refuses("cellar", "humidity", "5")[0] == 2
    assert demo.refuses("cellar", "name", "x", "--default")[0] == 2
    assert demo.refuses("cellar", "--default")[0] == 2


def test_a_count_and_the_signs_go_by_the_cellars_own_facts(demo: "Cooperage", tmp_path: Path) -> None:
    """With an allowance of 0 nothing may be missing; a line at a barrel's strength becomes a sign of its own."""
    (barrel,) = [row for row in demo.json("barrels") if row["tag"] == "B-041"]
    (tmp_path / "count.txt").write_text(f"B-041 {barrel['litres'] - 0.5:.3f}")
    assert demo.json("count", str(tmp_path / "count.txt"))["is_within_allowance"]
    demo.run("cellar", "loss_allowance", "0")
    assert not demo.json("count", str(tmp_path / "count.txt"))["is_within_allowance"]
    demo.run("cellar", "class_lines", f"{barrel['abv']:.2f}")
    lines = [sign for sign in demo.json("signs") if sign["kind"] == "class line"]
    assert "the cellar's own" in next(sign["why"] for sign in lines if sign["vessel"] == "B-041")


def test_facts_go_out_and_come_in_with_the_cellar(
    demo: "Cooperage", cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path
) -> None:
    """Exported as facts.csv and imported into a new cellar."""
    demo.run("cellar", "name", "Cold Harbour")
    assert demo.run("export", str(tmp_path / "out")).exit_code == 0
    again = cooperage_at(tmp_path / "again.db")
    assert again.run("import", str(tmp_path / "out" / "facts.csv")).exit_code == 0
    assert again.json("cellar")["name"] == "Cold Harbour"
