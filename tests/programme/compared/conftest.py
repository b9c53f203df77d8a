"""A cellar of six barrels of one lot in two rows, and a trial of two treatments that its panel tastes."""

import json
import shutil
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.kept import keep_trial
from cooperage.programme.compared.planning import AskedOfTrial, PlannedTrial, plan_trial
from cooperage.programme.compared.pouring import pour_sitting
from cooperage.programme.compared.trial import BarrelTrial, TrialTreatment
from cooperage.tasting.flights import reveal, score
from cooperage.units import local_day
from tests.conftest import Clock

REFERENCE = Path(__file__).parents[2] / "reference"
TASTERS = ("Ada", "Iko", "Maren")
TAGS = tuple(f"B-{number}" for number in range(1, 7))
TOPPED = (TrialTreatment("weekly", "topped every 7 days"), TrialTreatment("monthly"))


@pytest.fixture(scope="session")
def cases() -> Any:
    return json.loads((REFERENCE / "barrel_trial_cases.json").read_text())


@pytest.fixture(scope="session")
def six_barrels(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> tuple[Path, datetime]:
    """The cellar, written once, and its moment."""
    path, clock = tmp_path_factory.mktemp("template") / "six.db", Clock()
    book = Book.open(str(shutil.copy(empty_cellar, path)), clock)
    with book.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 2_000_000, "measured"))
        session.add_lot(Lot("", "HEATHER", "Heather", "heather", 1.110, 1.010, 13.0, 6.0))
        for number, tag in enumerate(TAGS):
            wood = Barrel(wood="white oak" if number % 3 else "chestnut", past_kind="wine", fills_before=2)
            place = ("Low", "AB"[number // 3], number % 3 + 1, 1)
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", place, barrel=wood))
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=1_800_000))
    for tag in TAGS:
        book.write(acts.Fill(vessel=tag, source="T-1"))
    clock.pass_days(30)
    book.close()
    return path, clock.time


@pytest.fixture
def six(tmp_path: Path, six_barrels: tuple[Path, datetime]) -> Iterator[Book]:
    """A copy of that cellar."""
    book = Book.open(str(shutil.copy(six_barrels[0], tmp_path / "cellar.db")), Clock(six_barrels[1]))
    yield book
    book.close()


def planned(book: Book, **asked: Any) -> PlannedTrial:
    """Plan a trial of all six barrels."""
    given = {"treatments": () if "by" in asked else TOPPED, "tasters": TASTERS, "code": "TOP", "seed": 5} | asked
    cellar = cellar_now(book)
    return plan_trial(
        book, cellar, [cellar[tag] for tag in TAGS], AskedOfTrial("does topping weekly keep it fresher?", **given)
    )


def kept(book: Book, **asked: Any) -> BarrelTrial:
    """Plan a trial of all six barrels, and keep it."""
    return keep_trial(book, planned(book, **asked).trial)


def taste(book: Book, code: str, given: Mapping[str, float], *, revealed: bool = True) -> str:
    """Pour the next flight of a trial and score it by barrel, each taster half a point higher; return its code."""
    trial, _, poured = pour_sitting(book, code)
    for glass in poured.glasses:
        for place, taster in enumerate(trial.tasters):
            if glass.vessel is not None and glass.vessel in given:
                score(book, poured.code, glass.code, taster, given[glass.vessel] + 0.5 * place)
    if revealed:
        reveal(book, poured.code, sure=True)
    return poured.code


def in_days(book: Book, *days: int) -> list[Any]:
    """Days from today on."""
    return [local_day(book.now() + timedelta(days=each)) for each in days]
