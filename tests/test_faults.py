"""A fault of ours is one line and a file, never a traceback."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cooperage import faults
from cooperage.book import Book
from cooperage.cli import main
from cooperage.faults import ProgramFault


@pytest.fixture(autouse=True)
def reports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(faults, "_folders", lambda: [tmp_path / "log"])
    return tmp_path / "log"


def test_the_report_holds_what_happened(reports: Any) -> None:
    """The file has the error and where it came from; the line names the file."""
    nothing: dict[str, str] = {}
    try:
        nothing["nothing"]
    except KeyError as error:
        fault = ProgramFault(error)
    assert "KeyError: 'nothing'" in fault.report.read_text()
    assert fault.report.parent == reports
    assert str(fault.report) in str(fault)
    assert "\n" not in str(fault)


def test_where_nothing_can_be_written_the_line_still_comes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without a place for the report there is still one line."""
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(faults, "_folders", lambda: [tmp_path / "file" / "below"])
    assert "no file" in str(ProgramFault(ValueError("x")))


def test_a_command_that_fails_inside_leaves_with_one_line(
    monkeypatch: pytest.MonkeyPatch, fresh_sqlite: Callable[[], Book]
) -> None:
    """Exit status 70, one line on standard error, nothing else."""
    book = fresh_sqlite()
    monkeypatch.setattr("cooperage.book.laws.check", lambda _connection: 1 / 0)
    done = CliRunner().invoke(main, ["--cellar", book.name, "check"])
    assert done.exit_code == ProgramFault.exit_status
    assert done.stderr.count("\n") == 1
    assert "our fault (ZeroDivisionError)" in done.stderr
