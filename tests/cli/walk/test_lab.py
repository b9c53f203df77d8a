"""Lab results from a file or a pipe."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


SLIP = "B-041 free 14 pH 3.41\nB-042\tva 0.4 g/L\n"


@pytest.fixture
def slip(tmp_path: Path) -> Any:
    """Write a slip; returns its path."""

    def write(text: Any) -> Any:
        path = tmp_path / "slip.txt"
        path.write_text(text)
        return str(path)

    return write


def readings(demo: "Cooperage") -> Any:
    return [entry for entry in demo.json("barrel", "B-041")["entries"] if entry["kind"] == "reading"]


def test_a_slip_is_shown_and_written(demo: "Cooperage", slip: Any) -> None:
    """Vessel, property, value and what the book had; then all of it stands in the book, by that hand, at that time."""
    done = demo.run("lab", slip(SLIP), "--hand", "Ada", "--on", "2 days ago")
    assert done.exit_code == 0, done.stderr
    assert "B-041   pH" in done.stdout
    assert "written: 3 readings of 2 vessels" in done.stdout
    last = readings(demo)[-1]
    read = last["readings"][0]
    assert (last["hand"], read["property"], read["value"], read["method"]) == ("Ada", "ph", 3.41, "lab")
    assert last["happened_at"] < last["written_at"]


def test_a_line_not_understood_stops_everything_unless_it_may_be_left(demo: "Cooperage", slip: Any) -> None:
    """The line and the reason are shown, and the exit status is that of bad input."""
    before = len(readings(demo))
    path = slip(f"{SLIP}B-041 brett 300\n")
    done = demo.run("lab", path)
    assert (done.exit_code, len(done.stderr.strip().splitlines())) == (2, 1)
    assert "line 3: B-041 brett 300\n    'brett 300' was not understood" in done.stdout
    assert len(readings(demo)) == before
    result = demo.json("lab", path, "--leave-unread")
    assert ([row["line"] for row in result["unread"]], len(result["readings"]), result["is_written"]) == ([3], 3, True)
    assert len(readings(demo)) == before + 2


def test_unusual_values_are_asked_back(demo: "Cooperage", slip: Any) -> None:
    """Once for all of them; --sure says that they are so."""
    path = slip("B-041 pH 4.4\nB-042 va 1.5\n")
    status, line = demo.refuses("lab", path)
    assert (status, "pH 4.40 of B-041" in line, "1.50 g/L of B-042" in line) == (1, True, True)
    assert demo.run("lab", path, "--sure").exit_code == 0


def test_a_dry_run_writes_nothing(demo: "Cooperage", slip: Any) -> None:
    """It only shows."""
    before = len(readings(demo))
    assert "nothing was written" in demo.run("lab", slip(SLIP), "--dry-run").stdout
    assert len(readings(demo)) == before


def test_files_that_are_none(demo: "Cooperage", tmp_path: Path) -> None:
    """No file, no text, nothing in it: one line each."""
    (tmp_path / "raw.txt").write_bytes(b"B-041 pH \xff")
    (tmp_path / "nul.txt").write_bytes(b"B-041 pH \0")
    (tmp_path / "empty.txt").write_text("\n")
    for name, result in (("raw", "UTF-8"), ("nul", "UTF-8"), ("empty", "no reading"), ("none", "no such file")):
        status, line = demo.refuses("lab", str(tmp_path / f"{name}.txt"))
        assert (status, result in line) == (2, True)
