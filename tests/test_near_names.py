"""A misspelt name is answered with the nearest one, in the same words at every door."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from cooperage.blending import solve
from cooperage.book import Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from cooperage.errors import CooperageError, choose_from, did_you_mean
from cooperage.exchange import import_folder
from cooperage.programme.losses.ledger import losses_by
from cooperage.settings import load_settings
from cooperage.units import Units

ROOT = Path(__file__).parents[1] / "cooperage"
NOW = datetime(2026, 10, 3, 9, tzinfo=UTC)


@pytest.fixture
def near_book(book: Book) -> Book:
    with book.writing() as w:
        w.add_vessel(Vessel("", "B-001", "barrel", 225_000))
        w.add_vessel(Vessel("", "K-96", "keg", 50_000))
    return book


def from_file(book: Book, tmp_path: Path, text: str) -> None:
    (tmp_path / "entries.csv").write_text(text)
    import_folder(book, tmp_path)


def from_settings(tmp_path: Path, text: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(text)
    load_settings({"COOPERAGE_CONFIG": str(path)})


def solved(**brief: Any) -> None:
    pool = pd.DataFrame({"stock": ["dry"], "litres": [100.0], "abv": [12.0], "cost_per_l": [1.0]})
    solve(pool, {"litres": 10, "mixing": "plain", "objective": ["least_cost"], **brief})


def act(kind: str, **texts: str) -> None:
    parse_act(kind, texts, NOW)


DOORS: dict[str, tuple[Callable[[Book, Path], object], str]] = {
    "tag, looking": (lambda book, _: book.cellar()["B-01"], "B-001"),
    "tag, writing": (lambda book, _: book.write(acts.Sample(vessel="B-01", volume=100)), "B-001"),
    "kind": (lambda *_: act("racc", vessel="B-001"), "rack"),
    "treatment": (lambda *_: act("treat", vessel="B-001", treatment="rinze"), "rinse"),
    "substance": (lambda *_: act("blend", vessel="B-001", draws="K-96=1 L", doses="hony=1 kg"), "honey"),
    "cell": (
        lambda book, path: from_file(book, path, "when,kind,vessel,treatment\n2026-02-01,treat,B-001,rinze\n"),
        "rinse",
    ),
    "column": (lambda book, path: from_file(book, path, "when,kind,vesel\n2026-02-01,treat,B-001\n"), "vessel"),
    "setting": (lambda _, path: from_settings(path, 'volum = "gal"'), "volume"),
    "unit": (lambda *_: Units(volume="gall"), "gal"),
    "stock": (lambda *_: solved(draws={"must": ["dri"]}), "dry"),
    "figure": (lambda *_: solved(limits={"abw": {"max": 1}}), "abv"),
    "share": (lambda *_: solved(share={"dri": {"max": 0.3}}), "dry"),
    "aim of a brief": (lambda *_: solved(objective=["least_costs"]), "least_cost"),
    "key of a brief": (lambda *_: solved(draws={"mast": ["dry"]}), "must"),
    "grouping": (lambda book, _: losses_by(book, "rom"), "room"),
}


@pytest.mark.parametrize("door", DOORS)
def test_every_door_names_the_nearest_alike(door: str, near_book: Book, tmp_path: Path) -> None:
    misspelt, meant = DOORS[door]
    with pytest.raises(CooperageError) as refused:
        misspelt(near_book, tmp_path)
    assert str(refused.value).endswith(f"; did you mean {meant}?")


def test_names_are_sought_in_one_place() -> None:
    """Only `errors.py` looks for near names, and only there is the question worded."""
    files = {file.relative_to(ROOT).as_posix(): file.read_text() for file in ROOT.rglob("*.py")}
    assert [name for name, text in files.items() if "difflib" in text] == ["errors.py"]
    worded = [name for name, text in files.items() if "did you mean {" in text]
    assert worded == ["errors.py"]


@pytest.mark.parametrize(
    ("given", "known", "answer"),
    [
        ("B-099", ["B-009", "B-090", "K-96"], "; did you mean B-090 or B-009?"),
        ("rinze", ["rinse", "fine", "stir"], "; did you mean rinse?"),
        ("Room", ["ROOM"], "; did you mean ROOM?"),
        ("xyz", ["rinse"], ""),
        ("", ["rinse"], ""),
        ("rinse", [], ""),
    ],
)
def test_the_nearest_and_those_nearly_as_near(given: str, known: list[str], answer: str) -> None:
    assert did_you_mean(given, known) == answer


def test_where_nothing_is_near_all_are_named() -> None:
    assert choose_from("xyz", ("rinse", "stir")) == "; choose from rinse, stir"
    assert choose_from("stir ", ("rinse", "stir")) == "; did you mean stir?"
