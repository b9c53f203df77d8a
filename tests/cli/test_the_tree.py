"""The whole command line, command by command: help, examples that run, --json, one meaning a name, exit statuses."""

import json
import re
import shlex
import shutil
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.cli.shared.command import CommandGroup, Option, WordChoice
from cooperage.cli.shared.desk import NumberRange, number
from cooperage.resources import demo_folder
from tests.shell import run_line

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


def walk(group: click.Group, context: click.Context) -> Iterator[Any]:
    """Every command there is, with its context."""
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        inside = click.Context(command, info_name=name, parent=context)
        yield inside
        if isinstance(command, click.Group):
            yield from walk(command, inside)


ROOT = click.Context(main, info_name="cooperage")
TREE = [ROOT, *walk(main, ROOT)]
LEAVES = [each for each in TREE if not isinstance(each.command, click.Group)]
commands = pytest.mark.parametrize("context", TREE, ids=lambda each: each.command_path)
leaves = pytest.mark.parametrize("context", LEAVES, ids=lambda each: each.command_path)

# What a cellar hand would not say aloud, or what belongs to code.
MANNERED = re.compile(
    r"\b(tells?|told|says?|said|hear[sd]?|heard|spoken|apart|anew|hush|sift|ticks?|gone|thirst|drank|drunk|drinks"
    r"|reckon\w*|shall|heeds?|so to speak|hold against|let it|said otherwise|\w+_ml)\b",
    re.IGNORECASE,
)
IMPERATIVES = frozenset(
    re.findall(
        r"\w+",
        "Add Bottle Calculate Check Close Compare Compose Convert Copy Correct Estimate Fill Find Forecast Import List "
        "Look Move Open Plan Pour Print Pull Rack Receive Record Register Restore Retire Reveal Scale Show Solve "
        "Strike Top Trace Withdraw Write",
    )
)


def own_options(context: click.Context) -> list[click.Option]:
    return [each for each in context.command.params if isinstance(each, click.Option) and not each.hidden]


def shown_names(option: click.Option) -> list[str]:
    return option.shown if isinstance(option, Option) else option.opts


@commands
def test_every_option_and_argument_has_a_help_that_says_more_than_its_name(context: Any) -> None:
    """A line each, which is not the name again."""
    for parameter in context.command.params:
        if getattr(parameter, "hidden", False):
            continue
        about = (parameter.help or "").strip()
        name = parameter.name.replace("_", " ")
        assert len(about.split()) >= 2, (context.command_path, parameter.name, about)
        assert about.rstrip(".").casefold() not in (name.casefold(), f"the {name}".casefold())


@commands
def test_no_help_is_mannered(context: Any) -> None:
    """Help is in words that are said aloud in a cellar, and its first word is what the command does."""
    text = context.command.get_help(context)
    assert not MANNERED.findall(text), MANNERED.findall(text)
    assert context is ROOT or context.command.help.split()[0] in IMPERATIVES, context.command.help


@leaves
def test_every_command_prints_json(context: Any) -> None:
    """--json is on every command."""
    assert "--json" in {name for option in own_options(context) for name in option.opts}


# Where a name points at a place and a date alike: `rack --to T-4`, `copy --to URL`, `forecast --to DATE`.
POINTS = frozenset({"--to"})


def test_one_name_has_one_meaning() -> None:
    """The same spelling takes the same kind of value everywhere."""
    takes: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for context in TREE:
        for option in own_options(context):
            kind = "flag" if option.is_flag else option.make_metavar(context)
            for name in shown_names(option):
                takes[name][kind].append(context.command_path)
    clashing = {name: dict(kinds) for name, kinds in takes.items() if len(kinds) > 1 and name not in POINTS}
    assert not clashing


def test_an_old_spelling_is_no_other_options_name() -> None:
    """What was renamed is understood where it was an option, and shown nowhere."""
    for context in TREE:
        for option in own_options(context):
            for old in getattr(option, "formerly", ()):
                assert old in option.opts
                assert not re.search(rf"^ +{old}(?![\w-])", context.command.get_help(context), re.MULTILINE)


@commands
def test_every_command_has_an_example(context: Any) -> None:
    """A line that can be copied whole, and names the command."""
    assert context.command.examples
    assert "Examples:" in context.command.get_help(context)
    path = context.command_path.removeprefix("cooperage").strip()
    for example in context.command.examples:
        assert "cooperage " in example
        assert path in example.replace("--cellar mine.db ", "").replace("--cellar again.db ", "")


NOT_RUN = frozenset({"cooperage demo", "cooperage serve"})  # these open a screen, or run until they are stopped


# A figure has its unit in its key, in that of what holds it, or beside it; these have none, or are money or a share.
UNIT = re.compile(
    r"(?:^|_)(?:l|ml|litres|millilitres|g|grams|kg|mm|c|celsius|percent|points|days|weeks|months|years|hours|minutes|s|abv|sg"
    r"|ph|brix|baume|oechsle|g_l|mg_l|per_l|m3|in_wood|ago|sg_20_4|in_air)(?:_(?:low|high))?$"
)
NO_UNIT = re.compile(
    r"chance|share|likeness|power|objective|^(?:p|alpha|fraction|risk|sure|sure_from|sure_to|lots|wrong|wrong_after"
    r"|d_prime(?:_between)?|price|cost|cost_per_bottle|book_value|written_off)$"
)


def without_unit(found: Any, path: tuple[str, ...] = (), *, beside: bool = False) -> Iterator[str]:
    """Where JSON has a figure that is no whole number, and no unit of it."""
    match found:
        case dict():
            beside = beside or not found.keys().isdisjoint({"unit", "scale", "currency"})
            for key, value in found.items():
                yield from without_unit(value, (*path, key), beside=beside)
        case list():
            for value in found:
                yield from without_unit(value, path, beside=beside)
        case float() if not beside and not any(UNIT.search(key) or NO_UNIT.search(key) for key in path):
            yield ".".join(path)


def run_example(example: str) -> None:
    """Run a line; what is asked for as JSON is JSON, and its figures have units."""
    for ran in run_line(example):
        if "--json" in ran.call and ran.status == 0:
            assert sorted(set(without_unit(json.loads(ran.stdout)))) == [], example


@pytest.mark.parametrize("words", [("cellar",), ("sulphite",)], ids=" ".join)
def test_what_no_example_prints_as_json_has_its_units_too(demo: "Cooperage", words: tuple[str, ...]) -> None:
    """As a whole: an example shows one setting alone."""
    assert sorted(set(without_unit(demo.json(*words)))) == []


def test_a_definition_of_ready_has_its_units(demo: "Cooperage") -> None:
    """Each limit, and each figure beside one."""
    made = demo.json("ready", "define", "overall at least 14; va at most 0.7; age at least 6")
    assert sorted(set(without_unit(made))) == sorted(set(without_unit(demo.json("ready")))) == []
    assert [limit["unit"] for limit in made["limits"]] == ["points", "g/L", "months"]


def test_a_figure_without_a_unit_is_found() -> None:
    """In a list or deep down; a key that only begins like a unit is none."""
    found = {
        "temperature": 14.0,
        "rows": [{"value": 2.0, "unit": "g/L"}, {"value": 1.0}],
        "c_lines": [14.0],
        "h_l": 1.0,
    }
    assert list(without_unit(found)) == ["temperature", "rows.value", "c_lines"]


@pytest.fixture
def beside_the_demo(demo_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the demo cellar, its files beside it, and no settings."""
    shutil.copy(demo_file, tmp_path / "cellar.db")
    shutil.copytree(demo_folder(), tmp_path / "demo_cellar")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COOPERAGE_CELLAR", str(tmp_path / "cellar.db"))
    monkeypatch.setenv("COOPERAGE_CONFIG", str(tmp_path / "settings.toml"))
    return tmp_path


@pytest.mark.slow
@commands
def test_every_example_runs(
    context: Any, beside_the_demo: Path, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a copy of the demo cellar, in the order of the help, each ends as it says."""
    if any("--scored" in example for example in context.command.examples):  # which replays the demo: once in a run
        came = request.getfixturevalue("demo_outcomes")
        monkeypatch.setattr("cooperage.programme.ageing.scoring.scoreboard.outcomes", lambda book: came)
    for example in context.command.examples:
        if not any(example == each or example.startswith(f"{each} --host") for each in NOT_RUN):
            run_example(example)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["barels"], "did you mean barrels"),
        (["log", "tpo"], "did you mean top"),
        (["losses", "--pre", "room"], "did you mean --per"),
        (["losses", "--per", "rom"], "did you mean room"),
        (["report", "stok"], "did you mean stock"),
        (["barrel", "B-0001"], "did you mean"),
        (["log", "treat", "B-001", "rinze"], "did you mean rinse"),
        (["log", "reading", "B-001", "abw", "12"], "did you mean abv"),
        (["log", "addition", "B-001", "metabisulphide", "3g"], "did you mean metabisulphite"),
        (["log", "receive", "HE-42", "T-1", "3"], "did you mean HE-2"),
        (["trace", "SALT-52"], "did you mean SALT-25"),
        (["log", "rack", "K-01", "1", "--to", "pourd away"], "did you mean poured away"),
        (["taste", "reveal", "F-44"], "did you mean F-4"),
        (["cellar", "humidty"], "did you mean humidity"),
        (["barrel"], "TAG is missing"),
        (["rounds", "B-001"], "unexpected"),
        (["--frobnicate"], "no option --frobnicate"),
    ],
    ids=lambda each: " ".join(each) if isinstance(each, list) else "",
)
def test_a_misspelt_word_is_answered_in_one_line(demo: "Cooperage", words: list[Any], says: str) -> None:
    """With the nearest there is, and the exit status of bad input; as JSON it is the same words."""
    status, line = demo.refuses(*words)
    assert (status, says in line) == (2, True), line
    status, line = demo.refuses(*words, "--json")
    told = json.loads(line)
    assert (status, told["status"], says in told["error"]) == (2, 2, True), told
    assert re.fullmatch(r"[a-z0-9_]+", told["kind"])


def test_choices_are_understood_in_any_case() -> None:
    """As tags and codes are."""
    assert WordChoice(["Room"]).convert("room", None, None) == "Room"


@pytest.mark.slow
def test_the_old_spellings_go_on_working(demo: "Cooperage") -> None:
    """Those that scripts may rely on."""
    assert demo.json("rounds", "--on", "2099-01-01") == demo.json("rounds", "--by", "2099-01-01")
    assert demo.json("losses", "--by", "room") == demo.json("losses", "--per", "room")
    assert demo.json("barrel", "B-001", "--on", "yesterday")["tag"] == "B-001"
    doses = [_grams(demo.json("sulphite", *words)) for words in (("--binding", "0.3"), ("--bound", "30%"), ())]
    assert doses[0] == doses[1] != doses[2]
    assert demo.json("log", "shift", "K-01", "--room", "Loft", "--row", "Z", "--at", "today")["kind"] == "shift"
    assert demo.json("log", "move", "K-01", "--room", "Loft", "--row", "Y", "--on", "today")["kind"] == "shift"


def _grams(found: Any) -> list[float]:
    return [dose["grams"] for lot in found["lots"] for dose in lot["doses"]]


def test_the_group_knows_another_name(demo: "Cooperage") -> None:
    """`sulfite` is `sulphite`."""
    assert isinstance(main, CommandGroup)
    assert demo.json("sulfite")["lots"]


def completed(cellar: Path, words: Sequence[str], incomplete: str) -> list[str]:
    """What the shell offers at Tab after these words, without an error."""
    before = ["cooperage", "--cellar", str(cellar), *words]
    env = {
        "_COOPERAGE_COMPLETE": "bash_complete",
        "COMP_WORDS": shlex.join([*before, incomplete]),
        "COMP_CWORD": str(len(before)),
    }
    done = CliRunner().invoke(main, [], prog_name="cooperage", env=env)
    assert (done.exit_code, done.stderr) == (0, "")
    return [line.partition(",")[2] for line in done.stdout.splitlines() if line]


@pytest.mark.parametrize(
    ("words", "incomplete", "expects"),
    [
        (["barrel"], "B-00", "B-001"),
        (["log", "treat", "B-001"], "hot", "hot water"),
        (["log", "top", "B-001", "1", "--from"], "K-0", "K-01"),
        (["trace"], "SALT", "SALT-25"),
        (["report"], "op", "operations"),
        (["taste", "results"], "F", "F-4"),
        (["log", "receive"], "HE", "HE-24"),
        (["log", "treat"], "B-001,B-00", "B-001,B-002"),
        (["log", "rack", "B-001", "--to"], "T-1..T-", "T-1..T-4"),
        (["order", "fill", "B-034", "--from"], "T-", "T-1"),
    ],
)
def test_the_shell_completes(
    demo: "Cooperage",
    cooperage_at: "Callable[[Path], Cooperage]",
    tmp_path: Path,
    words: list[Any],
    incomplete: str,
    expects: str,
) -> None:
    """What begins as typed; nothing, and no error, where there is no cellar."""
    assert expects in completed(demo.cellar, words, incomplete)
    without = completed(tmp_path / "none.db", words, incomplete)
    assert without == [] or words[0] in ("report",) or words[1:2] == ["treat"]


def test_tab_leaves_an_older_cellar_as_it_is(demo: "Cooperage", tmp_path: Path) -> None:
    """It is brought up to date when a person opens it, and not by looking for a tag."""
    older = tmp_path / "older.db"
    with closing(sqlite3.connect(demo.cellar)) as here, closing(sqlite3.connect(older)) as there:
        here.backup(there)
        there.execute("UPDATE alembic_version SET version_num = '0003_last_written'")
        there.commit()
    assert "B-001" in completed(older, ["barrel"], "B-00")
    with closing(sqlite3.connect(older)) as there:
        assert there.execute("SELECT version_num FROM alembic_version").fetchall() == [("0003_last_written",)]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_is_given_its_script(demo: "Cooperage", shell: str) -> None:
    """With a line that shows how it is installed."""
    first, script = demo.run("completion", shell).stdout.split("\n", 1)
    assert first.startswith("# install: ")
    assert "_COOPERAGE_COMPLETE" in script


def test_every_number_takes_a_decimal_comma() -> None:
    """No option or argument is left to the library, which knows a point alone."""
    given = [(f"{each.command_path} {param.opts[0]}", param.type) for each in LEAVES for param in each.command.params]
    plain = [
        name
        for name, kind in given
        if isinstance(kind, click.types.FloatParamType) and not isinstance(kind, NumberRange)
    ]
    assert plain == []
    with ROOT.scope():
        read = {
            name: kind("1,5")
            for name, kind in given
            if isinstance(kind, NumberRange) or getattr(kind, "func", None) is number
            if not (isinstance(kind, NumberRange) and kind.max is not None and kind.max < 1.5)
        }
        with pytest.raises(click.BadParameter):
            number("much")
    assert set(read.values()) == {1.5}
    assert {"cooperage trial plan --ml", "cooperage blend trial --step", "cooperage blend scale --litres"} <= {*read}
