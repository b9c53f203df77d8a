"""What every test may ask for: a clock that ticks, an empty book on each backend, and a small cellar in it."""

import gc
import os
import pickle
import re
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, settings

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from tests.compiled_in_shares import compile_share
from tests.kept_statements import statements_kept

if TYPE_CHECKING:
    from cooperage.programme.ageing.scoring.scored import ForecastOutcome

pytest_plugins = ["tests.postgres"]

BEGINNING = datetime(2025, 1, 6, 8, 0, tzinfo=UTC)


# No law asserts how long an example takes: a busy machine is no fault of the program. Each test makes what its examples
# change inside the example. CI draws the same cases in every run, so that more of them would find nothing new there.
settings.register_profile("ordinary", deadline=None, suppress_health_check=list(HealthCheck))
settings.register_profile("ci", settings.get_profile("ordinary"), max_examples=40, derandomize=True, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "ordinary")


def pytest_configure(config: pytest.Config) -> None:
    """Write bytecode whatever the environment says: each process that tests start would compile everything again.

    Nothing that is learned is kept, so that each test sees it learned, but where `learned_once` is asked for.
    """
    gc.disable()  # until all is imported and collected, which stays
    os.environ["COOPERAGE_CACHE"] = ""
    os.environ["TEXTUAL_FPS"] = "250"  # read when textual is imported: a pilot waits for frames
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False
    compile_share(config)


def pytest_collection_finish(session: pytest.Session) -> None:
    """Pass over what stays for the whole run, thousands of collected tests and all modules, when garbage is sought."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Share the tests out to one process more than there are cores: screens and servers wait, quick tests do not.

    Each of them takes some seconds of a core to import and to collect all tests.
    """
    is_quick = config.option.markexpr == "not slow"
    return (os.cpu_count() or 1) + (0 if is_quick else 1)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave PostgreSQL out of the quick gate: what is marked slow is part of the ordinary run only."""
    for item in items:
        if "postgresql" in item.keywords or "postgresql" in item.name:
            item.add_marker(pytest.mark.slow)


class Clock:
    """A clock that moves a minute on every time it is looked at, and by days when told to."""

    def __init__(self, start: datetime = BEGINNING) -> None:
        self.time = start

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time

    def pass_days(self, days: float) -> datetime:
        """Let days pass; returns the time then."""
        self.time += timedelta(days=days)
        return self.time


@pytest.fixture(scope="session", autouse=True)
def _statements_compiled_once() -> Iterator[None]:
    """Keep compiled SQL for the next cellar."""
    with statements_kept():
        yield


@pytest.fixture
def clock() -> Clock:
    """A clock that starts on a Monday in January."""
    return Clock()


@pytest.fixture(scope="session")
def empty_cellar(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite cellar, made once; tests copy the file."""
    path = tmp_path_factory.mktemp("template") / "empty.db"
    book = Book.create(str(path))
    with book.reading() as connection:
        connection.exec_driver_sql("SELECT 1")
    book.close()
    return path


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of a run share."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session")
def made_once(
    shared_folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str, Callable[[Path], None]], Path]:
    """Make a file once in a run, whichever worker asks first: the others wait at its lock, which a dead one lets go."""
    own = tmp_path_factory.mktemp("half_done")

    def once(name: str, make: Callable[[Path], None]) -> Path:
        path = shared_folder / name
        with closing(sqlite3.connect(shared_folder / f"{name}.lock", timeout=600, isolation_level=None)) as lock:
            lock.execute("BEGIN EXCLUSIVE")
            if not path.exists():
                half_done = own / name
                make(half_done)
                half_done.rename(path)
        return path

    return once


@pytest.fixture(scope="session")
def demo_file(made_once: Callable[[str, Callable[[Path], None]], Path]) -> Path:
    """The demo cellar as `cooperage demo` builds it, made once; tests copy the file."""
    from cooperage.cli import main

    def make(path: Path) -> None:
        done = CliRunner().invoke(main, ["demo", "--no-ui", "--at", str(path)])
        assert done.exit_code == 0, done.output

    return made_once("demo.db", make)


@pytest.fixture(scope="session")
def shared_cache(shared_folder: Path) -> Path:
    """A folder in which the whole run keeps what is learned of a cellar, as on a person's computer."""
    return shared_folder / "kept"


@pytest.fixture
def learned_once(shared_cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Learn of one and the same book once in a run: for doors, which only show what is learned."""
    monkeypatch.setenv("COOPERAGE_CACHE", str(shared_cache))
    monkeypatch.setattr("cooperage.programme.kept._MOST_FILES", 100_000)  # of every cellar in the run


@pytest.fixture(scope="session")
def demo_outcomes(
    made_once: Callable[[str, Callable[[Path], None]], Path], demo_file: Path
) -> "Sequence[ForecastOutcome]":
    """What came of every forecast of the demo's readings: the demo is replayed once in a run, which takes a while."""
    from cooperage.programme.ageing.scoring.scored import outcomes

    def make(path: Path) -> None:
        book = Book.open(str(demo_file))
        path.write_bytes(pickle.dumps(outcomes(book)))
        book.close()

    found: list[ForecastOutcome] = pickle.loads(made_once("outcomes.pickle", make).read_bytes())
    return found


@pytest.fixture(scope="session")
def story_file(made_once: Callable[[str, Callable[[Path], None]], Path], empty_cellar: Path) -> Path:
    """The files of the demo as they are dated, brought in on the last evening of their story; tests copy the file."""
    from cooperage.exchange import import_folder
    from cooperage.resources import demo_folder

    def make(path: Path) -> None:
        book = Book.open(str(shutil.copy(empty_cellar, path)), lambda: datetime(2026, 11, 20, 18, tzinfo=UTC))
        import_folder(book, demo_folder())
        book.close()

    return made_once("story.db", make)


@pytest.fixture(params=["sqlite", "postgresql"])
def book(request: pytest.FixtureRequest, tmp_path: Path, empty_cellar: Path, clock: Clock) -> Iterator[Book]:
    """A book on each backend, empty but for `cellar_book`; PostgreSQL is passed over, with the reason, without one."""
    is_stocked = "cellar_book" in request.fixturenames
    if request.param == "sqlite":
        template, moment = request.getfixturevalue("stocked_cellar") if is_stocked else (empty_cellar, clock.time)
        place = str(shutil.copy(template, tmp_path / "cellar.db"))
    elif is_stocked:
        place, moment = request.getfixturevalue("written_postgres")(write_stocked)
    else:
        place, moment = request.getfixturevalue("empty_postgres")(), clock.time
    clock.time = moment
    opened = Book.open(place, clock)
    yield opened
    opened.close()


def furnish(book: Book) -> None:
    """Register a tank, a blending tank, a keg, four barrels (one new, one ex-spirit, one small) and two lots."""
    wine = Barrel(wood="oak, Quercus petraea", past_life="red wine", past_kind="wine", fills_before=2)
    new = Barrel(wood="oak, Quercus alba", past_life="new", past_kind="none", fills_before=0)
    spirit = Barrel(wood="oak, Quercus alba", past_life="whiskey", past_kind="spirit", fills_before=None)
    with book.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 1_000_000, "measured"))
        session.add_vessel(Vessel("", "T-2", "tank", 1_000_000, "measured"))
        session.add_vessel(Vessel("", "K-1", "keg", 50_000, "measured"))
        session.add_vessel(Vessel("", "B-1", "barrel", 225_000, "measured", ("Low", "A", 1, 1), barrel=wine))
        session.add_vessel(Vessel("", "B-2", "barrel", 225_000, "nominal", ("Low", "A", 2, 1), barrel=new))
        session.add_vessel(Vessel("", "B-3", "barrel", 200_000, "nominal", ("Loft", "A", 1, 1), barrel=spirit))
        session.add_vessel(Vessel("", "B-4", "barrel", 50_000, "measured", ("Loft", "A", 2, 1), barrel=wine))
        session.add_lot(Lot("", "HEATHER", "Heather", "heather", 1.110, 1.010, 13.0, 6.0))
        session.add_lot(Lot("", "LIME", "Lime blossom", "lime-blossom", 1.120, 1.030, 12.0, 8.0))


def write_furnished(place: str) -> datetime:
    """Furnish the empty cellar at a place; returns its moment."""
    with closing(Book.open(place, clock := Clock())) as made:
        furnish(made)
    return clock.time


def write_stocked(place: str) -> datetime:
    """Furnish the empty cellar at a place, and put mead into it; returns its moment."""
    with closing(Book.open(place, clock := Clock())) as made:
        furnish(made)
        made.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
        made.write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000))
        made.write(acts.Fill(vessel="B-1", source="T-1"))
    return clock.time


@pytest.fixture(scope="session")
def furnished_cellar(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> tuple[Path, datetime]:
    """A furnished SQLite cellar, written once, and its moment; tests copy the file."""
    path = tmp_path_factory.mktemp("template") / "furnished.db"
    return path, write_furnished(str(shutil.copy(empty_cellar, path)))


@pytest.fixture(scope="session")
def stocked_cellar(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> tuple[Path, datetime]:
    """The SQLite cellar that `cellar_book` is a copy of, written once, and its moment."""
    path = tmp_path_factory.mktemp("template") / "stocked.db"
    return path, write_stocked(str(shutil.copy(empty_cellar, path)))


@pytest.fixture
def fresh_sqlite(
    tmp_path_factory: pytest.TempPathFactory, furnished_cellar: tuple[Path, datetime]
) -> Callable[[], Book]:
    """Make a furnished book on a new SQLite file with a clock of its own, as often as it is called."""

    def make() -> Book:
        path = tmp_path_factory.mktemp("fresh") / "cellar.db"
        shutil.copy(furnished_cellar[0], path)
        return Book.open(str(path), Clock(furnished_cellar[1]))

    return make


@pytest.fixture
def fresh_postgres(written_postgres: Callable[..., tuple[str, datetime]]) -> Callable[[], Book]:
    """Make a furnished book in a PostgreSQL schema with a clock of its own, as often as it is called."""

    def make() -> Book:
        place, moment = written_postgres(write_furnished)
        return Book.open(place, Clock(moment))

    return make


@pytest.fixture
def cellar_book(book: Book) -> Book:
    """A furnished book: 900 L of HEATHER in T-1, 40 L of it in K-1, B-1 filled to the bung."""
    return book


AMERICAN = 'volume = "gal"\ngravity = "brix"\ntemperature = "f"\nhand = "Maren"\n'

# What a person who has chosen gallons, Brix and °F must never read. Concentrations stay in g/L and mg/L, and what a
# bottle or a pipette holds in ml, as everywhere in the trade.
_FOREIGN = {
    "litres": r"\d\s?(?:l|litres?|liters?)\b(?!/)|(?<![gm] )\b(?:per|a) (?:l|litre)\b|\blitres? (?:more|less)\b",
    "millilitres": r"\d\s?ml\b",
    "degrees Celsius": r"\d\s?°?C\b",
    "specific gravity": r"(?<![\d.])(?:0\.9[6-9]\d|1\.[01]\d\d)(?![\d.])",
    "a raw key": r"\b[a-z0-9]+(?:_[a-z0-9]+)*_(?:g_l|mg_l|per_l|ml|l|mm|c)\b|\babv\b",
    "too many digits": r"\d\.\d{5,}",
    "one of many": r"(?<![\d.,])1 (?:[a-z-]+ ){0,1}(?:glasses|barrels|bottles|cases|days|fills|stops|entries|vessels|"
    r"stocks|readings|lines|laws|lots|tasters|gauges|visits|points|litres|flights|cups|scores|moves|months|years)\b",
}
_MAY_STAND = re.compile(r"bottles? of \d+ ml|\d+ ml bottles?|[\d.]+ ml in the glass")


@pytest.fixture(scope="session")
def foreign() -> Callable[..., list[str]]:
    """Find what a person with American settings must not read, by line; some kinds may be let pass by name."""

    def find(told: str, *let_pass: str) -> list[str]:
        return [
            f"{what}: {line.strip()}"
            for line in told.splitlines()
            for what, pattern in _FOREIGN.items()
            if what not in let_pass and re.search(pattern, _MAY_STAND.sub("", line))
        ]

    return find


@pytest.fixture(scope="session")
def american_settings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A settings file with gallons, Brix and °F."""
    path = tmp_path_factory.mktemp("settings") / "settings.toml"
    path.write_text(AMERICAN)
    return path
