"""Every declared danger is shown in every door before anything is written; a new one cannot be declared without.

A door is somewhere work is announced or written. For each there stands, danger by danger, how it comes up there, or why
it cannot. Both tables must be complete, and every command must be a door or be named as none.
"""

import json
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from importlib import import_module
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.book import KINDS, Barrel, Book, Lot, Upkeep, Vessel
from cooperage.book.dangers.dangers import (
    COMMON_PRACTICE,
    DANGERS,
    SHEET_FIRST,
    Caution,
    by_danger,
    cautions,
    residue_words,
    short_lines,
)
from cooperage.book.dangers.work import Work, before_vessel, work_of, work_of_draft
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from cooperage.cli import main
from cooperage.settings import Settings

NOW = datetime.now(UTC)
LONG_AGO = NOW - timedelta(days=90)
WINE, SPIRIT = Barrel(past_kind="wine", past_life="wine", fills_before=2), Barrel(past_kind="spirit", past_life="rum")
VESSELS = (
    Vessel("", "FULL", "barrel", 225_000, position=("Low", "A", 1, 1), barrel=WINE),
    Vessel("", "PART", "barrel", 225_000, position=("Low", "A", 2, 1), barrel=WINE),
    Vessel("", "LAST", "barrel", 225_000, position=("Low", "A", 3, 1), barrel=SPIRIT),
    Vessel("", "WORKS", "barrel", 225_000, position=("Low", "A", 4, 1), barrel=WINE),
    Vessel("", "THIRST", "barrel", 225_000, position=("Low", "A", 5, 1), barrel=WINE, upkeep=Upkeep(top_from="K-96")),
    Vessel("", "RUM", "barrel", 200_000, position=("Low", "B", 1, 1), barrel=SPIRIT),
    Vessel("", "WHO", "barrel", 200_000, position=("Low", "B", 2, 1), barrel=Barrel()),
    Vessel("", "SULPH", "barrel", 225_000, position=("Low", "B", 3, 1), barrel=WINE),
    Vessel("", "LYE", "barrel", 225_000, position=("Low", "B", 4, 1), barrel=WINE),
    Vessel("", "DRY", "barrel", 225_000, position=("Low", "B", 5, 1), barrel=WINE),
    Vessel("", "T-1", "tank", 3_000_000),
    Vessel("", "T-2", "tank", 3_000_000),
    Vessel("", "T-LYE", "tank", 3_000_000),
    Vessel("", "K-1", "keg", 50_000),
    Vessel("", "K-96", "keg", 50_000),
)


def build(book: Book) -> None:
    """Write a cellar in which every danger lies somewhere."""
    at = LONG_AGO
    with book.writing() as w:
        for vessel in VESSELS:
            w.add_vessel(vessel)
        w.add_lot(Lot("", "SWEET", "sweet heather", abv=12.0, final_sg=1.03))
        w.add_lot(Lot("", "SPIRIT", "honey spirit", abv=60.0, final_sg=0.91))
        w.write(acts.Receive(lot="SWEET", vessel="T-1", volume=2_500_000, at=at))
        w.write(acts.Receive(lot="SPIRIT", vessel="K-96", volume=45_000, at=at))
        w.write(acts.Rack(vessel="T-1", destination="K-1", volume=45_000, at=at))
        for tag in ("FULL", "LAST", "WORKS", "THIRST"):
            w.write(acts.Fill(vessel=tag, source="T-1", volume=225_000, at=at))
        w.write(acts.Fill(vessel="PART", source="T-1", volume=100_000, at=at))
        for tag in ("RUM", "SULPH"):
            w.write(acts.Fill(vessel=tag, source="T-1", volume=100_000, at=at))
            w.write(acts.Rack(vessel=tag, destination="T-1", at=at))
        for tag, treatment in (("RUM", "rinse"), ("SULPH", "so2 gas"), ("LYE", "caustic"), ("T-LYE", "caustic")):
            w.write(acts.Treat(vessel=tag, treatment=treatment, at=at, sure=True))
        for name, value in (("free_so2_mg_l", 2.0), ("ph", 3.6)):
            w.write(acts.Reading(vessel="FULL", property=name, value=value, at=at, sure=True))
        for week, sg in enumerate((1.030, 1.026, 1.021, 1.015, 1.008)):
            w.write(acts.Reading(vessel="WORKS", property="sg", value=sg, at=at + timedelta(weeks=2 * week), sure=True))
            for tag in ("FULL", "LAST", "THIRST"):
                w.write(
                    acts.Reading(vessel=tag, property="sg", value=1.03, at=at + timedelta(weeks=2 * week), sure=True)
                )


@pytest.fixture(scope="module")
def dangerous(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The cellar, written once; tests that write copy the file."""
    path = tmp_path_factory.mktemp("dangers") / "cellar.db"
    book = Book.create(str(path))
    build(book)
    book.close()
    return path


@pytest.fixture
def cellar(dangerous: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(dangerous, tmp_path / "cellar.db"))


def run(cellar: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["--cellar", str(cellar), *words])


# --- what brings each danger up -------------------------------------------------------------------------------------

ACTS: dict[str, tuple[str, dict[str, str]]] = {
    "flame near spirit": ("treat", {"vessel": "WHO", "treatment": "sniff"}),
    "strong spirit": ("addition", {"vessel": "T-1", "substance": "spirit", "amount": "1 L"}),
    "inside a tank": ("treat", {"vessel": "T-2", "treatment": "inspect"}),
    "sulphured barrel": ("treat", {"vessel": "SULPH", "treatment": "sniff"}),
    "sulphur dioxide": ("addition", {"vessel": "FULL", "substance": "metabisulphite", "amount": "5 g"}),
    "inert gas": ("treat", {"vessel": "PART", "treatment": "gas cover"}),
    "hot water and steam": ("treat", {"vessel": "DRY", "treatment": "steam"}),
    "caustic": ("treat", {"vessel": "DRY", "treatment": "caustic"}),
    "peracetic acid": ("treat", {"vessel": "DRY", "treatment": "peracetic acid"}),
    "ozone": ("treat", {"vessel": "DRY", "treatment": "ozone"}),
    "not rinsed": ("fill", {"vessel": "LYE", "from": "T-1", "volume": "100 L"}),
    "glass under pressure": ("bottle", {"vessel": "T-1", "code": "B-1", "bottles": "20"}),
    "keg under gas": ("top", {"vessel": "PART", "from": "K-1", "volume": "1 L", "not-full": "yes"}),
    "lifting": ("shift", {"vessel": "FULL", "room": "Loft"}),
}

STANDS_BEFORE = {
    "flame near spirit": "WHO",
    "strong spirit": "K-96",
    "inside a tank": "T-2",
    "sulphured barrel": "SULPH",
    "not rinsed": "LYE",
    "keg under gas": "K-1",
}
"""Dangers that lie in a vessel itself, and where."""

STOPS = {
    "flame near spirit": ("WHO", "sniff"),
    "strong spirit": ("THIRST", "top"),
    "sulphured barrel": ("SULPH", "sniff"),
    "not rinsed": ("LYE", "sniff"),
    "keg under gas": ("FULL", "top"),
}
"""Dangers that a stop of the rounds leads to."""

SIGNS = {
    "flame near spirit": ("RUM", "empty"),
    "sulphured barrel": ("SULPH", "empty"),
    "sulphur dioxide": ("FULL", "sulphite"),
    "inert gas": ("PART", "partial"),
    "glass under pressure": ("WORKS", "gravity"),
}
"""Dangers that the advice of a sign leads to."""

PLANS = {  # draws, doses, the vessel they go into
    "flame near spirit": ({"LAST": 225.0}, (), "T-2"),
    "strong spirit": ({"FULL": 50.0}, ("spirit",), "T-2"),
    "sulphured barrel": ({"FULL": 50.0}, (), "SULPH"),
    "sulphur dioxide": ({"LAST": 225.0}, (), "T-2"),
    "inert gas": ({"FULL": 50.0}, (), "T-2"),
    "not rinsed": ({"FULL": 50.0}, (), "T-LYE"),
    "glass under pressure": ({"FULL": 50.0}, ("honey",), "T-2"),
    "keg under gas": ({"K-1": 10.0}, (), "T-2"),
}
"""Dangers that come with a blend, in what is poured or in what it leaves behind."""

IN_THE_VESSEL_POURED_INTO = ("sulphured barrel", "not rinsed")

CALCULATED = {
    "strong spirit": ("mix", "--stream", "225l", "13.5", "60", "--stream", "10l", "96", "0"),
    "sulphur dioxide": ("dose", "225l", "--rise", "10"),
    "glass under pressure": ("honey", "--moisture", "18%", "--into", "225l", "13", "5", "--to-sugar", "40"),
}

RETIRED = {"flame near spirit": "RUM", "lifting": "RUM"}


class Why(str):
    """Why a danger cannot come up in a door."""

    __slots__ = ()


NO_SUCH_STOP = Why("no task of the rounds asks for such work")
NO_SUCH_SIGN = Why("no sign advises such work")
NOT_IN_A_BLEND = Why("no blend does that")
NOT_IN_A_FORMULA = Why("nothing that is calculated needs it")
NOT_IN_THE_VESSEL = Why("it comes with the work, not with the vessel")


def only(table: dict[str, Any], otherwise: str) -> dict[str, object]:
    """Complete a door's table: every danger has its scenario, or the reason why it has none."""
    assert set(table) <= set(DANGERS)
    return {name: table.get(name, otherwise) for name in DANGERS}


# --- the doors: each runs a scenario and returns what is shown before anything is written ---------------------------


def _words(kind: str, texts: dict[str, str]) -> list[str]:
    from cooperage.book.declared.acts import faces

    words: list[str] = []
    for _, face in faces(KINDS[kind]):
        if face.name in texts and face.argument:
            words.append(texts[face.name])
    for _, face in faces(KINDS[kind]):
        if face.name in texts and not face.argument:
            words += [f"--{face.name}"] if texts[face.name] == "yes" else [f"--{face.name}", texts[face.name]]
    return words


def by_log(cellar: Path, scenario: tuple[str, dict[str, str]]) -> str:
    done = run(cellar, "log", scenario[0], *_words(*scenario), "--sure")
    assert done.exit_code == 0, done.output
    before, written, _ = done.output.partition("written:")
    assert written
    assert "caution: " in done.stderr
    return before


def by_log_json(cellar: Path, scenario: tuple[str, dict[str, str]]) -> str:
    done = run(cellar, "log", scenario[0], *_words(*scenario), "--sure", "--json")
    assert done.exit_code == 0, done.output
    return cautions_text(json.loads(done.stdout)["cautions"])


def cautions_text(found: list[dict[str, str]]) -> str:
    assert all(set(each) == {"danger", "seen", "line", "text", "source"} for each in found)
    return "\n".join(each["text"] for each in found)


def by_page(cellar: Path, tag: str) -> str:
    done = run(cellar, "barrel", tag)
    return done.stdout


def by_page_json(cellar: Path, tag: str) -> str:
    return cautions_text(json.loads(run(cellar, "barrel", tag, "--json").stdout)["cautions"])


def by_label(cellar: Path, tag: str) -> str:
    lines = json.loads(run(cellar, "label", tag, "--json").stdout)["lines"]
    return "\n".join(lines)


def by_retire(cellar: Path, tag: str) -> str:
    shown = run(cellar, "retire").stdout
    assert tag in shown
    result_too = [each for each in json.loads(run(cellar, "retire", "--json").stdout) if each["barrel"] == tag]
    return shown if cautions_text(result_too[0]["cautions"]) else ""


LATER = (NOW + timedelta(days=120)).date().isoformat()


def by_rounds(cellar: Path, stop: tuple[str, str]) -> str:
    return run(cellar, "rounds", "--on", LATER).stdout


def by_rounds_json(cellar: Path, stop: tuple[str, str]) -> str:
    rows = json.loads(run(cellar, "rounds", "--on", LATER, "--json").stdout)
    (row,) = [row for row in rows if (row["barrel"], row["task"]) == stop]
    return cautions_text(row["cautions"])


def by_printed_sheet(cellar: Path, stop: tuple[str, str]) -> str:
    from cooperage.exchange.reports.reports import as_text, rounds_report
    from cooperage.units import DEFAULT, Span

    book = Book.open(str(cellar))
    shown = as_text(rounds_report(book, Span(None, NOW + timedelta(days=120))), DEFAULT)
    book.close()
    stops, heading, foot = shown.partition("CAUTIONS\n")
    assert heading
    assert any(line.split()[4:6] == list(stop) and "! " in line for line in stops.splitlines())
    return " ".join(foot.split())


def by_signs(cellar: Path, sign: tuple[str, str]) -> str:
    return run(cellar, "signs").stdout


def by_signs_json(cellar: Path, sign: tuple[str, str]) -> str:
    found = json.loads(run(cellar, "signs", "--json").stdout)
    return cautions_text(
        [caution for each in found if (each["vessel"], each["kind"]) == sign for caution in each["cautions"]]
    )


def by_calc(cellar: Path, words: tuple[str, ...]) -> str:
    done = run(cellar, "calc", *words)
    assert done.exit_code == 0, done.output
    assert cautions_text(json.loads(run(cellar, "calc", *words, "--json").stdout)["cautions"]) in done.stderr.replace(
        "caution: ", ""
    )
    return done.stderr


def by_sulphite(cellar: Path, words: tuple[str, ...]) -> str:
    assert cautions_text(json.loads(run(cellar, "sulphite", "--json").stdout)["cautions"])
    return run(cellar, "sulphite").stdout


def planned(plan: tuple[dict[str, float], tuple[str, ...], str], cellar: Path) -> tuple[Answer, dict[str, Any]]:
    """Return an answer with these draws, and the brief it answers."""
    draws, doses, _ = plan
    book = Book.open(str(cellar))
    held = {tag: book.cellar()[tag].litres for tag in draws}
    book.close()
    parts = [Draw(tag, litres, held[tag] - litres) for tag, litres in draws.items()]
    parts += [Draw(name, 1.0, None) for name in doses]
    brief: dict[str, Any] = {"litres": sum(part.litres for part in parts), "dosing": {name: {} for name in doses}}
    return Answer("optimal", draws=tuple(parts), blend={"litres": brief["litres"]}), brief


class Solved:
    """Lets the blend commands find a plan that was made beforehand."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, cellar: Path, plan: Any) -> None:
        answer, brief = planned(plan, cellar)
        self.words = ("--brief", str(cellar.with_name("brief.toml")))
        cellar.with_name("brief.toml").write_text("")
        monkeypatch.setattr("cooperage.cli.blend.given.load_briefs", lambda paths: {"brief": brief})
        monkeypatch.setattr(import_module("cooperage.blending.solving"), "solve", lambda *given: answer)


def by_pour(cellar: Path, plan: Any, monkeypatch: pytest.MonkeyPatch) -> str:
    done = run(cellar, "blend", "pour", *Solved(monkeypatch, cellar, plan).words, "--into", plan[2], "--sure")
    assert done.exit_code == 0, done.output
    return done.output.partition("status:")[0]


def by_pour_json(cellar: Path, plan: Any, monkeypatch: pytest.MonkeyPatch) -> str:
    words = Solved(monkeypatch, cellar, plan).words
    done = run(cellar, "blend", "pour", *words, "--into", plan[2], "--sure", "--json")
    return cautions_text(json.loads(done.stdout)["cautions"])


def by_solve(cellar: Path, plan: Any, monkeypatch: pytest.MonkeyPatch) -> str:
    words = Solved(monkeypatch, cellar, plan).words
    as_json = cautions_text(json.loads(run(cellar, "blend", "solve", *words, "--json").stdout)["cautions"])
    shown = run(cellar, "blend", "solve", *words).stdout
    assert as_json.splitlines()[0] in shown
    return shown


DOORS: dict[str, tuple[Callable[..., str], dict[str, object]]] = {
    "log": (by_log, dict(ACTS)),
    "log --json": (by_log_json, dict(ACTS)),
    "barrel": (by_page, only(STANDS_BEFORE, NOT_IN_THE_VESSEL)),
    "barrel --json": (by_page_json, only(STANDS_BEFORE, NOT_IN_THE_VESSEL)),
    "label": (by_label, only(STANDS_BEFORE, NOT_IN_THE_VESSEL)),
    "retire, the advice": (
        by_retire,
        only(RETIRED, Why("no barrel is retired for it")),
    ),
    "rounds": (by_rounds, only(STOPS, NO_SUCH_STOP)),
    "rounds --json": (by_rounds_json, only(STOPS, NO_SUCH_STOP)),
    "report rounds": (by_printed_sheet, only(STOPS, NO_SUCH_STOP)),
    "signs": (by_signs, only(SIGNS, NO_SUCH_SIGN)),
    "signs --json": (by_signs_json, only(SIGNS, NO_SUCH_SIGN)),
    "calc": (by_calc, only(CALCULATED, NOT_IN_A_FORMULA)),
    "sulphite": (by_sulphite, only({"sulphur dioxide": ()}, Why("it doses sulphite and nothing else"))),
    "blend pour": (by_pour, only(PLANS, NOT_IN_A_BLEND)),
    "blend pour --json": (by_pour_json, only(PLANS, NOT_IN_A_BLEND)),
    "blend solve": (
        by_solve,
        only({k: v for k, v in PLANS.items() if k not in IN_THE_VESSEL_POURED_INTO}, Why("no vessel is named yet")),
    ),
}

NO_DOOR = {
    "add": "registers, does nothing to the vessel",
    "backup": "files",
    "barrels": "a list; the page of each has its cautions",
    "cellar": "facts",
    "check": "reads",
    "completion": "knows no cellar",
    "help": "knows no cellar",
    "climate": "reads and notes the air",
    "copy": "files",
    "count": "writes what was found afterwards",
    "demo": "opens the screen",
    "export": "files",
    "forecast": "reads",
    "import": "writes what was done long ago",
    "lab": "writes what was read elsewhere",
    "losses": "reads",
    "restore": "files",
    "serve": "opens the screen",
    "sheet": "writes what was done on a walk, whose printed sheet had the cautions",
    "taste": "pours what was pulled already",
    "trace": "reads",
    "upkeep": "intervals and limits",
}


def test_every_command_is_a_door_or_named_as_none() -> None:
    """A new command is one or the other, and somebody has thought about it."""
    doors = {door.split()[0].rstrip(",") for door in DOORS}
    assert doors | set(NO_DOOR) == set(main.list_commands(click.Context(main)))
    assert not doors & set(NO_DOOR)


@pytest.mark.parametrize("door", DOORS)
def test_every_door_knows_of_every_danger(door: Any) -> None:
    """Either how it comes up there, or why it cannot."""
    assert set(DOORS[door][1]) == set(DANGERS)


WALKED = [(door, name) for door, (_, table) in DOORS.items() for name in table if not isinstance(table[name], Why)]


@pytest.mark.slow
@pytest.mark.parametrize(("door", "name"), WALKED)
def test_a_danger_is_shown_in_a_door(request: pytest.FixtureRequest, door: Any, name: Any) -> None:
    """What to do stands there in so many words, and it comes before what is written."""
    show, table = DOORS[door]
    fixture = "cellar" if door.startswith(("log", "blend")) else "dangerous"
    given = [request.getfixturevalue("monkeypatch")] if door.startswith("blend") else []
    shown = show(request.getfixturevalue(fixture), table[name], *given)
    assert DANGERS[name].short[1:] in " ".join(shown.split())


@pytest.mark.parametrize("danger", DANGERS.values(), ids=list(DANGERS))
def test_a_caution_is_plain_defers_and_names_its_source(danger: Any) -> None:
    """Short sentences, whose last says whose word comes first; a source, or that there is none."""
    result = danger.caution("B-001 held rum")
    assert result.text.endswith("licensed practice come first.")
    assert "local rules" in result.text
    assert len(result.line) <= 160
    assert len(result.text) <= 420
    assert all(len(sentence.split()) <= 32 for sentence in result.text.split(". "))
    assert danger.source
    assert "memory" in danger.source or "no source" in danger.source or any(c.isdigit() for c in danger.source)
    assert danger.source != COMMON_PRACTICE or not any(c.isdigit() for c in danger.short + danger.more)


@pytest.mark.slow
async def test_every_danger_is_shown_on_the_form_before_enter(cellar: Path) -> None:
    """The form of every kind, filled in as one would; nothing is written while it stands there."""
    from textual.widgets import Static

    from cooperage.tui.app import CooperageApp
    from cooperage.tui.shared.act_form import ActForm

    book = Book.open(str(cellar))
    app, newest = CooperageApp(book, Settings(hand="Ada")), book.newest_id()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for name, (kind, texts) in ACTS.items():
            form = ActForm(KINDS[kind], texts)
            await app.push_screen(form)
            await pilot.pause()
            shown = " ".join(str(form.query_one("#caution", Static).render()).split())
            assert DANGERS[name].short[1:] in shown, name
            assert shown.endswith("licensed practice come first."), name
            form.dismiss(None)
            await pilot.pause()
        assert book.newest_id() == newest
    book.close()


@pytest.mark.slow
async def test_every_danger_of_a_stop_is_on_its_card(cellar: Path) -> None:
    """The rounds on screen: the card of a stop tells all of it, and the line of the list is marked."""
    from cooperage.programme.rounds.due import rounds
    from cooperage.programme.walk.progress import open_walk
    from cooperage.programme.walk.stops import stops_of
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.rounds.screen import RoundsScreen
    from cooperage.tui.rounds.words import stop_line
    from cooperage.units import DEFAULT

    book = Book.open(str(cellar))
    for tag in ("WHO", "LYE"):  # never filled here, so due only by and by
        book.write(acts.Treat(vessel=tag, treatment="sniff", at=NOW - timedelta(days=80), sure=True))
    stops = stops_of(rounds(book.cellar()), open_walk(book), book.cellar())
    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        for name, (tag, task) in STOPS.items():
            (stop,) = [stop for stop in stops if (stop.tag, stop.task) == (tag, task)]
            assert "! " in stop_line(stop, 80, DEFAULT).plain, name
            screen = app.screen
            assert isinstance(screen, RoundsScreen)
            for _ in range(100):
                await pilot.pause(0.02)
                if screen._stops:
                    break
            screen._walk_to(next(at for at, each in enumerate(screen._stops) if each.key == stop.key))
            await pilot.pause()
            mind = screen.query_one("#mind")
            assert mind.display
            assert DANGERS[name].short[1:] in " ".join(str(mind.render()).split()), name
    book.close()


@pytest.mark.slow
async def test_every_danger_of_a_sign_stands_under_the_list(cellar: Path) -> None:
    """The losses on screen: with the cursor on a sign, what to mind before it is acted upon."""
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.losses.screen import LossesScreen

    book = Book.open(str(cellar))
    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.switch_mode("losses")
        screen = app.screen
        assert isinstance(screen, LossesScreen)
        for _ in range(200):
            await pilot.pause(0.02)
            if screen._signs:
                break
        for name, sign in SIGNS.items():
            at = next(at for at, each in enumerate(screen._signs) if (each.vessel, each.kind) == sign)
            screen._sign_list.cursor = at
            screen._show_sign()
            await pilot.pause()
            shown = " ".join(str(screen.query_one("#why").render()).split())
            assert DANGERS[name].short[1:] in shown, name
            assert screen.query_one("#why").size.height >= 3, name
    book.close()


@pytest.mark.slow
async def test_every_danger_of_a_plan_is_in_the_question_before_it_is_poured(cellar: Path) -> None:
    """The screen's question, with all cautions; no leaves it unpoured."""
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.blend.pour import ask_to_pour
    from cooperage.tui.shared.cellar_screen import CellarScreen
    from cooperage.tui.shared.dialogs import Confirm

    book = Book.open(str(cellar))
    app, newest = CooperageApp(book, Settings(hand="Ada")), book.newest_id()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for name, plan in PLANS.items():
            if plan[2] == "SULPH":
                continue  # the screen pours into tanks only
            answer, brief = planned(plan, cellar)
            page = app.screen
            assert isinstance(page, CellarScreen)
            ask_to_pour(page, answer, brief, lambda poured: None)
            await pilot.pause()
            app.screen.dismiss(plan[2])
            await pilot.pause()
            assert isinstance(app.screen, Confirm), name
            shown = " ".join(str(app.screen.query_one("#question-minded").render()).split())
            assert DANGERS[name].short[1:] in shown, name
            await pilot.press("n")
            await pilot.pause()
        assert book.newest_id() == newest
    book.close()


# --- what calls for a danger, and what does not ---------------------------------------------------------------------


def names(book: Book, kind: str, **texts: str) -> set[str]:
    act = parse_act(kind, texts, book.now())
    return {each.danger for each in cautions(work_of(act, book.cellar()))}


@pytest.fixture
def book(cellar: Path) -> Iterator[Any]:
    opened = Book.open(str(cellar))
    yield opened
    opened.close()


def test_a_barrel_is_sulphured_until_it_is_rinsed_or_filled(book: Book) -> None:
    """Water and steam drive the gas out; ozone, or a look, do not."""
    assert "sulphured barrel" in names(book, "look", vessel="SULPH", smell="sound")
    book.write(acts.Treat(vessel="SULPH", treatment="ozone"))
    assert "sulphured barrel" in names(book, "fill", vessel="SULPH", **{"from": "T-1"})
    book.write(acts.Treat(vessel="SULPH", treatment="rinse"))
    assert "sulphured barrel" not in names(book, "fill", vessel="SULPH", **{"from": "T-1"})


@pytest.mark.parametrize("wash", ["caustic", "peracetic acid", "holding solution"])
def test_mead_into_what_was_not_rinsed_is_asked_back(book: Book, wash: str) -> None:
    """Filled, racked into, received into, blended into: rinse first; once rinsed, or when it is so, it goes in."""
    from cooperage.book.errors import Implausible

    book.write(acts.Treat(vessel="DRY", treatment=wash))
    into = [
        acts.Fill(vessel="DRY", source="T-1", volume=1_000),
        acts.Rack(vessel="T-1", destination="DRY", volume=1_000),
        acts.Receive(lot="SWEET", vessel="DRY", volume=1_000),
        acts.Blend(vessel="DRY", draws=(("T-1", 1_000),)),
    ]
    for act in into:
        with pytest.raises(Implausible, match=f"DRY had {wash} in it today, not rinsed since: rinse it until"):
            book.write(act)
    book.write(acts.Treat(vessel="DRY", treatment="rinse"))
    book.write(into[0])
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000, sure=True))
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000))  # what is in it is asked about once


def test_a_barrel_that_had_mead_since_needs_no_rinsing_of_the_wash_before(book: Book) -> None:
    """What was washed, filled and emptied has been rinsed by that."""
    book.write(acts.Fill(vessel="LYE", source="T-1", volume=1_000, sure=True))
    book.write(acts.Rack(vessel="LYE", destination="T-1"))
    assert "not rinsed" not in names(book, "fill", vessel="LYE", **{"from": "T-1"})


def test_the_last_of_several_washes_is_the_one_to_rinse_out(book: Book) -> None:
    """Caustic, then peracetic acid, in either order: what went in last is named, and one rinse ends both."""
    for first, last in (("caustic", "peracetic acid"), ("peracetic acid", "caustic")):
        book.write(acts.Treat(vessel="DRY", treatment=first))
        book.write(acts.Treat(vessel="DRY", treatment=last))
        assert residue_words("DRY", book.cellar()["DRY"].state, book.now()) == (
            f"DRY had {last} in it today, not rinsed since"
        )
        book.write(acts.Treat(vessel="DRY", treatment="rinse"))
        assert residue_words("DRY", book.cellar()["DRY"].state, book.now()) == ""


@pytest.mark.parametrize("name", ["total_so2_mg_l", "free_so2_mg_l"])
def test_sulphite_that_was_measured_keeps_yeast_down_with_sorbate(book: Book, name: str) -> None:
    """Either figure is enough beside sorbate, none without it, and a figure of zero is no sulphite."""
    book.write(acts.Reading(vessel="T-1", property=name, value=30.0, sure=True))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="sorbate", amount=300.0))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Reading(vessel="T-1", property=name, value=0.0, sure=True))
    assert "glass under pressure" in bottling(book)


def bottling(book: Book) -> set[str]:
    return names(book, "bottle", vessel="T-1", code="X", bottles="10")


def test_sweet_mead_is_told_until_the_book_has_it_stabilised(book: Book) -> None:
    """Sorbate without sulphite is not enough; what comes in afterwards is not stabilised."""
    book.write(acts.Addition(vessel="T-1", substance="sorbate", amount=300.0))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="metabisulphite", amount=50.0))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Addition(vessel="T-1", substance="honey", amount=1_000.0))
    assert "glass under pressure" not in bottling(book)  # sweetened after it was stabilised, as it should be
    book.write(acts.Rack(vessel="FULL", destination="T-1", volume=50_000))
    assert "glass under pressure" in bottling(book)
    book.write(acts.Treat(vessel="T-1", treatment="sterile filter"))
    assert "glass under pressure" not in bottling(book)


def test_strong_or_dry_mead_does_not_burst_and_the_unknown_may(book: Book) -> None:
    """18 % vol and 2 g/L are the lines; sugar that nobody knows is not none."""
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=1.5))
    assert "glass under pressure" not in bottling(book)
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=60.0, sure=True))
    book.write(acts.Reading(vessel="T-1", property="abv", value=18.0, sure=True))
    assert "glass under pressure" not in bottling(book)
    with book.writing() as w:
        w.add_lot(Lot("", "DARK", "nobody knows"))
    book.write(acts.Receive(lot="DARK", vessel="T-2", volume=100_000))
    (result,) = [
        each
        for each in cautions(work_of(acts.Bottle(vessel="T-2", code="X", bottles=10), book.cellar()))
        if each.danger == "glass under pressure"
    ]
    assert "sugar unknown, strength unknown" in result.line


def test_spirit_added_to_a_barrel_counts_as_spirit_held(book: Book) -> None:
    """A barrel that held wine before it came, and mead with spirit in it here, is no place for a wick."""
    from cooperage.book.errors import Implausible

    book.write(acts.Addition(vessel="PART", substance="spirit", amount=2_000.0))
    book.write(acts.Rack(vessel="PART", destination="T-1"))
    with pytest.raises(Implausible, match="PART held mead with spirit added"):
        book.write(acts.Treat(vessel="PART", treatment="sulphur wick"))


def test_a_form_half_filled_in_already_tells(book: Book) -> None:
    """The barrel alone is enough to know what lies in it, the treatment what it does."""
    here = book.cellar()
    assert {c.danger for c in cautions(work_of_draft("treat", {"vessel": "sulph"}, here))} == {"sulphured barrel"}
    assert {c.danger for c in cautions(work_of_draft("treat", {"treatment": "ozone"}, here))} == {"ozone"}
    assert cautions(work_of_draft("treat", {"vessel": "no such barrel"}, here)) == ()
    assert cautions(work_of_draft("strike", {}, here)) == ()


def test_what_is_harmless_is_told_nothing(book: Book) -> None:
    """A caution at every turn is read at none."""
    assert names(book, "reading", vessel="FULL", property="ph", value="3.4") == set()
    assert names(book, "top", vessel="FULL", volume="1 L", **{"from": "T-1"}) == set()
    assert names(book, "sample", vessel="FULL", volume="100 ml") == set()
    assert cautions(before_vessel(book.cellar()["FULL"])) == ()


def test_a_barrel_that_a_blend_empties_may_be_sulphured_and_one_left_partly_full_gassed(book: Book) -> None:
    """To the last millilitre it is empty, with one more it is partly full; a racking leaves what follows open."""
    assert names(book, "blend", vessel="T-2", draws="FULL=225 L") == {"sulphur dioxide"}
    assert names(book, "blend", vessel="T-2", draws="FULL=224.999 L") == {"inert gas"}
    assert names(book, "rack", vessel="FULL", to="T-2") == set()
    assert names(book, "rack", vessel="FULL", to="T-2", volume="100 L") == set()


def test_a_keg_may_be_under_gas_in_all_but_its_moving(book: Book) -> None:
    """Whatever opens it lets the pressure off first; who carries it only has it to lift."""
    assert names(book, "shift", vessel="K-1", room="Loft") == {"lifting"}
    assert "keg under gas" in names(book, "sample", vessel="K-1", volume="100 ml")
    assert "keg under gas" in names(book, "rack", vessel="T-1", to="K-1", volume="1 L")


@pytest.mark.parametrize(
    ("work", "seen"),
    [
        (Work(sweetens=True), "sugar feeds whatever yeast is left"),
        (Work(sweetens=True, abv=(17.9,)), "sugar feeds whatever yeast is left"),
        (Work(sweetens=True, abv=(18.0,)), None),
        (Work(sweetens=False, abv=(5.0,)), None),
    ],
)
def test_a_liquid_in_no_vessel_that_is_sweetened_can_ferment_below_18_per_cent(work: Work, seen: str | None) -> None:
    """A sum on the desk has no vessel; only its strength is known, and perhaps not even that."""
    assert {each.danger: each.seen for each in cautions(work)}.get("glass under pressure") == seen


def test_mead_that_is_sweetened_can_ferment_however_dry_it_was(book: Book) -> None:
    """Dry mead keeps in the bottle until somebody adds honey; an empty vessel has no figures to name."""
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=2.0, sure=True))
    assert "glass under pressure" not in bottling(book)
    assert "glass under pressure" in names(book, "addition", vessel="T-1", substance="honey", amount="1 kg")
    work = work_of(acts.Addition(vessel="DRY", substance="honey", amount=1_000.0), book.cellar())
    assert [each.seen for each in cautions(work)] == ["sugar feeds whatever yeast is left"]
    book.write(acts.Reading(vessel="T-1", property="sugar_g_l", value=2.1, sure=True))
    assert "glass under pressure" in bottling(book)


def test_cautions_in_little_room_end_with_who_comes_first() -> None:
    """None has no words, a single one all of them, and of several what to do, a line each."""
    keg, steam = DANGERS["keg under gas"].caution("K-1 may be under gas"), DANGERS["hot water and steam"].caution()
    assert keg.line == "K-1 may be under gas: let the pressure off before you open it"
    assert steam.line.startswith("It scalds, ")
    assert short_lines([]) == []
    assert short_lines([keg]) == [keg.text]
    assert short_lines([keg, steam]) == [f"{keg.line}.", f"{steam.line}.", SHEET_FIRST]


def test_the_same_of_several_vessels_is_told_once() -> None:
    """Both kegs in one sentence, not the same sentence for each."""
    kegs = [DANGERS["keg under gas"].caution(f"{tag} may be under gas") for tag in ("K-1", "K-2", "K-1")]
    (result,) = by_danger(kegs)
    assert isinstance(result, Caution)
    assert result.seen == "K-1, K-2 may be under gas"


def test_a_refused_act_is_one_line_without_its_cautions(cellar: Path) -> None:
    """What is not written needs no caution; what is asked back has it in the question."""
    done = run(cellar, "log", "addition", "DRY", "metabisulphite", "5 g")
    assert (done.exit_code, done.stderr.strip().splitlines()) == (1, [done.stderr.strip()])
    done = run(cellar, "log", "fill", "LYE", "100 L", "--from", "T-1")
    assert done.exit_code == 1
    assert "LYE had caustic in it 90 days ago, not rinsed since: rinse it until the water tests clean" in done.stderr


def test_states_kept_by_older_code_are_reckoned_anew_and_pass_the_check(book: Book) -> None:
    """What remembers less than a state does now is passed over, and is no fault of the book."""
    from sqlalchemy import text

    with book.writing() as w:
        w.connection.execute(text("""UPDATE reckoned SET state = replace(state, '"form"', '"format"')"""))
    assert "sulphured barrel" in names(book, "look", vessel="SULPH", smell="sound")
    assert not any(finding.broken for finding in book.check())
