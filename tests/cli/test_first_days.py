"""A cellar begun today by the README's own commands, and one with nothing in it: what each command says."""

import json
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.programme.losses.level import PRIOR

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


README = Path(__file__).parents[2] / "README.md"


def begun(path: Any) -> Any:
    """Run the commands that README gives for a cellar of one's own, on one file; return how many there are."""
    text = README.read_text(encoding="utf-8").split("## A cellar of your own")[1].split("\n## ")[0]
    lines = [line for line in text.splitlines() if line.startswith("cooperage --cellar new.db ")]
    for line in lines:
        words = shlex.split(line.replace("new.db", str(path)))[1:]
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, (line, done.output)
    return len(lines)


@pytest.fixture(scope="module")
def young_file(tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("young") / "new.db"
    assert begun(path) == 5
    return path


@pytest.fixture
def young(cooperage_at: "Callable[[Path], Cooperage]", young_file: Any, tmp_path: Path) -> Any:
    """The cellar of README, five minutes old."""
    return cooperage_at(Path(shutil.copy(young_file, tmp_path / "new.db")))


def test_a_barrel_just_filled_is_forecast_from_what_is_common(young: Any) -> None:
    """From the first hour, and it says so."""
    done = young.run("forecast", "B-001")
    assert done.exit_code == 0
    assert PRIOR in done.output
    (ahead,) = young.json("forecast", "B-001")
    assert ahead["basis"] == PRIOR
    volume = ahead["volume"]
    assert volume["low_l"] < volume["value_l"] < volume["high_l"] <= 225


def test_the_rounds_say_what_was_done_and_what_never_was(young: Any) -> None:
    """It was filled: neither topped nor tasted; free SO2 was never measured and is due now."""
    due = young.json("rounds", "--on", "2100-01-01")
    words = {each["task"]: each["why"] for each in due}
    assert words["top"].startswith("never topped here; filled")
    assert words["taste"].startswith("not tasted yet; filled")
    assert words["sulphite"].startswith("free SO2 never measured; filled")
    assert [each["task"] for each in young.json("rounds")] == ["sulphite"]


def test_the_level_now_stands_in_every_door(young: Any) -> None:
    """In text and JSON, with its band and how it is known."""
    shown = young.json("barrel", "B-001")["level_now_l"]
    assert 224 < shown["low_l"] <= shown["value_l"] <= shown["high_l"] <= 225
    assert PRIOR in shown["how"]
    assert young.json("barrels")[0]["level_now_l"]["value_l"] == pytest.approx(shown["value_l"], abs=0.01)
    assert young.json("rounds")[0]["level_now_l"]["value_l"] == pytest.approx(shown["value_l"], abs=0.01)
    stock = {row["vessel"]: row for row in young.json("report", "stock")["rows"]}
    assert stock["B-001"]["level_now_l"] == pytest.approx(shown["value_l"], abs=0.01)
    assert (stock["T-1"]["held_l"], stock["T-1"]["level_now_l"]) == (675.0, 675.0)
    assert "90 %" in young.run("barrel", "B-001").output
    assert "now (90 %)" in young.run("barrels").output


TABLES = (
    ["rounds"], ["barrels"], ["signs"], ["losses"], ["losses", "--by", "room"], ["forecast"], ["sulphite"], ["retire"],
    ["climate"], ["report", "stock"], ["report", "rounds"], ["report", "book"], ["report", "losses"],
    ["report", "bottlings"],
)  # fmt: skip


@pytest.mark.parametrize("words", TABLES, ids=" ".join)
def test_nothing_to_tell_is_told_in_a_sentence(empty: "Cooperage", words: Any) -> None:
    """Never a heading over nothing; as JSON an empty list."""
    done = empty.run(*words)
    assert done.exit_code == 0, done.stderr
    assert re.search(r"[a-z]{2,} [a-z]+.*[.;`]|is worth retiring", done.output), done.output
    heading = {"rounds": "where ", "barrels": "tag ", "signs": "vessel ", "losses": "cause ", "forecast": "barrel "}
    assert not done.output.startswith(heading.get(words[0], "\0"))
    assert not re.search(r"^(room|when|month|bottling) ", done.output, re.MULTILINE)


@pytest.mark.parametrize(
    "words", [[name] for name in ("rounds", "barrels", "signs", "losses", "forecast")], ids=" ".join
)
def test_a_script_gets_an_empty_list(empty: "Cooperage", words: Any) -> None:
    """A sentence is for people."""
    assert json.loads(empty.run(*words, "--json").stdout) == []


def test_what_is_missing_is_named_step_by_step(
    cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path, empty_cellar: Path
) -> None:
    """Vessels, then a barrel, a lot, mead, a fill; and when nothing is due, what comes next."""
    cellar = cooperage_at(Path(shutil.copy(empty_cellar, tmp_path / "new.db")))
    for lacks, does in (
        ("no vessels yet", ["add", "vessel", "T-1", "--kind", "tank", "--capacity", "1000l"]),
        ("no barrel yet", ["add", "vessel", "B-1", "--capacity", "225L"]),
        ("no lot of mead yet", ["add", "lot", "H-1"]),
        ("Nothing is in the vessels", ["log", "receive", "H-1", "T-1", "900"]),
        ("No barrel holds mead", ["log", "fill", "B-1", "--from", "T-1"]),
    ):
        result = cellar.run("signs").output
        assert lacks in result
        assert result.count("\n") == 1
        assert cellar.run(*does).exit_code == 0
    assert cellar.run("log", "reading", "B-1", "free_so2_mg_l", "30").exit_code == 0
    assert re.fullmatch(r"Nothing is due\. Next: B-1 \w+ on \d{4}-\d\d-\d\d\.\n", cellar.run("rounds").output)
    assert cellar.run("signs").output == "No sign of trouble.\n"
