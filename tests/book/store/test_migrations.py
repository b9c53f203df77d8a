"""The tables: made by the migrations, equal to those declared, and refused when they come from elsewhere."""

import sqlite3
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from cooperage.book import Book, Lot
from cooperage.book.declared import acts
from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.errors import CellarUnusable
from cooperage.book.store.engine import SCHEMA, make_engine, migrate, open_cellar, schema_of
from cooperage.book.store.naming import cellar_url
from cooperage.programme.walk.progress import mark, open_walk
from cooperage.resources import migrations_folder
from cooperage.tasting.difference.closing import leave
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.flights import flight, reveal, score, start_flight
from cooperage.tasting.flights.vocabulary import retire_term

WORDS_OF_THE_BOOK = ("0019_later_figures_of_lots", "33f492f642a8fd4c")


def alembic_config(connection: Any = None) -> Any:
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    config.attributes["connection"] = connection
    return config


def test_the_code_and_the_migrations_name_the_same_head() -> None:
    """The schema the code works with is Alembic's own head."""
    assert ScriptDirectory.from_config(alembic_config()).get_current_head() == SCHEMA


def test_new_words_of_the_book_come_with_a_new_mark() -> None:
    """An older program refuses a cellar with kinds, readings, substances or treatments it does not know.

    Without a new mark it would call them damage. Where this fails: add a migration, an empty one will do, unless the
    last one was not in a release yet; then renew the words here.
    """
    words = "\n".join(f"{len(each)} {' '.join(sorted(each))}" for each in (KINDS, PROPERTIES, SUBSTANCES, TREATMENTS))
    assert (SCHEMA, sha256(words.encode()).hexdigest()[:16]) == WORDS_OF_THE_BOOK


def test_empty_to_head_equals_the_declared_tables(book: Book) -> None:
    """Autogenerate finds nothing left to do after the migrations."""
    with book._engine.connect() as connection:
        command.check(alembic_config(connection))


@pytest.mark.slow
def test_head_to_base_and_back_survives(book: Book) -> None:
    """All tables go and come again; nothing of ours is left in between."""
    with book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "base")
        assert inspect(connection).get_table_names() == ["alembic_version"]
        command.upgrade(alembic_config(connection), "head")
    assert len(book.cellar()) == 0


def test_an_older_cellar_is_brought_up_to_date_when_it_is_opened(tmp_path: Path) -> None:
    """A database that stands at base is migrated, not refused."""
    engine = make_engine(cellar_url(str(tmp_path / "old.db")))
    migrate(engine)
    with engine.begin() as connection:
        command.downgrade(alembic_config(connection), "base")
    with engine.begin() as connection:
        connection.execute(text("INSERT INTO alembic_version VALUES ('0001_the_book')"))
        connection.execute(text("DELETE FROM alembic_version"))
    engine.dispose()
    with pytest.raises(CellarUnusable, match="is not a cellar"):
        Book.open(str(tmp_path / "old.db"))


def test_a_cellar_of_the_first_version_keeps_its_walk_and_is_reckoned_anew(cellar_book: Book) -> None:
    """A walk left open under 0001 is there after the upgrade, the older cache is gone, and the laws hold."""
    walk = open_walk(cellar_book)
    mark(cellar_book, walk, ("B-1", "top"), "skipped")
    with cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0001_the_book")
        connection.execute(text("UPDATE reckoned SET state = '{\"properties\": []}'"))
    migrate(cellar_book._engine)
    assert schema_of(cellar_book._engine) == SCHEMA
    assert open_walk(cellar_book).states == {("B-1", "top"): "skipped"}
    assert cellar_book.cellar()["B-1"].ml == 225_000
    assert not any(finding.broken for finding in cellar_book.check())


def test_what_the_older_version_does_not_know_is_not_taken_back_to_it(cellar_book: Book) -> None:
    """With a look in the book, the way down is refused and nothing is lost."""
    cellar_book.write(acts.Look(vessel="B-1", bung="weeping"))
    with pytest.raises(RuntimeError, match="look or climate"), cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0001_the_book")
    bung = cellar_book.cellar()["B-1"].seen("bung")
    assert bung is not None
    assert bung.word == "weeping"


def test_a_flight_from_before_attributes_goes_on_after_the_upgrade(cellar_book: Book) -> None:
    """Poured and scored under 0006: its glasses and scores are there, it is scored on, closed, and the laws hold."""
    with cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0006_registered")
        connection.execute(
            text("INSERT INTO flight VALUES ('f', 'OLD', 'spring', '0-20', '2025-01-06 08:00:00', NULL)")
        )
        glass = "INSERT INTO glass SELECT 'g', 'f', '417', 1, id, '' FROM vessel WHERE tag = 'B-1'"
        connection.execute(text(glass))
        connection.execute(text("INSERT INTO score VALUES ('g', 'Ada', 14.5, 'wax', '2025-01-06 09:00:00')"))
    migrate(cellar_book._engine)
    old = flight(cellar_book, "OLD")
    assert (old.scores["417", "Ada"].value, old.attributes, old.orders) == (14.5, [], {})
    score(cellar_book, "OLD", "417", "Bea", 12.0, verdict=Judgement("keep"))
    assert not reveal(cellar_book, "OLD").is_blind
    assert not any(finding.broken for finding in cellar_book.check())


@pytest.mark.parametrize("newer", ["difference tests", "left a flight"])
def test_difference_tests_and_departures_are_not_taken_back(cellar_book: Book, newer: str) -> None:
    """The way down is refused, and nothing is lost; without them it is open, and up again."""
    if newer == "difference tests":
        start_difference(cellar_book, ["B-1", "T-1"], DifferenceQuestion("triangle"), ["Ada"], code="D", sure=True)
    else:
        start_flight(cellar_book, ["B-1"], code="F", tasters=["Ada"])
        leave(cellar_book, "F", "Ada")
    with pytest.raises(RuntimeError, match=newer), cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0008_readiness")
    assert schema_of(cellar_book._engine) == SCHEMA
    with cellar_book._engine.begin() as connection:
        for table in ("presented", "difference", "departed"):
            connection.execute(text(f"DELETE FROM {table}"))
        command.downgrade(alembic_config(connection), "0008_readiness")
    migrate(cellar_book._engine)
    assert schema_of(cellar_book._engine) == SCHEMA
    assert not any(finding.broken for finding in cellar_book.check())


@pytest.mark.parametrize("newer", ["attributes", "vocabulary", "judge"])
def test_flights_attributes_words_and_verdicts_are_not_taken_back(cellar_book: Book, newer: str) -> None:
    """The way down is refused, and nothing is lost."""
    if newer == "attributes":
        start_flight(cellar_book, ["B-1"], tasters=["Ada"])
    elif newer == "vocabulary":
        retire_term(cellar_book, "word", "dill")
    else:
        cellar_book.write(acts.Judge(vessel="B-1", verdict="keep"))
    with pytest.raises(RuntimeError, match=newer), cellar_book._engine.begin() as connection:
        command.downgrade(alembic_config(connection), "0006_registered")
    assert schema_of(cellar_book._engine) == SCHEMA


def test_a_cellar_from_a_newer_version_is_refused_unchanged(tmp_path: Path, empty_cellar: Path) -> None:
    """One line says to update, and the file is as it was."""
    path = tmp_path / "newer.db"
    path.write_bytes(empty_cellar.read_bytes())
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0099_from_tomorrow'")
    before = path.read_bytes()
    with pytest.raises(CellarUnusable, match=r"newer cooperage.*0099_from_tomorrow"):
        Book.open(str(path))
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"", b"no database at all, only words" * 200], ids=["empty", "words"])
def test_a_file_that_is_no_cellar_is_refused_unchanged(tmp_path: Path, content: bytes) -> None:
    """An empty file and one of plain words are not taken for a cellar, nor made one."""
    path = tmp_path / "letter.txt"
    path.write_bytes(content)
    with pytest.raises(CellarUnusable, match="is not a cellar" if content else "is empty; fill it"):
        Book.open(str(path))
    assert path.read_bytes() == content


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    """An SQLite file of somebody else's is not a cellar."""
    path = tmp_path / "other.db"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE recipe (name TEXT)")
    with pytest.raises(CellarUnusable, match="is not a cellar"):
        Book.open(str(path))


def test_no_file_at_all_is_told_how_to_begin(tmp_path: Path) -> None:
    """A path where nothing is names the two ways to begin, and nothing is made there."""
    with pytest.raises(CellarUnusable, match="demo"):
        open_cellar(cellar_url(str(tmp_path / "none.db")))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("place", ["mysql://x/y", "postgresql://localhost:1/none", "nonsense://", "sqlite://"], ids=str)
def test_an_address_that_leads_nowhere_is_one_line(place: str) -> None:
    """A wrong URL, driver or server is told in one line."""
    with pytest.raises(CellarUnusable) as caught:
        Book.open(place)
    assert "\n" not in str(caught.value)


def test_a_read_only_cellar_can_be_read_and_says_so_when_written(tmp_path: Path, empty_cellar: Path) -> None:
    """A cellar opened read-only answers questions, and refuses an act in one line."""
    path = tmp_path / "cellar.db"
    path.write_bytes(empty_cellar.read_bytes())
    book = Book.open(f"sqlite:///file:{path}?mode=ro&uri=true")
    assert len(book.cellar()) == 0
    with pytest.raises(CellarUnusable, match="can only be read"):
        add_lots(book, 1)


def add_lots(book: Book, count: Any) -> None:
    with book.writing() as session:
        for number in range(count):
            session.add_lot(Lot("", f"LOT-{number}", "x" * 500))


def test_a_full_disk_writes_nothing_and_says_so(tmp_path: Path, empty_cellar: Path) -> None:
    """When the file cannot grow, nothing is half-written and one line says why."""
    path = tmp_path / "cellar.db"
    path.write_bytes(empty_cellar.read_bytes())
    book = Book.open(str(path))
    with book._engine.connect() as connection:
        connection.exec_driver_sql("ROLLBACK")
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
    with pytest.raises(CellarUnusable, match="no room left"):
        add_lots(book, 500)
    with book.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM lot")).scalar() == 0


def test_two_writers_take_turns(tmp_path: Path, empty_cellar: Path) -> None:
    """While another program holds the cellar, a write waits, then says that someone else is writing."""
    path = tmp_path / "cellar.db"
    path.write_bytes(empty_cellar.read_bytes())
    book = Book.open(str(path))
    with book._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout=50")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(CellarUnusable, match="someone else"):
        book.write(acts.Strike(entry="last"))
    other.execute("ROLLBACK")
    other.close()
    assert Path(path).exists()
