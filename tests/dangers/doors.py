"""The doors: each runs a scenario and returns what is shown before anything is written."""

import json
from collections.abc import Callable
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cooperage.book import KINDS, Book
from cooperage.cli import main
from tests.dangers.a_cellar import NOW
from tests.dangers.scenarios import (
    ACTS,
    CALCULATED,
    IN_THE_VESSEL_POURED_INTO,
    NO_SUCH_SIGN,
    NO_SUCH_STOP,
    NOT_IN_A_BLEND,
    NOT_IN_A_FORMULA,
    NOT_IN_THE_VESSEL,
    PLANS,
    RETIRED,
    SIGNS,
    STANDS_BEFORE,
    STOPS,
    Why,
    only,
    planned,
)


def run(cellar: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["--cellar", str(cellar), *words])


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


def by_orders_do(cellar: Path, scenario: tuple[str, dict[str, str]]) -> str:
    _order(cellar, scenario)
    done = run(cellar, "orders", "do", "1", "--sure")
    assert done.exit_code == 0, done.output
    before, written, _ = done.output.partition("written:")
    assert written
    return before


def _order(cellar: Path, scenario: tuple[str, dict[str, str]]) -> None:
    done = run(cellar, "order", scenario[0], *_words(*scenario))
    assert done.exit_code == 0, done.output


def by_orders_do_json(cellar: Path, scenario: tuple[str, dict[str, str]]) -> str:
    _order(cellar, scenario)
    return cautions_text(json.loads(run(cellar, "orders", "do", "1", "--sure", "--json").stdout)["cautions"])


def by_orders_print(cellar: Path, scenario: tuple[str, dict[str, str]]) -> str:
    _order(cellar, scenario)
    return run(cellar, "orders", "print").stdout.partition("Mind:")[2]


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
    from cooperage.exchange.reports.reports import rounds_report
    from cooperage.exchange.reports.texts import as_text
    from cooperage.units import DEFAULT, Span

    book = Book.open(str(cellar))
    shown = as_text(rounds_report(book, Span(None, NOW + timedelta(days=120))), DEFAULT)
    book.close()
    stops, heading, foot = shown.partition("CAUTIONS\n")
    assert heading
    tag, task = stop
    assert any(line.split()[4:5] == [tag] and f"{task}" in line and "! " in line for line in stops.splitlines())
    return " ".join(foot.split())


def by_signs(cellar: Path, sign: tuple[str, str]) -> str:
    return run(cellar, "signs").stdout


def by_today(cellar: Path, sign: tuple[str, str]) -> str:
    return run(cellar, "today").stdout


def by_today_json(cellar: Path, sign: tuple[str, str]) -> str:
    return _cautions_of_sign(json.loads(run(cellar, "today", "--json").stdout)["trouble"], sign)


def by_signs_json(cellar: Path, sign: tuple[str, str]) -> str:
    return _cautions_of_sign(json.loads(run(cellar, "signs", "--json").stdout), sign)


def _cautions_of_sign(found: list[Any], sign: tuple[str, str]) -> str:
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
    "orders do": (by_orders_do, dict(ACTS)),
    "orders do --json": (by_orders_do_json, dict(ACTS)),
    "orders print": (by_orders_print, dict(ACTS)),
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
    "today": (by_today, only(SIGNS, NO_SUCH_SIGN)),
    "today --json": (by_today_json, only(SIGNS, NO_SUCH_SIGN)),
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
    "trial": "moves nothing in the book: a few millilitres are mixed, and scored as a flight",
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
    "find": "reads",
    "guide": "shows a page",
    "forecast": "reads",
    "import": "writes what was done long ago",
    "lab": "writes what was read elsewhere",
    "losses": "reads",
    "order": "writes down what is to be done; `orders print` and `orders do` have its cautions",
    "ready": "reads, and writes what is called ready",
    "restore": "files",
    "serve": "opens the screen",
    "sheet": "writes what was done on a walk, whose printed sheet had the cautions",
    "taste": "pours what was pulled already",
    "bottles": "reads",
    "trace": "reads",
    "upkeep": "intervals and limits",
    "value": "reads",
    "cost": "reads",
    "angels": "reads",
    "bottling": "lists the risks with its own caution; `log bottle` has those of the act",
    "lot": "writes what came in and what was mixed; `log receive` has the cautions of the act",
    "lots": "reads",
    "period": "files figures",
    "rules": "writes figures of law",
    "prices": "writes prices",
    "wood": "lists; `retire` and `log fill` have the cautions of each",
}
