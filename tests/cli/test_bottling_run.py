"""A bottling run through the commands: where an open one is named, and where a closed one is traced."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage

PASSED = ("--pass", "living yeast=sterile filtered", "--pass", "strength=measured today")


def test_an_open_run_is_on_the_day_and_in_the_way_of_its_period(demo: "Cooperage") -> None:
    """Once it is closed it is in neither; opened again by a strike of all that closed it, it is in both again."""
    assert demo.run("bottling", "open", "NIGHT-26", "T-4", *PASSED[:2]).exit_code == 0
    demo.run("bottling", "filled", "NIGHT-26", "5x12")

    def is_shown() -> tuple[bool, bool]:
        today = "NIGHT-26 on T-4 is open since" in demo.run("today").stdout
        period = demo.json("period", "show", f"{datetime.now().astimezone():%Y-%m}")
        return today, "the bottling run NIGHT-26 is not closed" in period["in_the_way"]

    assert is_shown() == (True, True)
    assert "filled 60 of 750 mL" in demo.run("today").stdout
    assert demo.json("today")["open_runs"] == ["NIGHT-26"]
    closed = demo.json("bottling", "close", "NIGHT-26", "--retained", "6")
    assert is_shown() == (False, False)
    assert len(closed["entries"]) == 2
    assert demo.run("log", "strike", closed["entries"][0], "--together", "--sure").exit_code == 0
    assert is_shown() == (True, True)


def test_a_closed_run_is_traced_by_its_bottlings(demo: "Cooperage") -> None:
    """With one bottling the code is the run's; with two the codes to trace are named; an open run has nothing yet."""
    demo.run("bottling", "open", "ONE", "T-4", *PASSED[:2])
    demo.run("bottling", "filled", "ONE", "12")
    assert "ONE" in demo.refuses("trace", "ONE")[1]
    assert demo.run("bottling", "close", "ONE").exit_code == 0
    assert demo.run("trace", "ONE").stdout.startswith("ONE: bottling, 9.0 L, 12 bottles")
    demo.run("bottling", "open", "TWO", "T-4", "--sizes", "750ml,375ml", *PASSED[:2])
    demo.run("bottling", "filled", "TWO", "6", "--size", "750ml")
    demo.run("bottling", "filled", "TWO", "6", "--size", "375ml")
    assert demo.run("bottling", "close", "TWO").exit_code == 0
    assert demo.refuses("trace", "two")[1].endswith("run TWO was closed into TWO-750, TWO-375; trace each by its code")
    assert demo.run("trace", "TWO-375").stdout.startswith("TWO-375: bottling, 2.2 L, 6 bottles")


def test_reasons_are_shown_with_the_run_and_risks_pass_nothing(demo: "Cooperage") -> None:
    """One door passes a risk: the run is opened with it; the list only shows."""
    assert demo.run("bottling", "risks", "T-4", *PASSED[:2]).exit_code == 2
    demo.run("bottling", "open", "NIGHT-26", "T-4", *PASSED[:2], "--hand", "Maren")
    shown = demo.run("bottling", "show", "NIGHT-26").stdout
    assert "Passed by Maren with a reason\n  living yeast: sterile filtered" in shown


def test_rules_have_the_decimal_comma_of_the_person(demo: "Cooperage", tmp_path: Path) -> None:
    """In the list and in one rule; scripts read them as their source has them."""
    settings = tmp_path / "comma.toml"
    settings.write_text('decimal = ","\n', encoding="utf-8")
    env = {"COOPERAGE_CONFIG": str(settings)}
    names = [row["name"] for row in demo.json("rules", "list") if "." in (row["value"] or "")]
    assert names
    shown = demo.run("rules", "show", names[0], env=env).stdout.splitlines()[0]
    value = next(row["value"] for row in demo.json("rules", "list") if row["name"] == names[0])
    assert value.replace(".", ",") in shown
    listed = demo.run("rules", "list", env=env).stdout
    assert f" {value.replace('.', ',')} " in listed
