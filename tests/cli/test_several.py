"""Several vessels in one command, and orders, as a script or a hand runs them."""

import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def test_several_are_written_as_one_and_struck_as_one(demo: "Cooperage") -> None:
    """A line an entry, what they hold, and how to strike them; as JSON the same."""
    done = demo.run("log", "treat", "B-001..B-003", "stir")
    lines = done.stdout.splitlines()
    assert [line[:22] for line in lines[:3]] == [f"written: treat B-00{n}: " for n in (1, 2, 3)]
    assert lines[3].startswith("B-001 holds ")
    entry = lines[0].rpartition("id ")[2]
    assert lines[4] == f"3 entries; `cooperage log strike {entry} --together` strikes all of them"
    struck = demo.json("log", "strike", entry, "--together")
    assert [each["kind"] for each in struck["entries"]] == ["strike"] * 3
    status, line = demo.refuses("log", "strike", entry, "--together")
    assert (status, "struck already" in line) == (1, True)


def test_a_figure_of_single_ones_and_a_dose_by_volume(demo: "Cooperage") -> None:
    """What is typed for one wins."""
    words = ("log", "addition", "B-001..B-003", "metabisulphite", "2 g/hL", "--but", "B-002=1g")
    told = demo.json(*words)
    assert ["1.0 g" in each["text"] for each in told["entries"]] == [False, True, False]
    assert set(told["litres"]) == {"B-001", "B-002", "B-003"}
    assert told["cautions"]


def test_figures_in_a_row_go_to_the_vessels_in_order(demo: "Cooperage") -> None:
    """As many as vessels; another number of them is refused in one line."""
    told = demo.json("log", "sample", "B-001..B-003", "50 60 70 ml")
    sampled = [each["text"].partition(": ")[2].partition(",")[0] for each in told["entries"]]
    assert sampled == ["0.05 L", "0.06 L", "0.07 L"]
    status, line = demo.refuses("log", "sample", "B-001..B-003", "50 60 ml")
    assert status == 2
    assert "has 2 figures for 3 vessels (B-001..B-003); type one for all, or one for each" in line


def test_each_may_have_a_figure_of_its_own(demo: "Cooperage") -> None:
    """Read on several barrels, written in one call."""
    told = demo.json("log", "reading", "B-001,B-002", "ph", "--but", "B-001=3.41; B-002=3.52", "--sure")
    assert [each["text"].partition(": ")[2] for each in told["entries"]] == ["pH 3.41", "pH 3.52"]
    status, line = demo.refuses("log", "reading", "B-001,B-002", "ph", "--but", "B-001=3.41")
    assert (status, line.startswith("cooperage: value: is needed to add a reading")) == (2, True)


def test_several_are_written_for_a_day_that_is_past(demo: "Cooperage") -> None:
    """That day, in one act; and so is an order that was done then."""
    yesterday = (datetime.now().astimezone() - timedelta(days=1)).date()
    written = demo.json("log", "treat", "B-001..B-003", "stir", "--when", "yesterday")
    demo.run("order", "treat", "B-004", "stir")
    done = demo.json("orders", "do", "1", "--when", "yesterday")
    for each in (*written["entries"], *done["entries"]):
        assert datetime.fromisoformat(each["happened_at"]).astimezone().date() == yesterday


def test_what_is_proposed_is_asked_and_nothing_is_written_until_it_is_sure(demo: "Cooperage") -> None:
    """What a topping is expected to take is no measurement."""
    before = demo.json("barrel", "B-046")["litres"]
    status, line = demo.refuses("log", "top", "B-042,B-046", "--from", "K-04")
    assert status == 1
    assert "expected to be missing. Is that right?" in line
    assert "--sure" in line
    assert demo.json("barrel", "B-046")["litres"] == before
    assert len(demo.json("log", "top", "B-042,B-046", "--from", "K-04", "--sure")["entries"]) == 2


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (("log", "treat", "lot nowhere", "stir"), 2, "no vessel is found for 'lot nowhere'"),
        (("log", "treat", "B-001,B-OO2", "stir"), 2, "did you mean"),
        (("log", "treat", "B-001..K-01", "stir"), 2, "is no series"),
        (("log", "bottle", "B-001,B-002", "X", "10"), 2, "one vessel at a time"),
        (("log", "rack", "B-001,B-002", "--to", "T-1,T-2"), 2, "both sides"),
        (("log", "top", "B-001", "--from", "K-01"), 2, "volume"),
        (("log", "fill", "B-034,B-017", "300", "--from", "T-1", "--sure"), 1, "B-034 has room for"),
        (("log", "treat", "level", "stir"), 2, "no vessel 'level'"),
        (("log", "treat", "level x", "stir"), 2, "level wants"),
        (("orders", "do", "9"), 2, "no order '9'"),
        (("order", "fill", "B-034", "--from", "T-1", "--for", "someday"), 2, "'someday' is not a day; type tomorrow"),
        (("order", "strike", "last"), 2, "no command 'strike'"),
    ],
)
def test_what_cannot_be_is_one_line(demo: "Cooperage", words: tuple[str, ...], status: int, says: str) -> None:
    """With its exit status, and nothing is written."""
    found, line = demo.refuses(*words)
    assert (found, says in line) == (status, True), line


def withdraw_its_own(demo: "Cooperage") -> None:
    """Withdraw the orders that the demo begins with."""
    for order in demo.json("orders"):
        demo.run("orders", "withdraw", str(order["number"]), "--why", "not in this story")


def test_an_order_from_beginning_to_end(demo: "Cooperage") -> None:
    """Written, checked, printed, done with what came, and kept."""
    withdraw_its_own(demo)
    order = demo.json("order", "rack", "B-010", "--to", "T-7", "--for", "2026-12-01", "--note", "gently")
    assert (order["number"], order["state"], order["check"]) == (7, "open", "possible")
    assert order["litres"]["B-010"] > 200
    held = demo.json("barrel", "B-010")["litres"]
    assert held > 200
    assert demo.json("orders")[0]["for_day"] == "2026-12-01"
    paper = demo.run("orders", "print").stdout
    assert "[ ]    7 rack B-010 to T-7; “gently”" in paper
    assert "came: ____" in paper
    assert demo.json("orders", "print", "--for", "2026-12-02")["orders"] == []
    done = demo.run("orders", "do", "7", "volume=200l", "--hand", "Maren")
    assert f"B-010: ordered {held:.1f} L, 200.0 L came" in done.stdout
    assert demo.json("orders") == []
    [closed] = [each for each in demo.json("orders", "--done") if each["state"] == "done"]
    assert (closed["state"], len(closed["entries"]), closed["struck_since"]) == ("done", 1, False)
    demo.run("log", "strike", "last", "--sure")
    assert "done before, and struck" in demo.run("orders").stdout
    assert demo.json("orders", "withdraw", "7", "--why", "late")["state"] == "withdrawn"
    status, line = demo.refuses("orders", "withdraw", "7", "--why", "late")
    assert (status, line) == (1, "cooperage: order 7 is withdrawn already; write a new one")


def test_an_order_shows_its_caution_before_it_is_written(demo: "Cooperage") -> None:
    """As every door does; and as JSON with what was written."""
    withdraw_its_own(demo)
    demo.run("order", "addition", "B-001..B-002", "metabisulphite", "5g")
    assert "Sulphur dioxide" in demo.run("orders", "print").stdout
    done = demo.run("orders", "do", "7", "--json")
    assert "caution: Sulphur dioxide" in done.stderr
    told = json.loads(done.stdout)
    assert [each["kind"] for each in told["entries"]] == ["addition"] * 2
    assert told["differences"] == []
    assert told["order"]["state"] == "done"
