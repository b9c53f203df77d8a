"""The house itself: who may know whom, a light door, one desk for the database, and nothing lying about."""

import ast
import re
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "cooperage"
HEAVY = {"pandas", "scipy", "textual"}


def loaded_by(statement: str) -> set[str]:
    """Run a statement in a fresh interpreter and return the packages and modules it loaded."""
    code = f"import sys\n{statement}\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.splitlines()[-1].split())


def test_imports_run_one_way() -> None:
    """The layers contracts in pyproject.toml are kept, those between the rooms of each package too."""
    from importlinter.cli import lint_imports

    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), is_debug_mode=False) == 0


DOORS = (
    "import cooperage.units",
    "import cooperage.liquid",
    "import cooperage.book",
    "from cooperage.cli import main\ntry: main(['--version'])\nexcept SystemExit: pass",
    "from cooperage.cli import main\ntry: main(['check', '--help'])\nexcept SystemExit: pass",
    "import cooperage.programme.rounds.due",
    "import cooperage.tasting.flights",
    "import cooperage.exchange",
    "import cooperage.cli.look.barrel",
    "import cooperage.cli.log",
)


@pytest.mark.slow
def test_the_door_is_light() -> None:
    """pandas, SciPy and Textual are loaded only by what needs them; one interpreter for all: none of them loads any."""
    loaded = loaded_by("\n".join(DOORS))
    assert {"cooperage.cli.log", "cooperage.cli.look.barrel", "cooperage.programme.rounds.due"} <= loaded
    assert not loaded & HEAVY, {door: sorted(found) for door in DOORS if (found := loaded_by(door) & HEAVY)}


def test_the_version_needs_no_more_than_click() -> None:
    """`--version` loads neither the book nor the database toolkit."""
    loaded = loaded_by("from cooperage.cli import main\ntry: main(['--version'])\nexcept SystemExit: pass")
    assert not loaded & {"sqlalchemy", "numpy", "alembic", "rich"}


def test_a_start_is_not_swept_for_what_it_keeps() -> None:
    """A command sweeps seldom for cycles, and still does: it may write for hours."""
    statement = "from cooperage.cli import main\ntry: main(['--version'])\nexcept SystemExit: pass\n"
    assert loaded_by(statement + "import gc\nassert gc.isenabled() and 10_000 <= gc.get_threshold()[0] <= 100_000")


def test_a_command_ends_without_walking_what_it_loaded() -> None:
    """When the interpreter winds down, what is there has been put out of the garbage collector's reach."""
    last = "import atexit, gc\natexit.register(lambda: print(gc.get_freeze_count()))\n"
    code = f"{last}from cooperage.cli import main\nmain(['--version'])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert int(done.stdout.split()[-1]) > 1000


ARRAYS = {"numpy", "scipy", "pandas"}
TABLES = {"alembic", "openpyxl", "textual"}
LAWS = {"cooperage.book.laws", "cooperage.book.trace", "cooperage.book.store.readable"}
ONLY_LOOKS = {
    *("scipy", "pandas", "numpy.ma", "numpy.random", "numpy.polynomial", "rich", "tomllib", "cooperage.tasting"),
    *("cooperage.book.words", "cooperage.book.writing.write", "cooperage.programme.signs.all_signs"),
}
LIGHT_COMMANDS = {
    "log top B-041 0.8 --from K-05": ARRAYS | TABLES | LAWS | {"rich", "tomllib"},
    "log reading B-041 ph 3.5": ARRAYS | TABLES | LAWS | {"rich", "tomllib"},
    "backup copy.db": ARRAYS | TABLES | {"rich"},
    "add vessel T-9 --kind tank --capacity 500": ARRAYS | TABLES | LAWS | {"rich"},
    "cellar": ARRAYS | TABLES,
    "check": {"scipy", "pandas"} | TABLES,
    "rounds": ONLY_LOOKS | TABLES | LAWS,
    "barrels": ONLY_LOOKS | TABLES | LAWS | {"cooperage.programme.rounds.due"},
    "barrel B-041": {"scipy", "pandas"} | TABLES,
    "signs": {"scipy", "pandas"} | TABLES,
    "blend --help": {"scipy", "pandas"} | TABLES,
    "blend solve --brief demo_cellar/briefs/winter_bottling.toml": {"pandas"} | TABLES,
}
"""What a command must not load. NumPy comes with whatever works out a loss, a replay of gravities or a fit."""


@pytest.mark.slow
@pytest.mark.parametrize("command", LIGHT_COMMANDS)
def test_a_command_loads_only_what_it_needs(command: Any, demo_file: Path, tmp_path: Path) -> None:
    """Everyday commands, run in a fresh interpreter on the demo, leave the heavy packages alone."""
    cellar = shutil.copy(demo_file, tmp_path / "cellar.db")
    words = ["--cellar", str(cellar), *command.replace("copy.db", str(tmp_path / "copy.db")).split()]
    loaded = loaded_by(f"from cooperage.cli import main\nassert not main({words!r}, standalone_mode=False)")
    assert not loaded & LIGHT_COMMANDS[command]


@pytest.mark.slow
@pytest.mark.parametrize("command", ["rounds", "barrels", "today"])
def test_a_second_look_needs_no_arrays(
    command: str, demo_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was learned is kept, and figures follow from it by plain arithmetic."""
    monkeypatch.setenv("COOPERAGE_CACHE", str(tmp_path / "kept"))
    cellar = shutil.copy(demo_file, tmp_path / "cellar.db")
    look = f"from cooperage.cli import main\nmain(['--cellar', {str(cellar)!r}, {command!r}], standalone_mode=False)"
    assert "numpy" in loaded_by(look)
    assert "numpy" not in loaded_by(look)


OTHERS = ("rounds", "racks", "barrel", "blend", "book", "lots", "losses", "tasting")
OTHER_SCREENS = {f"cooperage.tui.{name}.screen" for name in OTHERS}
OPENED = """
from cooperage.book import Book
from cooperage.settings import Settings
from cooperage.tui.app import CooperageApp
async def leave(pilot):
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()
    assert "Walk" in str(pilot.app.screen.query_one("#walk-ahead").render())
    pilot.app.exit()
book = Book.open({path!r})
CooperageApp(book, Settings(hand="Ada")).run(headless=True, auto_pilot=leave)
book.close()
"""


@pytest.mark.slow
def test_the_screen_opens_without_what_other_screens_need(demo_file: Path, tmp_path: Path) -> None:
    """Today of the demo comes up, and each other screen is left until it is first shown, with all it needs."""
    cellar = shutil.copy(demo_file, tmp_path / "cellar.db")
    loaded = loaded_by(OPENED.format(path=str(cellar)))
    assert {"textual", "cooperage.tui.today.screen"} <= loaded
    assert not loaded & ({"scipy", "pandas", "openpyxl", "alembic", "plotext"} | OTHER_SCREENS)


def test_the_screens_modules_are_light() -> None:
    """Neither NumPy nor SciPy nor pandas nor the charts are loaded before a screen is shown that needs them."""
    loaded = loaded_by("import cooperage.tui.app, cooperage.tui.today.screen")
    assert not loaded & ({"numpy", "scipy", "pandas", "openpyxl", "alembic", "plotext"} | OTHER_SCREENS)


def test_the_blend_screen_leaves_solving_to_its_process() -> None:
    """SciPy is loaded in the solver's process alone, and pandas nowhere: a cellar's pool is no table."""
    assert not loaded_by("import cooperage.tui.blend.screen") & {"scipy", "pandas"}
    assert "pandas" not in loaded_by("import cooperage.blending.others, cooperage.blending.rules")


def test_the_list_of_commands_is_light() -> None:
    """`--help` shows every command without importing the room of any."""
    loaded = loaded_by("from cooperage.cli import main\ntry: main(['--help'])\nexcept SystemExit: pass")
    assert not loaded & {"sqlalchemy", "numpy", "json", "rich"}


FACES = ["blending", "book", "exchange", "liquid", "programme", "tasting"]


@pytest.mark.parametrize("face", FACES)
def test_a_package_hands_on_what_it_declares(face: Any) -> None:
    """What a package names for type checkers is what it gives, `dir` and `*` list it, and it hides no module."""
    package = import_module(f"cooperage.{face}")
    declared = {
        alias.name: node.module
        for node in ast.walk(ast.parse((PACKAGE / face / "__init__.py").read_text()))
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith(f"cooperage.{face}.")
        for alias in node.names
    }
    everything: dict[str, object] = {}
    exec(f"from cooperage.{face} import *", everything)
    assert declared.keys() == set(package.__all__) == everything.keys() - {"__builtins__"}
    assert declared.keys() <= set(dir(package))
    for name, module in declared.items():
        assert getattr(package, name) is getattr(import_module(module), name)
    assert not declared.keys() & {path.stem for path in (PACKAGE / face).iterdir()}


def test_a_package_has_no_other_names() -> None:
    """A name that a package does not have is refused as any module refuses it."""
    from cooperage import book

    with pytest.raises(AttributeError, match=r"module 'cooperage\.book' has no attribute 'Bok'"):
        book.Bok  # type: ignore[attr-defined] # noqa: B018 - asking for what is not there is the test


def sources() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def calls(tree: ast.AST) -> set[str]:
    return {
        node.func.attr for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    }


def reads_at_import(tree: ast.Module) -> bool:
    """Return True if a module reads the environment or opens a database outside functions, classes and conditions."""
    later = ast.FunctionDef | ast.ClassDef | ast.AsyncFunctionDef | ast.If
    told = [(node, ast.dump(node)) for node in tree.body if not isinstance(node, later)]
    return any(
        "environ" in dump or ("create_engine" in dump and not isinstance(node, ast.ImportFrom)) for node, dump in told
    )


def test_only_the_engine_commits_and_nothing_is_read_at_import() -> None:
    """`commit` and `rollback` are called in book/store/engine.py alone; no module opens anything when it is imported.

    One test for all modules: each is parsed once.
    """
    trees = {path.relative_to(PACKAGE).as_posix(): ast.parse(path.read_text()) for path in sources()}
    commit = {name for name, tree in trees.items() if calls(tree) & {"commit", "rollback"}}
    assert commit == {"book/store/engine.py"}
    assert [name for name, tree in trees.items() if reads_at_import(tree)] == []


def test_the_top_level_holds_what_was_agreed() -> None:
    """README, DEVELOPERS, pyproject, the four folders, and dot-files."""
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "cooperage", "migrations", "tests", "demo_cellar"}
    assert {name for name in tops if not name.startswith(".")} <= agreed


def commands() -> list[str]:
    from cooperage.cli import main

    return main.list_commands(click.Context(main))


@pytest.mark.parametrize("command", commands())
def test_every_command_has_help(command: Any) -> None:
    """`cooperage COMMAND --help` tells what it does."""
    from cooperage.cli import main

    done = CliRunner().invoke(main, [command, "--help"])
    assert done.exit_code == 0
    assert len(done.output.splitlines()) > 3


def test_the_list_of_commands_has_each_ones_own_line() -> None:
    """What `cooperage --help` says of a command is the first line of its own help."""
    from cooperage.cli import main

    ctx = click.Context(main, terminal_width=1000, max_content_width=1000)
    section = main.get_help(ctx).partition("Commands:")[2].partition("Examples:")[0]
    listed = dict(re.findall(r"^  (\w+) +(\S.*)$", section, re.MULTILINE))
    assert listed.keys() == set(commands())
    for name, line in listed.items():
        command = main.get_command(ctx, name)
        assert command is not None
        assert line == command.get_short_help_str(1000)


def test_the_readme_names_only_commands_that_exist() -> None:
    """Every `cooperage ...` line of the README is a command of the program."""
    named = set()
    for line in re.findall(r"^cooperage (.+)$", (ROOT / "README.md").read_text(), re.MULTILINE):
        words = [word for word in line.split() if not word.startswith("-")]
        named.add(words[1] if line.startswith("--cellar") else words[0])
    assert named <= set(commands())
    assert {"rounds", "barrel", "log", "blend", "trace", "import"} <= named


MOST_IN_A_ROOM = 15


def rooms() -> list[Path]:
    return sorted({path.parent for path in sources()})


@pytest.mark.parametrize("room", rooms(), ids=lambda room: str(room.relative_to(ROOT)))
def test_a_room_can_be_known(room: Path) -> None:
    """No folder holds more than fifteen modules (`liquid` excepted: one subject a file), and each has an `__init__`."""
    modules = [path for path in room.glob("*.py") if path.name != "__init__.py"]
    assert (room / "__init__.py").is_file()
    assert room.name == "liquid" or len(modules) <= MOST_IN_A_ROOM


@pytest.mark.slow
@pytest.mark.parametrize("room", rooms(), ids=lambda room: str(room.relative_to(ROOT)))
def test_a_room_says_what_it_is(room: Path) -> None:
    """The docstring of a room's `__init__` is a sentence of its own, and whatever file it names is there."""
    message = ast.get_docstring(ast.parse((room / "__init__.py").read_text())) or ""
    assert len(message.split()) >= 6
    assert message.endswith(".")
    others = [ast.get_docstring(ast.parse((other / "__init__.py").read_text())) for other in rooms() if other != room]
    assert message not in others
    for start in re.findall(r"Start with `(\w+)`", message):
        assert (room / f"{start}.py").is_file(), start


def test_no_two_public_classes_share_a_name() -> None:
    """Each name means one thing: whoever reads `Limit` need not ask which."""
    found: dict[str, list[str]] = {}
    for path in sources():
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found.setdefault(node.name, []).append(path.relative_to(PACKAGE).as_posix())
    assert not {name: places for name, places in found.items() if len(places) > 1}


NAMED = re.compile(r"(?<![\w./%-])((?:\w+/)*\w+\.(?:py|tcss))\b")


def test_every_file_that_is_named_exists() -> None:
    """A docstring, a comment or a paper that names a module of ours names one that is there."""
    here = {path.relative_to(ROOT).as_posix() for path in ROOT.glob("*/**/*.*")}
    endings = {"/".join(name.split("/")[at:]) for name in here for at in range(name.count("/") + 1)}
    lost = {
        f"{path.relative_to(ROOT)}: {named}"
        for path in texts()
        if path.suffix in {".py", ".md", ".toml"} and "versions" not in path.parts
        for named in NAMED.findall(path.read_text(encoding="utf-8"))
        if named not in endings
    }
    assert not lost


def test_the_modules_that_developers_md_names_exist() -> None:
    """A map that names a file which is not there is worse than none."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    for name in set(re.findall(r"`((?:cooperage|tests)/[\w/]+\.(?:py|tcss))`", text)):
        assert (ROOT / name).is_file(), name


UNPUBLISHED = re.compile(
    "|".join(
        (
            r"trade('s|s)? [r]eference",
            r"given in the [b]rief",
            r"\bthe [d]esign\b",
            r"\b[L]ecture",
            r"\b[t]ranscript",
            r"\bthe [f]indings\b",
            r"seed [d]ocument",
        )
    ),
    re.IGNORECASE,
)


def texts() -> list[Path]:
    """Every file of the project that a person can read."""
    folders = ("cooperage", "demo_cellar", "migrations", "tests")
    found = [path for folder in folders for path in (ROOT / folder).rglob("*") if path.is_file()]
    readable = {".py", ".md", ".csv", ".json", ".toml", ".txt", ".tcss", ".mako"}
    return [*(path for path in found if path.suffix in readable), *ROOT.glob("*.md"), ROOT / "pyproject.toml"]


@pytest.mark.slow
def test_no_figure_is_cited_from_what_nobody_can_look_up() -> None:
    """A published source, "from memory" or "common practice, no source" stands behind a figure, and nothing else."""
    citing = {}
    for path in texts():
        in_one_line = " ".join(path.read_text(encoding="utf-8").replace("#", " ").split())
        if found := UNPUBLISHED.search(in_one_line):
            citing[str(path.relative_to(ROOT))] = in_one_line[max(0, found.start() - 40) : found.end() + 20]
    assert not citing
