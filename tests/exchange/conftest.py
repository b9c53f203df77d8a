"""Builders for the tests of files in and out: fresh cellars, folders of files, and a book with everything in it."""

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.facts import FACTS, facts_of, set_fact
from cooperage.book.log import entries
from cooperage.book.replay.snapshots import replayed
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import FLIGHT, GLASS, MARK, PEEK, SCORE, SCORED, SERVING, TERM
from cooperage.tasting.flights import peek, score, start_flight
from cooperage.tasting.flights.vocabulary import add_term, rename_term

if TYPE_CHECKING:
    from tests.conftest import Clock

NOW = datetime(2026, 11, 25, 8, tzinfo=UTC)


@pytest.fixture
def fresh(tmp_path: Path, empty_cellar: Path) -> Iterator[Callable[[], Book]]:
    """Make empty SQLite cellars whose clock stands still."""
    made: list[Book] = []

    def make() -> Book:
        path = tmp_path / f"cellar{len(made)}.db"
        shutil.copy(empty_cellar, path)
        made.append(Book.open(str(path), lambda: NOW))
        return made[-1]

    yield make
    for book in made:
        book.close()


@pytest.fixture
def folder(tmp_path: Path) -> Callable[..., Path]:
    """Write files of text (or bytes) into a folder, by name without the .csv."""

    def make(**files: str | bytes) -> Path:
        path = tmp_path / "files"
        path.mkdir(exist_ok=True)
        for name, content in files.items():
            raw = content.encode() if isinstance(content, str) else content
            (path / f"{name}.csv").write_bytes(raw)
        return path

    return make


VESSELS = "tag,kind,capacity,past_kind,fills_before\nB-1,barrel,225 L,wine,2\nT-1,tank,1000 L,,\nK-1,keg,50 L,,\n"
LOTS = "code,name,honey,original_sg,final_sg\nHE,Heather,heather,1.098,1.012\n"


@pytest.fixture
def small(fresh: Callable[[], Book], folder: Callable[..., Path]) -> Book:
    """A cellar of a barrel, a tank with 800 L of HE and a keg with 40 L of it."""
    from cooperage.exchange import import_folder

    book = fresh()
    entries = "when,kind,vessel,lot,to,volume\n2026-01-05,receive,T-1,HE,,840\n2026-01-06,rack,T-1,,K-1,40\n"
    path = folder(vessels=VESSELS, lots=LOTS, entries=entries)
    import_folder(book, path)
    for file in path.iterdir():
        file.unlink()
    return book


def everything(book: Book) -> dict[str, Any]:
    """Return all that a round trip must keep: registry, entries with moves and readings, states, tastings."""
    with book.reading() as connection:
        registry = Registry(connection)
        vessels = registry.load()
        states = replayed(connection, registry)
        tastings = [
            connection.execute(select(table).order_by(*table.primary_key)).all()
            for table in (FLIGHT, GLASS, SCORE, MARK, SCORED, SERVING, PEEK, TERM)
        ]
        return {
            "vessels": vessels,
            "lots": registry.lots,
            "entries": entries(connection, in_written_order=True),
            "states": {vessel.tag: to_text(states[vessel.id]) for vessel in vessels},
            "tastings": tastings,
            "facts": facts_of(connection),
        }


def _on_bottles(book: Book) -> None:
    """Everything that can happen to bottles, with stores and codes in more than one spelling, and one act struck."""
    book.write(acts.Stow(code="dusk", bottles=120, store="Loft"))
    book.write(acts.Remove(code="DUSK", bottles=60, went="sold", source=" loft ", party="inn; Bay", document="118"))
    wrong = book.write(acts.Remove(code="DUSK", bottles=120, went="tasted"))
    book.write(acts.Strike(entry=wrong.id))
    book.write(acts.TakeBack(code="DUSK", bottles=6, store="LOFT", party="inn; Bay"))
    book.write(acts.Stocktake(code="DUSK", bottles=65, store="Loft", note="one is missing"))
    book.write(acts.PourBack(code="DUSK", bottles=4, vessel="T-2", source="Loft", loss=20))


@pytest.fixture
def contents() -> Callable[[Book], dict[str, Any]]:
    """Give the function that returns all a round trip must keep."""
    return everything


@pytest.fixture
def lively(cellar_book: Book, clock: "Clock") -> Book:
    """A book with an entry of every kind, a late one, two strikes, odd notes, a shift, a tasting, facts."""
    book = cellar_book
    clock.pass_days(30)
    book.write(acts.Reading(vessel="b-1", property="abv", value=13.2, uncertainty=0.1, method='lab, "hot"; day 1'))
    book.write(acts.Sample(vessel="B-1", volume=120, note=" two lines\nand an accent: é "))
    wrong = book.write(acts.Top(vessel="B-1", volume=1450, source="K-1", hand="Ada"))
    early = clock() - timedelta(days=10)
    book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=21.5, at=early, note="late"))
    book.write(acts.Strike(entry=wrong.id, note="it was B-2"))
    book.write(acts.Top(vessel="B-1", volume=113, source="K-1", not_full=True))
    book.write(acts.Fill(vessel="B-2", source="T-1", volume=200_000))
    book.write(acts.Gauge(vessel="B-2", volume=196_000, cause="soaked"))
    book.write(acts.Addition(vessel="B-2", substance="metabisulphite", amount=7.25))
    book.write(acts.Addition(vessel="B-2", substance="honey", amount=1234.5))
    book.write(acts.Treat(vessel="B-4", treatment="rinse"))
    book.write(acts.Shift(vessel="B-4", room="Long", row="C", bay=3, tier=2))
    doses = (("spirit", 250), ("honey", 500.5))
    book.write(acts.Blend(vessel="T-2", draws=(("B-1", 100_000), ("B-2", 90_001)), doses=doses, plan='{"litres": 190}'))
    book.write(acts.Bottle(vessel="T-2", code="DUSK", bottles=240, loss=1500, empties=True, cause="spilled", sure=True))
    _on_bottles(book)
    book.write(acts.Rack(vessel="B-1", destination="poured away", volume=1000, lees=500))
    book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=8, flight="F-0", note="oak is rising"))
    book.write(acts.Retire(vessel="B-3", reason="stave split"))
    with book.writing() as session:
        set_fact(session.connection, FACTS["name"], "Cold Harbour")
        set_fact(session.connection, FACTS["class_lines"], (8.5, 14.0))
    poured = start_flight(
        book,
        ["B-1"],
        code="F-1",
        name="first",
        hidden_duplicate=True,
        attributes=["oak", "liking"],
        tasters=["Ada", "Bo"],
    )
    verdict = Judgement("look again", 8)
    code = poured.glasses[0].code
    score(book, "F-1", code, "Ada", 14.5, "wax;\nhoney", marks={"oak": 3.25, "liking": 7}, verdict=verdict)
    peek(book, "F-1", hand="Ada")
    rename_term(book, "attribute", "oak", "wood")
    add_term(book, "word", "heather smoke", family="oak", is_fault=True)
    return book
