"""Whatever stands in the book or is typed: no command prints a character that a terminal would obey."""

import json
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from cooperage.cli import main
from cooperage.plaintext import visible

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.poisoned import MARKED, POISON, poisoned_cellar

BARREL = f"B-1{POISON}"
TANK, KEG, EMPTY = f"T-1{POISON}", f"K-1{POISON}", f"B-3{POISON}"
PASSED = ("--pass=living yeast=sterile filtered", "--pass=strength=measured")
BRIEF = "litres = 100\n[limits]\nabv = { min = 10, max = 14 }\n"
ASKED: dict[str, list[list[str]]] = {
    "add lot": [["NEW", f"--name={POISON}"], ["NEW"]],
    "lot honey": [["H-1", "9kg", f"--producer={POISON}", f"--flowers={POISON}"], ["H-1", "9kg"]],
    "lot honeys": [[]],
    "lot batch": [[f"HE{POISON}", "--water=9 L", f"--yeast={POISON}"], [f"HE{POISON}", "--water=9 L"]],
    "lot show": [[f"HE{POISON}"], [POISON]],
    "lot curve": [[f"HE{POISON}"], [POISON]],
    "lots": [[]],
    "add vessel": [
        ["N-1", "--capacity=225 L", f"--note={POISON}"],
        [BARREL, "--capacity=225 L"],
        ["N-1", "--capacity=225 L"],
    ],
    "backup": [["{new}/b.db"]],
    "barrel": [[BARREL], [EMPTY], [POISON]],
    "barrels": [[], ["--retired"]],
    "blend pour": [["--brief={brief}", f"--into={TANK}"]],
    "blend scale": [[f"{BARREL}=50", "--litres=20"]],
    "blend solve": [["--brief={brief}"], ["--brief={brief}", "--rules", "--others=2"]],
    "blend trial": [["--brief={brief}"], ["--brief={brief}", "--flight"], ["--brief={brief}", f"--control={POISON}"]],
    "cellar": [[], ["name"], ["name", POISON]],
    "check": [[]],
    "climate": [[], ["{text}", f"--room=Low{POISON}"]],
    "copy": [["--to={new}/c.db"]],
    "count": [["{text}"]],
    "export": [["{new}/out"], ["{new}"]],
    "forecast": [[], [BARREL]],
    "import": [["{text}"], ["{new}"]],
    "lab": [["{text}", "--leave-unread"]],
    "label": [[BARREL], [f"NIGHT{POISON}"], [f"HE{POISON}"]],
    "log addition": [[BARREL, "honey", "1 kg", f"--note={POISON}"], [TANK, "honey", "1 kg", "--sure"]],
    "log blend": [[TANK, f"{BARREL}=10 L"]],
    "log bottle": [[TANK, f"NIGHT{POISON}", "10"], [TANK, "DAY", "10"]],
    "log pourback": [[f"NIGHT{POISON}", "1", TANK], ["DAY", "1", TANK]],
    "log remove": [[f"NIGHT{POISON}", "1", "sold", f"--to={POISON}"], ["DAY", "2", "sold"]],
    "log stocktake": [[f"NIGHT{POISON}", "1", f"--in={POISON}"], ["DAY", "5", "--sure"]],
    "log stow": [[f"NIGHT{POISON}", "1", POISON], ["DAY", "1", "Loft"]],
    "log takeback": [[f"NIGHT{POISON}", "1", f"--whose={POISON}"], ["DAY", "1"]],
    "log climate": [[f"Low{POISON}", "14", "70"], ["Low", "14", "70"]],
    "log fill": [[EMPTY, f"--from={TANK}", "--sure"]],
    "log gauge": [[TANK, "100 L"], [TANK, "100 L", "--cause=spilled", "--sure"]],
    "log judge": [[BARREL, "keep", f"--tasting={POISON}"], [BARREL, "keep"]],
    "log look": [[BARREL, "--smell=vinegar"]],
    "log rack": [[TANK, f"--to={KEG}", "1 L", "--sure"], [TANK, f"--to={KEG}"]],
    "log reading": [[BARREL, "abv", "13", f"--how={POISON}"], [BARREL, "abv", "13"]],
    "log receive": [[f"HE{POISON}", TANK, "10 L"]],
    "log retire": [[EMPTY, "--reason=old"], [BARREL, "--reason=old"]],
    "log sample": [[BARREL, "50 ml"]],
    "log lotcost": [[f"HE{POISON}", "7.20"], [POISON, "7.20"]],
    "log lotend": [[f"HE{POISON}"], [POISON]],
    "log shift": [[BARREL, f"--room=Low{POISON}"], [BARREL, "--room=Low"], [TANK, "--room=Low"]],
    "log strike": [["last", "--sure"], [POISON]],
    "log top": [[BARREL, "1", f"--from={KEG}", "--sure"]],
    "log treat": [[BARREL, "taste"]],
    "losses": [[], ["--by=lot"]],
    "report": [[name] for name in ("barrels", "book", "lots", "losses", "bottlings", "rounds")],
    "angels": [[], ["--per=room"], ["--per=wood"], ["--per=barrel"]],
    "cost": [[BARREL], [f"NIGHT{POISON}"], [f"HE{POISON}"], [POISON]],
    "prices list": [[]],
    "prices set": [["honey", "6.40", f"--hand={POISON}"], [POISON, "1"], ["honey", POISON], ["honey", "6"]],
    "value": [[], ["--per=vessel"], ["--per=lot"], ["--per=bottling"]],
    "period close": [["last month", f"--note={POISON}", "--sure"], ["last month", "--sure"], [POISON]],
    "period count": [["last month", "{text}", "--leave-unread"]],
    "period differences": [[], [POISON]],
    "period list": [[]],
    "period show": [[], ["last month"], [POISON]],
    "restore": [["{text}"]],
    "retire": [[], [EMPTY, "--reason=old"]],
    "order addition": [[BARREL, "honey", f"--note={POISON}"], [BARREL, "honey", "1 kg"]],
    "order blend": [[TANK, f"{BARREL}=10 L"]],
    "order pourback": [[f"NIGHT{POISON}", "1", TANK]],
    "order bottle": [[TANK, f"NIGHT{POISON}", "10"], [TANK, "DAY"]],
    "order fill": [[EMPTY, f"--from={TANK}"]],
    "order gauge": [[TANK], [TANK, "100 L"]],
    "order judge": [[BARREL, "keep", f"--hand={POISON}"], [BARREL, "keep"]],
    "order look": [[BARREL, "--smell=vinegar"], [BARREL, f"--hand={POISON}"]],
    "order rack": [[TANK, f"--to={KEG}", "1 L"], [BARREL, f"--to={POISON}"]],
    "order reading": [[BARREL, "abv"], [f"{BARREL},{TANK}", "abv", "13"]],
    "order receive": [[f"HE{POISON}", TANK, "10 L"]],
    "order retire": [[EMPTY, "--reason=old"], [EMPTY, f"--reason={POISON}"]],
    "order sample": [[BARREL, "50 ml"], [BARREL, f"--for={POISON}"]],
    "order shift": [[BARREL, f"--room=Low{POISON}"], [BARREL, "--room=Low"]],
    "order top": [[BARREL, f"--from={KEG}"]],
    "order treat": [[BARREL, "taste"]],
    "orders do": [["1"], [POISON]],
    "orders move": [["1", "--before=2"]],
    "orders print": [[], [f"--for={POISON}"]],
    "orders withdraw": [["1", f"--why={POISON}"]],
    "rounds": [[]],
    "sheet": [["{text}", "--when=today"]],
    "find": [["0"]],
    "guide": [[], ["a-walk"]],
    "signs": [[]],
    "today": [[]],
    "sulphite": [[]],
    "bottling risks": [[TANK], [TANK, f"--sizes={POISON}"]],
    "bottling open": [
        ["NEW", BARREL, *PASSED],
        [f"RUN{POISON}", TANK, *PASSED],
        ["NEW-2", BARREL, "--pass=strength=measured", f"--hand={POISON}"],
        [POISON, POISON],
    ],
    "bottling filled": [["RUN", "12"], ["RUN", POISON], [POISON, "12"]],
    "bottling reject": [["RUN", "1"], ["RUN", "1", f"--size={POISON}"]],
    "bottling sample": [["RUN", "100ml"], ["RUN", POISON]],
    "bottling loss": [["RUN", "100ml"], ["RUN", POISON]],
    "bottling closure": [["RUN", "cork 12"], ["RUN", POISON]],
    "bottling stop": [["RUN", "jam"], ["RUN", POISON]],
    "bottling note": [["RUN", "clear"], ["RUN", POISON]],
    "bottling check": [["RUN", "750", "749", "--by-volume"], ["RUN", POISON], ["RUN", "1200", f"--tare={POISON}"]],
    "bottling strike": [["RUN", "1"], ["RUN", "2", f"--why={POISON}"]],
    "bottling show": [[], ["RUN"], [POISON]],
    "bottling list": [[]],
    "bottling close": [["RUN", f"--rest={POISON}"], [POISON], ["RUN", f"--store={POISON}"], ["RUN", "--line-loss=1l"]],
    "rules list": [[], [POISON]],
    "rules set": [
        ["fill-each.750ml", "2", "--source=a"],
        ["fill-each.500ml", "2", f"--source={POISON}"],
        ["fill-each.500ml", POISON, "--source=a"],
    ],
    "rules show": [["fill-each.500ml"], [POISON]],
    "rules use": [["US"], ["EU", f"--hand={POISON}"], [POISON]],
    "rules withdraw": [["fill-each.750ml"], ["fill-each.500ml", f"--why={POISON}"], [POISON]],
    "ready define": [[f"overall at least 14 of {POISON}"], ["oak at most 6", f"--lot={POISON}"], ["oak at most 6"]],
    "ready definitions": [[]],
    "ready withdraw": [[f"--lot={POISON}"]],
    "taste carry-over": [[f"F-1{POISON}"], [POISON]],
    "taste difference": [["triangle", "9", "--of=15"], [POISON, "9", "--of=15"]],
    "taste flights": [[]],
    "taste judge": [[f"F-1{POISON}", f"{BARREL}=keep"], [f"F-2{POISON}", f"{BARREL}=keep"]],
    "taste leave": [[f"F-2{POISON}", POISON]],
    "taste peek": [[f"F-2{POISON}"], [f"F-2{POISON}", f"--hand={POISON}"]],
    "taste results": [[f"F-1{POISON}"], [f"F-2{POISON}"]],
    "taste reveal": [[f"F-2{POISON}"]],
    "taste score": [[f"F-2{POISON}", "000", "Eve", "12"]],
    "taste sheet": [[f"F-2{POISON}", f"--taster={POISON}"], [f"F-2{POISON}"], [f"F-2{POISON}", "--csv"]],
    "taste start": [[BARREL, TANK]],
    "taste tasters": [[], [POISON]],
    "taste words add": [["word", POISON], ["word", "sea air", f"--family={POISON}"], ["word", "sea air"]],
    "taste words list": [[], ["--retired"]],
    "taste words rename": [["word", "hay", POISON], ["word", "hay", "straw"]],
    "taste words retire": [["word", "dill"], ["word", POISON]],
    "bottles": [[], [f"NIGHT{POISON}"], [POISON]],
    "trace": [[f"NIGHT{POISON}"], [f"HE{POISON}"], [BARREL]],
    "trial barrels flight": [[POISON]],
    "trial barrels list": [[]],
    "trial barrels plan": [
        [POISON, f"--barrels={BARREL},{EMPTY}", f"--treatment={POISON}", "--treatment=b"],
        ["is it fresher?", f"--barrels={BARREL}", f"--compare={POISON}"],
    ],
    "trial barrels results": [[POISON]],
    "trial barrels show": [[POISON]],
    "trial barrels withdraw": [[POISON, f"--why={POISON}"]],
    "trial hand-over": [[f"TR-1{POISON}"]],
    "trial list": [[]],
    "trial plan": [[BARREL, POISON], [BARREL, TANK, f"--question={POISON}"], [BARREL, TANK]],
    "trial pour": [[f"TR-1{POISON}"]],
    "trial results": [[f"TR-1{POISON}"], [POISON]],
    "trial sheet": [[f"TR-1{POISON}"]],
    "trial withdraw": [[f"TR-1{POISON}", f"--why={POISON}"], [f"TR-1{POISON}", "--why=old"]],
    "wood": [[], [BARREL], [EMPTY], ["--need"], ["--assign"], ["--assign", f"HE{POISON}=225 L"]],
    "upkeep": [[BARREL], ["--room=Low" + POISON], [BARREL, f"--from={KEG}"]],
}
REFUSED = {"check", "climate", "count", "import", "lab", "log blend", "log climate", "restore", "sheet", "taste score"}
REFUSED |= {"taste carry-over", "taste judge", "order blend", "orders do", "orders move", "orders withdraw"}
REFUSED |= {f"trial barrels {name}" for name in ("flight", "plan", "results", "show", "withdraw")}
# The code of the only bottling there, and that of its lot, hold what can be typed no more.
REFUSED |= {"lot batch"} | {f"log {kind}" for kind in ("pourback", "remove", "stocktake", "stow", "takeback")}
REFUSED |= {"ready withdraw", "rules withdraw", "taste leave", "trial hand-over", "trial pour", "trial results"}
"""Commands that can only refuse what they are given here: poison, old tags with a ; in them, no order, no score."""
NOT_HERE = {"demo": "builds its own cellar", "serve": "serves until it is stopped"}
NOT_HERE |= {"completion": "knows no cellar", "help": "knows no cellar"}


def leaves(command: Any = main, path: Any = "") -> Iterator[Any]:
    if not isinstance(command, click.Group):
        yield path, command
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        yield from leaves(command.get_command(context, name), f"{path} {name}".strip())


COMMANDS = {path: command for path, command in leaves() if path not in NOT_HERE}


@pytest.fixture(scope="session")
def poisoned(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The poisoned cellar, made once; tests copy the file."""
    return poisoned_cellar(tmp_path_factory.mktemp("poisoned") / "cellar.db")


@pytest.fixture
def run(poisoned: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.chdir(tmp_path)  # a path of poison is a path too
    monkeypatch.setenv("COOPERAGE_CONFIG", str(tmp_path / "settings.toml"))
    (tmp_path / "settings.toml").touch()
    (tmp_path / "brief.toml").write_text(BRIEF)
    (tmp_path / "a file.csv").write_text(f"tag,words\n{BARREL},{POISON}\n{POISON}\n", encoding="utf-8")
    names = {"brief": tmp_path / "brief.toml", "text": tmp_path / "a file.csv"}
    count = iter(range(1000))

    def ran(words: Any) -> Any:
        """Run on a copy of the cellar; return the exit status and all that was printed, after looking at it."""
        new = tmp_path / str(next(count))
        new.mkdir()
        shutil.copy(poisoned, new / "cellar.db")
        filled = [word.format(**names, new=new) if "{" in word and "}" in word else word for word in words]
        done = CliRunner().invoke(main, ["--cellar", str(new / "cellar.db"), *filled])
        assert visible(done.output, lines=True) == done.output, words
        assert done.exit_code in (0, 1, 2), (words, done.output)
        return done.exit_code, done.stdout

    return ran


def test_every_command_has_its_words_here() -> None:
    """A new command is tried too: give it arguments above."""
    assert set(COMMANDS) - {path for path in COMMANDS if path.startswith("calc ")} == set(ASKED)


@pytest.mark.slow
def test_no_command_prints_what_a_terminal_obeys(run: Any) -> None:
    """Every command on a cellar full of it, with and without --json; JSON stays JSON; most of them do answer."""
    answered = set()
    for path, many in ASKED.items():
        takes_json = any("--json" in option.opts for option in COMMANDS[path].params)
        for words in many:
            for json_too in [[], ["--json"]] if takes_json else [[]]:
                status, message = run([*path.split(), *json_too, *words])
                if status == 0:
                    answered.add(path)
                if status == 0 and json_too:
                    json.loads(message)
    assert set(ASKED) - answered <= REFUSED, "they answered nothing, so nothing was looked at"


@pytest.mark.slow
def test_no_command_echoes_what_was_typed(run: Any) -> None:
    """Every argument and option of every command, given all of it: the refusal spells it out."""
    for path, command in COMMANDS.items():
        wanted = [POISON for option in command.params if isinstance(option, click.Argument)]
        needed = [
            f"{option.opts[0]}={POISON}" for option in command.params if option.required and option.opts[0][0] == "-"
        ]
        run([*path.split(), *needed, "--", *wanted])
        for option in command.params:
            if isinstance(option, click.Option) and not option.is_flag:
                run([*path.split(), *needed, f"{option.opts[0]}={POISON}", "--", *wanted])
        run([*path.split(), f"--{POISON}"])
    run([POISON])


def test_old_texts_are_spelt_out_in_tables_json_and_errors(run: Any) -> None:
    """The tag of a barrel: in the table as marks, in JSON as itself, in the refusal of a slip as marks, in one line."""
    assert f"B-1{MARKED}" in run(["barrels"])[1]
    assert any(row["tag"] == BARREL for row in json.loads(run(["barrels", "--json"])[1]))
    done = CliRunner().invoke(main, ["--cellar", "none.db", "barrel", f"{POISON}\n"])
    assert done.output.count("\n") == 1
