"""Mead in quarantine at the doors of the command line: refused, asked back, impossible as an order."""

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage

LINE = (
    "B-028 is in quarantine, so its mead is not bottled and meets no other; another verdict, such as 'keep', lifts that"
)
ENTRIES = "when,kind,vessel,to,volume,sure\n{when},rack,B-028,{to},1,yes\n"


@pytest.mark.parametrize(
    "words",
    [
        ("rack", "B-028", "--to", "T-1"),
        ("rack", "B-028,B-012", "--to", "T-1"),
        ("bottle", "B-028", "DUSK-1", "10", "--bottle", "750ml"),
        ("blend", "T-7", "B-028=1l"),
    ],
    ids=["one", "several", "bottle", "blend"],
)
def test_it_is_refused_with_what_lifts_it(demo: "Cooperage", words: tuple[str, ...]) -> None:
    status, line = demo.refuses("log", *words, "--sure")
    assert (status, line.endswith(LINE)) == (1, True), line


def test_into_an_empty_tank_it_is_asked_back_and_goes_along(demo: "Cooperage") -> None:
    """Done, both are in quarantine until each has another verdict; struck, the tank is as it was."""
    move = ("log", "rack", "B-028", "--to", "T-7")
    status, line = demo.refuses(*move)
    assert "B-028 is in quarantine, and so would be what it gives to T-7. Move it there?" in line
    assert status == 1
    demo.json(*move, "--sure")
    verdicts = {row["tag"]: row["verdict"] for row in demo.json("barrels", "--kind", "any")}
    assert verdicts["T-7"] == verdicts["B-028"] | {"carried_from": "B-028"}
    assert "quarantine carried from B-028" in demo.run("barrel", "T-7").stdout
    assert demo.json("check")["ok"]
    demo.json("log", "strike", "last", "--sure")
    assert demo.json("barrel", "T-7")["verdict"] is None


def test_an_order_for_it_is_impossible(demo: "Cooperage") -> None:
    """Checked as it would be written; possible once the verdict is another."""
    number = demo.json("order", "rack", "B-028", "--to", "T-1")["number"]

    def verdict() -> str:
        return next(str(row["check"]) for row in demo.json("orders") if row["number"] == number)

    assert verdict() == "impossible"
    demo.json("log", "judge", "B-028", "keep")
    assert verdict() != "impossible"


def test_a_file_with_a_past_day_is_held_to_the_verdict_of_that_day(demo: "Cooperage", tmp_path: Path) -> None:
    """Before it, the racking is taken; since, it is refused with the line of the file."""
    since = demo.json("barrel", "B-028")["verdict"]["at"]
    file = tmp_path / "entries.csv"
    for when, to, is_taken in ((since, "T-1", False), ("2026-01-05", "T-7", True)):
        file.write_text(ENTRIES.format(when=when, to=to), encoding="utf-8")
        done = demo.run("import", str(file))
        assert (done.exit_code == 0) is is_taken, done.stderr
        assert (LINE in done.stderr) is not is_taken
    assert demo.json("barrel", "T-7")["verdict"] is None
