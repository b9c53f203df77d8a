"""`cooperage wood`, and what `retire` prints of the money."""

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_every_barrel_has_a_row_and_unknown_is_null(demo: "Cooperage") -> None:
    """Ranks run from all to 1; a barrel whose fills are unknown has no figure, and is no neutral one."""
    rows = demo.json("wood")
    assert [row["rank"] for row in rows] == list(range(len(rows), 0, -1))
    unknown = [row for row in rows if row["left_percent"] is None]
    assert unknown
    assert all(row["verdict"] == "keep" and row["cost"]["per_litre_month"] is None for row in unknown)
    for row in rows:
        cost = row["cost"]
        if cost["price"] is not None:
            assert sum(cost["charges"]) + cost["left"] == pytest.approx(cost["price"], abs=1e-9)
    neutral = {row["barrel"] for row in rows if any("neutral wood" in why for why in row["why"])}
    assert neutral == set(demo.json("today")["neutral"])


def test_one_barrel_has_all_its_figures(demo: "Cooperage") -> None:
    shown = demo.run("wood", "b-028").stdout
    for label in ("what to do", "wood left", "fills", "price", "lost", "work", "found", "if wrong"):
        assert f"\n  {label} " in shown
    assert "vinegar or solvent smelled 1 time" in shown
    assert "its cost is not set" in shown
    with_work = demo.run("wood", "B-028", "--day-cost", "12.50", "--spread", "effect").stdout
    assert "its cost is not set" not in with_work


def test_a_retired_barrel_is_written_off(demo: "Cooperage") -> None:
    """The command, the page of its wood and JSON agree."""
    (before,) = demo.json("wood", "B-034")
    left = before["cost"]["left"]
    done = demo.run("retire", "B-034", "--reason", "split", "--disposition", "a planter", "--received", "40").stdout
    assert f"{left:.2f} EUR left in the books, 40.00 EUR received: {left - 40:.2f} EUR written off" in done
    (after,) = demo.json("wood", "B-034")
    assert (after["disposition"], after["received"], after["book_value"]) == ("a planter", 40.0, left)
    assert "a planter" in demo.run("wood", "B-034").stdout


def test_every_door_that_retires_shows_what_is_written_off(demo: "Cooperage") -> None:
    """`retire` and `log retire`, as text and as JSON, one barrel or several."""
    (before,) = demo.json("wood", "B-034")
    left = before["cost"]["left"]
    figures = {"received": 40.0, "book_value": left, "written_off": pytest.approx(left - 40)}
    asked = ("--reason", "split", "--received", "40")
    for door in (("retire",), ("log", "retire")):
        written = demo.json(*door, "B-034", *asked)
        assert {name: written[name] for name in figures} == figures
        demo.json("log", "strike", "last", "--sure")
    words = f"{left:.2f} EUR left in the books, 40.00 EUR received: {left - 40:.2f} EUR written off"
    assert words in demo.run("log", "retire", "B-034", *asked).stdout
    demo.json("log", "strike", "last", "--sure")
    other = next(barrel["tag"] for barrel in demo.json("barrels") if barrel["litres"] == 0 and barrel["tag"] != "B-034")
    several = demo.json("log", "retire", f"B-034,{other}", *asked)["retired"]
    assert several[0] == {"barrel": "B-034", **figures}
    assert [each["barrel"] for each in several] == ["B-034", other]
    demo.json("log", "strike", "last", "--together", "--sure")
    assert f"B-034: {words}" in demo.run("log", "retire", f"B-034,{other}", *asked).stdout


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["B-999"], "B-999"),
        (["T-1"], "T-1 is no barrel"),
        (["--need", "B-001"], "--need stands alone"),
        (["--same-room"], "--same-room goes with --assign"),
        (["--assign", "HE-25"], "write HE-25=450L"),
        (["--assign", "NO-1=5L"], "NO-1"),
        (["--assign", "HE-25=5L/oaky"], "any, wood, neutral, spirit, sour"),
        (["--day-cost", "dear"], "dear"),
    ],
)
def test_a_bad_call_is_one_line(demo: "Cooperage", words: list[str], line: str) -> None:
    status, told = demo.refuses("wood", *words)
    assert status == 2
    assert line in told


def test_an_empty_cellar_has_no_wood(empty: "Cooperage") -> None:
    assert empty.json("wood") == []
    assert empty.json("wood", "--need")["kinds"] == []
    assert empty.run("wood").stdout.strip()
    status, told = empty.refuses("wood", "--assign")
    assert (status, "no lot waits in a tank" in told) == (1, True)
