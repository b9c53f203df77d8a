"""A flight that is still blind is told by no door: neither what is in a glass, nor what anybody gave it."""

import csv
import json
import re
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import openpyxl
import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.exchange.reports.reports import REPORTS
from cooperage.resources import demo_folder

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


POURED = {"QX71": "B-001", "QX72": "B-002", "QX73": "B-001"}
GIVEN: dict[str, tuple[float, ...]] = {"QX71": (13.371, 17.913), "QX72": (4.437, 8.975), "QX73": (14.297, 18.833)}
MARKS: dict[str, tuple[float, ...]] = {"QX71": (3.171, 7.313), "QX72": (1.137, 2.775), "QX73": (4.297, 8.533)}
VERDICTS = {"QX71": ("quarantine", ""), "QX72": ("look again", "97"), "QX73": ("ready", "")}
MEANS = ("15.642", "6.706", "16.565", "78.21", "33.53", "82.825")
SWAPPED = {"QX71": "B-002", "QX72": "B-001", "QX73": "B-002"}
# A trial that is poured: which of its glasses each code is, and what that was given.
TRIED = {"QX81": 1, "QX82": 2, "QX83": 3}
TASTED: dict[str, tuple[float, ...]] = {"QX81": (11.173, 15.317), "QX82": (5.719, 9.853), "QX83": (14.619, 17.151)}
BLENDS = {1: (100, 0), 2: (0, 100), 3: (50, 50)}
# A blind difference test: of each set its glasses, what is in them here and in the other cellar, and the answers.
SETS = {
    "Ada": ("QX91 QX92 QX93", "AAB", "BAB", "QX93", "QX92"),
    "Bea": ("QX94 QX95 QX96", "ABB", "BAA", "QX95", "QX94"),
}
# A trial across barrels whose flight is the blind one: the treatment of each barrel here; elsewhere it is the other's.
TREATED = {"B-001": 0, "B-002": 1, "B-003": 0, "B-004": 1}
BEST = str(demo_folder() / "briefs" / "best_barrels.toml")

# Every command that reads the book, with what it is asked; {code} is the blind flight.
READS = [
    ["barrel", "B-001"],
    ["barrel", "B-002"],
    ["barrels"],
    ["blend", "solve", "--brief", BEST],
    ["blend", "trial", "--brief", BEST],
    ["cellar"],
    ["check"],
    ["forecast", "B-001"],
    ["label", "B-001"],
    ["lot", "honeys"],
    ["lot", "curve", "HE-25"],
    ["lot", "show", "HE-25"],
    ["losses"],
    ["lots"],
    *(["report", name] for name in REPORTS),
    *(["period", name] for name in ("list", "show", "differences")),
    ["rounds"],
    ["signs"],
    ["today"],
    ["find", "B-0"],
    ["sulphite"],
    ["taste", "flights"],
    ["taste", "results", "BLIND"],
    ["taste", "results", "ODD"],
    ["taste", "sheet", "BLIND"],
    ["taste", "sheet", "BLIND", "--csv"],
    ["taste", "sheet", "ODD"],
    ["taste", "words", "list"],
    ["taste", "carry-over", "BLIND"],
    ["taste", "tasters"],
    ["bottles"],
    ["trace", "SALT-25"],
    ["trial", "list"],
    ["trial", "plan", "B-003", "B-004"],
    ["trial", "results", "TR-1"],
    ["trial", "hand-over", "TR-1"],
    ["trial", "sheet", "TR-9"],
    ["upkeep", "B-001"],
    ["wood"],
    ["wood", "B-001"],
    ["value", "--per", "vessel"],
    ["cost", "B-001"],
    ["angels", "--per", "barrel"],
    ["prices", "list"],
]
# These write, serve, or reckon from what is typed; `export` has its own test, `copy` and `backup` are the book itself.
OTHERS = {
    *(
        "lot batch",
        "lot honey",
        "add lot",
        "add vessel",
        "backup",
        "blend pour",
        "blend scale",
        "climate",
        "completion",
        "copy",
        "count",
    ),
    *("demo", "export", "guide", "help", "orders do", "orders move", "orders print", "orders withdraw"),
    *(
        "import",
        "lab",
        "restore",
        "retire",
        "serve",
        "sheet",
        "taste leave",
        "taste reveal",
        "taste score",
        "taste start",
    ),
    *("period close", "period count"),
    *("ready define", "ready definitions", "ready withdraw", "prices set"),
    "bottling risks",
    *(f"bottling {name}" for name in ("open", "filled", "reject", "sample", "loss", "closure", "stop", "note")),
    *(f"bottling {name}" for name in ("check", "strike", "show", "list", "close")),
    *("rules list", "rules show", "rules set", "rules use", "rules withdraw"),
    # a trial across barrels has a walk of its own, in test_trial_barrels.py
    *(f"trial barrels {name}" for name in ("flight", "list", "plan", "results", "show", "withdraw")),
    *("trial pour", "trial withdraw"),
    *("taste difference", "taste judge", "taste peek", "taste words add", "taste words rename", "taste words retire"),
}
# What is refused while a flight is blind, or asked back: {code} is a glass of it, {file} a table with faults in it.
REFUSALS = [
    ["taste", "results", "BLIND"],
    ["taste", "reveal", "BLIND"],
    ["taste", "judge", "BLIND", "--proposed"],
    ["taste", "judge", "BLIND", "B-001=keep"],
    ["taste", "score", "BLIND", "QX79", "Ada", "12"],
    ["taste", "score", "BLIND", "QX71", "Ada", "99"],
    ["taste", "score", "BLIND", "QX71", "Ada", "--attribute", "wood=3"],
    ["taste", "score", "BLIND", "QX71", "Ada", "--line", "6 12 kept; huh"],
    ["taste", "score", "BLIND", "--file", "{file}"],
    ["taste", "start", "B-001", "--code", "BLIND"],
    ["trial", "results", "TR-9"],
    ["trial", "hand-over", "TR-9"],
    ["trial", "pour", "TR-9"],
    ["taste", "results", "TRIAL"],
    ["taste", "reveal", "ODD"],
    ["taste", "score", "ODD", "QX91 QX92", "Ada"],
]


def with_blind_flight(demo_file: Path, folder: Path, held: dict[str, str], given: dict[str, tuple[float, ...]]) -> Path:
    """The demo with one more flight, poured on paper and typed in: codes and scores as nothing else in the book is."""
    shutil.copy(demo_file, folder / "cellar.db")
    (folder / "flights.csv").write_text(
        "code,name,scale,poured,attributes,id\nBLIND,test,0-20,yesterday 14:00,honey=0-10,blind-flight\n"
        "TRIAL,tried,0-20,yesterday 15:00,,blind-trial\n"
    )
    write_trial(folder)
    with (folder / "scores.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        scored = ["taster", "score", "words", "marks", "verdict", "weeks"]
        rows.writerow(["flight", "glass", "vessel", *scored, "what", "role"])
        for code, vessel in held.items():
            for taster, value, mark in zip(("Ada", "Bea"), given[code], MARKS[code], strict=True):
                verdict = VERDICTS[code] if given is GIVEN else ("keep", "")
                honey = f"honey={mark if given is GIVEN else 10 - mark}"
                rows.writerow(["BLIND", code, vessel, taster, value, f"xyzzy of {code}", honey, *verdict, "", ""])
        rows.writerow(["BLIND", "QX74", "B-001" if held is POURED else "B-002", *[""] * 8])
        for code, tried in TRIED.items():
            number = tried if held is POURED else 4 - tried
            for taster, value in zip(("Ada", "Bea"), TASTED[code], strict=True):
                figure = value if held is POURED else 20 - value
                rows.writerow(["TRIAL", code, "", taster, figure, f"xyzzy of {code}", "", "", "", contents(number), ""])
    with_blind_test(folder, is_other=held is not POURED)
    write_barrel_trial(folder, is_other=held is not POURED)
    done = CliRunner().invoke(main, ["--cellar", str(folder / "cellar.db"), "import", str(folder)])
    assert done.exit_code == 0, done.output
    return folder / "cellar.db"


def contents(number: int) -> str:
    parts = zip(BLENDS[number], ("B-001", "B-002"), strict=True)
    return f"TR-9/{number}: {', '.join(f'{ml} mL {tag}' for ml, tag in parts if ml)}"


def write_trial(folder: Path) -> None:
    """The trial that the flight TRIAL is a session of."""
    stocks: list[Any] = [
        {"name": tag, "vessels": [tag], "low": 0.0, "high": 1.0, "figures": {}} for tag in ("B-001", "B-002")
    ]
    glasses = [
        {"session": 1, "planned": [ml / 100 for ml in parts], "ml": [float(ml) for ml in parts]}
        for parts in BLENDS.values()
    ]
    with (folder / "trials.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["code", "stocks", "design", "degree", "glasses", "step_ml", "scale", "flights", "id", "written"])
        made = ["centroid", 2, json.dumps(glasses), 1, "0-20", "1=TRIAL", "blind-trial", "yesterday 12:00"]
        rows.writerow(["TR-9", json.dumps(stocks), *made])


def write_barrel_trial(folder: Path, *, is_other: bool) -> None:
    """The trial across barrels that the flight BLIND is a sitting of."""
    spread = {"barrel": 1.0, "score": 1.0, "barrel_degrees": 6.0, "score_degrees": 6.0, "of": "12 barrels"}
    row = {
        "code": "ACROSS",
        "question": "does it keep?",
        "measure": "overall",
        "scale": "0-20",
        "treatments": json.dumps([["weekly", ""], ["monthly", ""]]),
        "barrels": json.dumps([[tag, "all", at ^ is_other] for tag, at in TREATED.items()]),
        "seed": 8191 if is_other else 8179,
        "sittings": json.dumps([["2026-01-05", ["all"]]]),
        "level": 0.95,
        "stated": json.dumps({"spread": spread, "power": None, "least": 2.0}),
        "flights": json.dumps({"1": "BLIND"}),
        "id": "blind-across",
        "written": "yesterday 12:00",
    }
    with (folder / "barrel_trials.csv").open("w", newline="") as file:
        rows = csv.DictWriter(file, list(row))
        rows.writeheader()
        rows.writerow(row)


def with_blind_test(folder: Path, *, is_other: bool) -> None:
    """Add a triangle of two answered sets and one that is not to the files of a folder."""
    with (folder / "flights.csv").open("a") as file:
        file.write("ODD,odd one,,yesterday 15:00,,blind-test\n")
    text = (folder / "flights.csv").read_text()
    first, *others = text.splitlines()
    tests = ["triangle,differ,1,0.05,0.5,0.8" if line.startswith("ODD") else ",,,,," for line in others]
    lines = [f"{first},test,aim,rounds,alpha,share,power", *map(",".join, zip(others, tests, strict=True))]
    (folder / "flights.csv").write_text("\n".join(lines) + "\n")
    with (folder / "scores.csv").open("a", newline="") as scores, (folder / "sets.csv").open("w", newline="") as sets:
        glasses, answers = csv.writer(scores), csv.writer(sets)
        answers.writerow(["flight", "taster", "round", "glasses", "answer"])
        there = SETS | {"Cleo": ("QX97 QX98 QX99", "ABA", "BBA", "", "")}
        for taster, (codes, *held, here, elsewhere) in there.items():
            for code, letter in zip(codes.split(), held[is_other], strict=True):
                glasses.writerow(["ODD", code, {"A": "B-001", "B": "B-002"}[letter], *[""] * 7, letter])
            answers.writerow(["ODD", taster, 1, codes, elsewhere if is_other else here])


@pytest.fixture(scope="session")
def made(made_once: Callable[[str, Callable[[Path], None]], Path], demo_file: Path, tmp_path_factory: Any) -> Any:
    """Make the demo with the blind flight once in a run, with what is in the glasses and what they were given."""

    def file(name: str, held: dict[str, str], given: dict[str, tuple[float, ...]]) -> Path:
        folder = tmp_path_factory.mktemp(name)

        def make(path: Path) -> None:
            shutil.copy(with_blind_flight(demo_file, folder, held, given), path)

        return made_once(f"{name}.db", make)

    return file


@pytest.fixture(scope="session")
def blind_file(made: Any) -> Any:
    return made("blind", POURED, GIVEN)


@pytest.fixture(scope="session")
def otherwise(made: Any) -> Any:
    """The same, but for what is in the glasses and what they were given."""
    return made("otherwise", SWAPPED, {code: tuple(20 - value for value in values) for code, values in GIVEN.items()})


@pytest.fixture
def blind(blind_file: Any, cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path) -> Any:
    return cooperage_at(Path(shutil.copy(blind_file, tmp_path / "cellar.db")))


@pytest.fixture(scope="session")
def came_file(made_once: Callable[[str, Callable[[Path], None]], Path], blind_file: Path, tmp_path_factory: Any) -> Any:
    """What comes of it when it is exported and imported: a whole demo, and brought in once in a run."""
    out = tmp_path_factory.mktemp("exported") / "out"

    def make(path: Path) -> None:
        for cellar, *words in ((blind_file, "export", out), (path, "import", out)):
            done = CliRunner().invoke(main, ["--cellar", str(cellar), *map(str, words)])
            assert done.exit_code == 0, done.output

    return made_once("blind_came.db", make)


@pytest.fixture
def came(came_file: Any, cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path) -> Any:
    """A cellar that the files of an export were brought into."""
    return cooperage_at(Path(shutil.copy(came_file, tmp_path / "came.db")))


def tells(text: str) -> list[str]:
    """The lines of a text that tell of the blind flight."""
    return [line for line in text.splitlines() if names_it(line) or has_a_figure_of_it(line)]


def names_it(line: str) -> bool:
    """A glass beside what is in it, or what was said of it."""
    paired = any(code in line for code in POURED) and any(re.search(rf"\b{each}\b", line) for each in POURED.values())
    tried = any(code in line for code in TRIED) and (re.search(r" m[lL] B-00", line) or "TR-9/" in line)
    return paired or bool(tried) or "xyzzy" in line


def has_a_figure_of_it(line: str) -> bool:
    """A score, or the mean of a glass."""
    figures = [*MEANS, *(str(value) for each in (GIVEN, MARKS, TASTED) for values in each.values() for value in values)]
    return any(re.search(rf"(?<![\d.]){re.escape(figure)}(?!\d)", line) for figure in figures)


def by_chance(line: str, elsewhere: str) -> bool:
    """A figure of it that stands in the same line where other scores were given: figures that age come by any value."""
    return not names_it(line) and line in elsewhere.splitlines()


def commands(command: click.Command, words: tuple[str, ...] = ()) -> list[str]:
    if isinstance(command, click.Group):
        ctx = click.Context(command)
        inside = {name: command.get_command(ctx, name) for name in command.list_commands(ctx)}
        return [found for name, each in inside.items() if each for found in commands(each, (*words, name))]
    return [" ".join(words)]


def test_every_command_is_walked() -> None:
    """A new command is put among those that read the book, or among the others, by whoever adds it."""
    walked = OTHERS | {
        " ".join(words[:2] if words[0] in ("taste", "blend", "trial", "prices", "period", "lot") else words[:1])
        for words in READS
    }
    walked = (walked - {"taste words"}) | {"taste words list"}
    there = {name for name in commands(main) if name.partition(" ")[0] not in ("log", "order", "calc")}
    assert there == walked


@pytest.fixture
def one_moment(monkeypatch: pytest.MonkeyPatch, otherwise: Any) -> None:
    """Let no time pass between two commands: levels and figures go on with it."""

    class Stopped(datetime):
        at = datetime.now(UTC)

        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Any:
            return cls.at

    monkeypatch.setattr("cooperage.book.book.datetime", Stopped)


@pytest.mark.slow
@pytest.mark.usefixtures("one_moment")
@pytest.mark.parametrize("words", READS, ids=" ".join)
def test_no_command_tells_of_a_blind_flight(
    blind_file: Any, otherwise: Any, cooperage_at: "Callable[[Path], Cooperage]", words: Any
) -> None:
    """In text and in JSON; and whatever is in the glasses and was given, every one of them says the same."""
    blind, other = cooperage_at(blind_file), cooperage_at(otherwise)
    done = blind.run(*words)
    assert done.exit_code in {0, 1, 3}, done.output
    assert [line for line in tells(done.output) if not by_chance(line, other.run(*words).output)] == []
    in_json = blind.run(*words, "--json")
    if in_json.exit_code != 2:  # those without --json refuse it
        found = tells(in_lines(in_json.stdout))
        elsewhere = in_lines(other.run(*words, "--json").stdout) if found else ""
        assert [line for line in found if not by_chance(line, elsewhere)] == []
    if words[:2] != ["blend", "trial"]:  # whose glasses get codes by chance
        assert other.run(*words).output == done.output


@pytest.mark.slow
@pytest.mark.usefixtures("one_moment")
@pytest.mark.parametrize("words", REFUSALS, ids=" ".join)
def test_no_refusal_tells_of_a_blind_flight(
    blind_file: Any, otherwise: Any, cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path, words: list[str]
) -> None:
    """Nor does what is asked back, in text and in JSON; whatever is in the glasses, all of them read the same."""
    table = tmp_path / "scores.csv"
    table.write_text("taster,glass,honey,overall,verdict\nAda,QX71,11,3,huh\nBea,QX79,3,21,keep\nAda,QX72,3,22,ready\n")
    filled = [str(table) if word == "{file}" else word for word in words]
    results = []
    for file in (blind_file, otherwise):
        cellar = cooperage_at(Path(shutil.copy(file, tmp_path / "cellar.db")))
        done = [cellar.run(*filled, *more) for more in ([], ["--json"])]
        assert all(each.exit_code in (1, 2) for each in done)
        results.append("\n".join(each.output + each.stderr for each in done))
    assert tells(results[0]) == []
    assert results[0] == results[1]


def in_lines(printed: str) -> str:
    return "\n".join(objects(json.loads(printed or "[]")))


def objects(value: Any) -> list[str]:
    """Every object that holds no other, and every list of plain values, as a line of its own."""
    if isinstance(value, dict):
        plain = {key: item for key, item in value.items() if not isinstance(item, dict | list)}
        return [
            str(plain),
            *(line for item in value.values() if isinstance(item, dict | list) for line in objects(item)),
        ]
    return [line for item in value for line in objects(item)] if isinstance(value, list) else [str(value)]


def test_once_revealed_they_do_tell(blind: Any) -> None:
    """The walk can fail: of the same flight, revealed, results, pool, history and export tell."""
    assert blind.run("taste", "reveal", "BLIND").exit_code == 1  # a glass is left to score
    for code in ("BLIND", "TRIAL"):
        blind.run("taste", "reveal", code, "--sure")
    assert blind.run("trial", "results", "TR-9").exit_code == 0
    for words in (
        ["taste", "results", "BLIND"],
        ["taste", "results", "TRIAL"],
        ["taste", "flights", "--json"],
        ["barrel", "B-001", "--json"],
    ):
        assert tells("\n".join(objects(json.loads(done)) if (done := blind.run(*words).stdout)[:1] in "[{" else [done]))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["out", "out.xlsx"])
def test_no_file_of_an_export_tells_of_a_blind_flight(blind: Any, tmp_path: Path, name: str) -> None:
    """Nor does the workbook; and the cellar that it is brought into tells all of it once revealed there."""
    assert blind.run("export", str(tmp_path / name)).exit_code == 0
    if name == "out":
        lines = [line for path in sorted((tmp_path / name).iterdir()) for line in path.read_text().splitlines()]
    else:
        book = openpyxl.load_workbook(tmp_path / name)
        lines = [" ".join(str(cell.value) for cell in row) for sheet in book for row in sheet.iter_rows()]
    assert any("QX71" in line for line in lines)
    assert tells("\n".join(lines)) == []


@pytest.mark.slow
def test_the_files_of_a_blind_test_show_no_glass_and_no_answer(blind: Any, came: Any, tmp_path: Path) -> None:
    """Neither which codes are alike, nor which was answered, nor by the length of a seal; and all of it comes back."""
    blind.run("export", str(tmp_path / "out"))
    files = {name: list(csv.DictReader((tmp_path / "out" / f"{name}.csv").open())) for name in ("scores", "sets")}
    glasses, sets = ([row for row in files[name] if row["flight"] == "ODD"] for name in ("scores", "sets"))
    assert (len(glasses), len(sets)) == (9, 3)
    assert not any(row[name] for row in glasses for name in ("vessel", "what", "role"))
    assert not any(row["answer"] for row in sets)
    assert len({len(row["sealed"]) for row in glasses}) == 1
    found = [cellar.json("taste", "reveal", "ODD", "--sure") for cellar in (blind, came)]
    assert [row["order"] for row in found[0]["sets"]] == ["AAB", "ABB", "ABA"]
    assert [row["answer"] for row in found[0]["sets"]] == [["QX93"], ["QX95"], []]
    for each in found:
        each.pop("revealed_at")
    assert found[0] == found[1]


@pytest.mark.slow
def test_the_files_of_a_blind_flight_show_no_treatment(
    blind: Any, otherwise: Any, came: Any, cooperage_at: "Callable[[Path], Cooperage]", tmp_path: Path
) -> None:
    """Nor the seed they are drawn again with, nor by the length of a seal; once revealed they stand in the clear."""
    elsewhere = cooperage_at(Path(shutil.copy(otherwise, tmp_path / "otherwise.db")))
    found = [trial_in(cellar, tmp_path / name) for name, cellar in (("here", blind), ("there", elsewhere))]
    assert not any(row[name] for row in found for name in ("barrels", "seed"))
    assert len({len(row["sealed"]) for row in found}) == 1
    assert found[0] | {"sealed": ""} == found[1] | {"sealed": ""}
    came.json("taste", "reveal", "BLIND", "--sure")
    after = trial_in(came, tmp_path / "after")
    assert (json.loads(after["barrels"]), after["seed"], after["sealed"]) == (
        [[tag, "all", at] for tag, at in TREATED.items()],
        "8179",
        "",
    )


def trial_in(cellar: Any, folder: Path) -> dict[str, str]:
    """The row of the trial across barrels in an export of a cellar."""
    assert cellar.run("export", str(folder)).exit_code == 0
    [row] = [row for row in csv.DictReader((folder / "barrel_trials.csv").open()) if row["code"] == "ACROSS"]
    return row


@pytest.mark.slow
def test_an_export_brings_a_blind_flight_back(blind: Any, came: Any) -> None:
    for cellar in (blind, came):
        cellar.json("taste", "reveal", "BLIND", "--sure")
    rows = [cellar.json("taste", "results", "BLIND") for cellar in (blind, came)]
    assert rows[0] == rows[1]
    assert {row["glass"]: row["vessel"] for row in rows[0]["rows"]} == POURED | {"QX74": "B-001"}
