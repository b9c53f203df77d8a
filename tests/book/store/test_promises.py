"""The promises on the page in DEVELOPERS.md, each attacked with raw SQL on both backends."""

from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.engine import migrate, writing
from cooperage.book.store.guards import declared_guards, missing_guards, standing_guards
from cooperage.resources import migrations_folder
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.closing import leave, reveal_any
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.flights import peek, reveal, score, start_flight

APPEND_ONLY = ["entry", "move", "reading", "bottling", "bottle_move", "together"]


@pytest.fixture
def told(cellar_book: Book) -> Any:
    """A book with a row in every append-only table, and a struck entry."""
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    sample = cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    cellar_book.write(acts.Strike(entry=sample.id))
    cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=10))
    cellar_book.write(acts.Stow(code="NIGHT", bottles=6, store="Loft"))
    with cellar_book.writing() as session:
        session.mark_together(session.write(acts.Treat(vessel=tag, treatment="stir")).id for tag in ("B-1", "T-1"))
    return cellar_book


def run(book: Book, statements: Any, **values: Any) -> None:
    with writing(book._engine) as connection:
        for statement in statements.split(";"):
            connection.execute(text(statement), values)


def attack(book: Book, statement: Any, **values: Any) -> Any:
    """Run raw SQL that must be refused by the database itself; the table is as it was. Returns what it said."""
    with pytest.raises(DBAPIError) as refused:
        run(book, statement, **values)
    assert all(not finding.broken for finding in book.check())
    return str(refused.value.orig)


@pytest.mark.slow
@pytest.mark.parametrize("table", APPEND_ONLY)
def test_no_row_is_deleted(told: Any, table: Any) -> None:
    """No row of the book is ever deleted."""
    attack(told, f"DELETE FROM {table}")


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("entry", "note", "'x'"),
        ("move", "ml", "1"),
        ("reading", "value", "1.0"),
        ("bottling", "bottles", "1"),
        ("bottle_move", "bottles", "1"),
        ("together", "act_id", "'x'"),
    ],
)
def test_no_row_is_updated(told: Any, table: str, column: str, value: str) -> None:
    """No row of the book is ever changed."""
    attack(told, f"UPDATE {table} SET {column} = {value}")


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_no_row_is_replaced(told: Any, table: Any) -> None:
    """INSERT OR REPLACE does not slip past, with or without SQLite's recursive_triggers."""
    if told._engine.dialect.name != "sqlite":
        attack(told, f"TRUNCATE {table} CASCADE")
        return
    for pragma in ("ON", "OFF"):
        with told._engine.connect() as connection:
            connection.exec_driver_sql("ROLLBACK")
            connection.exec_driver_sql(f"PRAGMA recursive_triggers={pragma}")
            with pytest.raises(DBAPIError):
                connection.exec_driver_sql(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    assert all(not finding.broken for finding in told.check())


NEW_ENTRY = (
    "INSERT INTO entry (id, kind, happened_at, written_at, hand, note, said) "
    "SELECT 'new', 'sample', happened_at, written_at, '', '', said FROM entry WHERE kind = 'bottle'; "
)
"""A raw entry, which rows may join as long as nobody else has written."""


def test_a_move_has_two_places_and_a_positive_volume(told: Any) -> None:
    """A move from a place to itself, of nothing, of less than nothing, or to nowhere is refused."""
    move = NEW_ENTRY + "INSERT INTO move (entry_id, seq, source_id, destination_id, ml) VALUES ('new', 90, {})"
    for values in ("'lees', 'lees', 5", "'lees', 'sample', 0", "'lees', 'sample', -5", "'lees', 'the moon', 5"):
        message = attack(told, move.format(values))
        assert "constraint" in message.lower()


JOINING = {
    "move": "INSERT INTO move (entry_id, seq, source_id, destination_id, ml) SELECT {}, 90, 'lees', 'sample', 5",
    "reading": (
        "INSERT INTO reading (entry_id, seq, vessel_id, property, value, uncertainty, method) "
        "SELECT {}, 90, (SELECT max(id) FROM vessel), 'abv', 1.0, 0.0, ''"
    ),
    "bottling": "INSERT INTO bottling (entry_id, code, bottles, bottle_ml) SELECT {}, 'NEW', 1, 750",
    "bottle_move": (
        "INSERT INTO bottle_move (entry_id, bottling_id, bottles, source, destination, party, document) "
        "SELECT {}, (SELECT max(entry_id) FROM bottling), 1, '', 'sold', '', ''"
    ),
    "together": "INSERT INTO together (entry_id, act_id) SELECT {}, 'x'",
}


@pytest.mark.slow
@pytest.mark.parametrize("table", JOINING)
def test_nothing_joins_an_entry_that_is_written(told: Any, table: Any) -> None:
    """A move, a reading, a bottling for an entry of an earlier transaction, or for none, is refused."""
    for kind in ("sample", "strike", "bottle", "receive"):
        written = f"(SELECT max(id) FROM entry WHERE kind = '{kind}')"
        assert "not being written" in attack(told, JOINING[table].format(written))
    assert "not being written" in attack(told, JOINING[table].format("'none'"))


@pytest.mark.slow
@pytest.mark.parametrize(
    "opening",
    [
        "INSERT INTO open_entry SELECT max(id) FROM entry",
        "INSERT INTO open_entry VALUES ('x'); UPDATE open_entry SET entry_id = (SELECT max(id) FROM entry)",
    ],
)
def test_no_entry_that_is_written_is_opened_again(told: Any, opening: str) -> None:
    """The mark of an entry that is being written cannot be given to one that is."""
    assert "append-only" in attack(told, f"{opening}; {JOINING['move'].format('(SELECT max(id) FROM entry)')}")


def test_an_entry_of_another_program_is_named_and_closed_at_the_next_write(told: Any) -> None:
    """An entry written by raw SQL is left open: `check` names it, and nothing joins it after the next entry."""
    with writing(told._engine) as connection:
        connection.execute(text(NEW_ENTRY.rstrip("; ")))
    broken = [line for finding in told.check() for line in finding.broken]
    assert any("left open" in line for line in broken)
    told.write(acts.Sample(vessel="K-1", volume=10))
    with pytest.raises(DBAPIError, match="not being written"), writing(told._engine) as connection:
        connection.execute(text(JOINING["move"].format("'new'")))
    assert not any("left open" in line for finding in told.check() for line in finding.broken)


def test_a_strike_is_not_replaced_by_another(told: Any) -> None:
    """A second strike of one entry does not take the place of the first, with or without recursive_triggers."""
    reading = told.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    told.write(acts.Strike(entry=reading.id))
    replacing = (
        "INTO entry (id, kind, happened_at, written_at, hand, note, said, strikes_id) "
        f"SELECT 'x', kind, happened_at, written_at, '', '', said, '{reading.id}' FROM entry "
        f"WHERE strikes_id = '{reading.id}'"
    )
    if told._engine.dialect.name != "sqlite":
        attack(told, f"INSERT {replacing}")
        return
    for pragma in ("ON", "OFF"):
        with told._engine.connect() as connection:
            connection.exec_driver_sql("ROLLBACK")
            connection.exec_driver_sql(f"PRAGMA recursive_triggers={pragma}")
            with pytest.raises(DBAPIError, match="at most once"):
                connection.exec_driver_sql(f"INSERT OR REPLACE {replacing}")


@pytest.fixture
def tasted(told: Any) -> Any:
    """A revealed flight F-1 and one that is not, F-2, each with a score and looked up once."""
    for code in ("F-1", "F-2"):
        poured = start_flight(told, ["B-1", "K-1"], code=code, attributes=["oak"])
        score(told, code, poured.glasses[0].code, "Ada", 12.0, marks={"oak": 4.0})
        peek(told, code, hand="Ada")
        leave(told, code, "Ada")
    reveal(told, "F-1", sure=True)
    for code in ("D-1", "D-2"):
        test = start_difference(told, ["B-1", "K-1"], DifferenceQuestion("paired"), ["Ada"], code=code, sure=True)
        answer(told, code, "Ada", test.sets[0].codes[0])
    reveal_any(told, "D-1")
    return told


IN_F1 = "glass_id IN (SELECT id FROM glass WHERE flight_id = (SELECT id FROM flight WHERE code = 'F-1'))"
F1 = "(SELECT id FROM flight WHERE code = 'F-1')"
OF_F1 = f"flight_id = {F1}"
D1 = "(SELECT id FROM flight WHERE code = 'D-1')"
OF_D1 = f"flight_id = {D1}"
GLASS_OF = "(SELECT max(id) FROM glass WHERE flight_id = (SELECT id FROM flight WHERE code = '{}'))"
AFTER_THE_REVEAL = [
    f"UPDATE score SET value = 19.0 WHERE {IN_F1}",
    f"UPDATE score SET words = 'better' WHERE {IN_F1}",
    f"DELETE FROM score WHERE {IN_F1}",
    "INSERT INTO score (glass_id, taster, value, words, written_at) "
    f"SELECT {GLASS_OF.format('F-1')}, 'Bob', 1.0, '', poured_at FROM flight WHERE code = 'F-1'",
    f"UPDATE score SET taster = 'Bob', glass_id = {GLASS_OF.format('F-1')} WHERE NOT {IN_F1}",
    f"UPDATE score SET taster = 'Bob', glass_id = {GLASS_OF.format('F-2')} WHERE {IN_F1}",
    "UPDATE flight SET revealed_at = NULL WHERE code = 'F-1'",
    "UPDATE flight SET revealed_at = poured_at WHERE code = 'F-1'",
    "UPDATE flight SET scale = '0-100' WHERE code = 'F-1'",
    f"UPDATE glass SET vessel_id = NULL WHERE id = {GLASS_OF.format('F-1')}",
    f"UPDATE glass SET flight_id = (SELECT id FROM flight WHERE code = 'F-2'), code = 'z' "
    f"WHERE id = {GLASS_OF.format('F-1')}",
    "INSERT INTO glass (id, flight_id, code, position, what) SELECT 'g', id, 'z', 9, '' FROM flight WHERE code = 'F-1'",
    f"UPDATE score SET verdict = 'keep' WHERE {IN_F1}",
    f"UPDATE glass SET role = 'control' WHERE id = {GLASS_OF.format('F-1')}",
    f"UPDATE mark SET value = 9.0 WHERE {IN_F1}",
    f"DELETE FROM mark WHERE {IN_F1}",
    "INSERT INTO mark (glass_id, taster, term_id, value, written_at) "
    f"SELECT {GLASS_OF.format('F-1')}, 'Bob', 'attribute-oak', 1.0, poured_at FROM flight WHERE code = 'F-1'",
    f"UPDATE mark SET taster = 'Bob', glass_id = {GLASS_OF.format('F-1')} WHERE NOT {IN_F1}",
    f"UPDATE scored SET scale = '0-20' WHERE {OF_F1}",
    f"DELETE FROM scored WHERE {OF_F1}",
    f"UPDATE serving SET glasses = '[]' WHERE {OF_F1}",
    f"DELETE FROM serving WHERE {OF_F1}",
    "INSERT INTO serving (flight_id, taster, place, glasses, drawn_at) "
    "SELECT id, 'Bob', 1, '[]', poured_at FROM flight WHERE code = 'F-1'",
    f"UPDATE serving SET taster = 'Bob', flight_id = {F1} WHERE NOT {OF_F1}",
    "INSERT INTO peek (id, flight_id, hand, at) SELECT 'p', id, 'Bob', poured_at FROM flight WHERE code = 'F-1'",
    f"UPDATE difference SET alpha = 0.5 WHERE {OF_D1}",
    f"DELETE FROM difference WHERE {OF_D1}",
    "INSERT INTO difference (flight_id, test, aim, asked, expected, reference, rounds, alpha, share, power) "
    "SELECT id, 'paired', 'differ', '', '', '', 1, 0.05, 0.5, 0.8 FROM flight WHERE code = 'F-1'",
    f"UPDATE answer SET codes = '[]' WHERE presented_id IN (SELECT id FROM presented WHERE {OF_D1})",
    f"DELETE FROM answer WHERE presented_id IN (SELECT id FROM presented WHERE {OF_D1})",
    f"UPDATE presented SET glasses = '[]' WHERE {OF_D1}",
    f"UPDATE presented SET flight_id = {D1}, round = 2 WHERE NOT {OF_D1}",
    "INSERT INTO presented (id, flight_id, taster, round, glasses, drawn_at) "
    "SELECT 's', id, 'Bob', 1, '[]', poured_at FROM flight WHERE code = 'D-1'",
    f"DELETE FROM departed WHERE {OF_F1}",
    "INSERT INTO departed (flight_id, taster, hand, at) SELECT id, 'Bob', '', poured_at FROM flight WHERE code = 'F-1'",
]


TASTING = (
    *("flight", "glass", "score", "mark", "scored", "serving", "peek"),
    *("difference", "presented", "answer", "departed"),
)


def tables_of_tasting(book: Book) -> Any:
    with book.reading() as connection:
        return [sorted(map(repr, connection.execute(text(f"SELECT * FROM {table}")))) for table in TASTING]


def test_what_a_flight_showed_stands_after_its_reveal(tasted: Any) -> None:
    """No score, glass or flight is changed, taken away or added, nor the reveal withdrawn."""
    before = tables_of_tasting(tasted)
    for statement in AFTER_THE_REVEAL:
        with pytest.raises(DBAPIError, match="it stands"):
            run(tasted, statement)
        assert tables_of_tasting(tasted) == before, statement


@pytest.mark.parametrize("table", TASTING)
def test_no_revealed_flight_is_replaced_or_emptied(tasted: Any, table: str) -> None:
    """REPLACE, with or without recursive_triggers, and TRUNCATE do not slip past."""
    before = tables_of_tasting(tasted)
    if tasted._engine.dialect.name != "sqlite":
        attack(tasted, f"TRUNCATE {table} CASCADE")
    else:
        for pragma in ("ON", "OFF"):
            with tasted._engine.connect() as connection:
                connection.exec_driver_sql("ROLLBACK")
                connection.exec_driver_sql(f"PRAGMA recursive_triggers={pragma}")
                with pytest.raises(DBAPIError, match=r"stands|stays written"):
                    connection.exec_driver_sql(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    assert tables_of_tasting(tasted) == before


def test_who_looked_up_a_blind_flight_stays_written(tasted: Any) -> None:
    """No peek is changed or taken away, not even while its flight is blind."""
    for statement in ("UPDATE peek SET hand = 'Bob'", f"DELETE FROM peek WHERE NOT {OF_F1}"):
        with pytest.raises(DBAPIError, match=r"stays written|it stands"):
            run(tasted, statement)


PLANNED = (
    "INSERT INTO trial (id, code, question, stocks, limits, design, degree, glasses, step_ml, scale, tasters, hand, "
    "written_at) SELECT 't', 'TR-1', '', '[]', '{}', 'centroid', 2, '[]', 1.0, '0-20', '[]', '', poured_at "
    "FROM flight WHERE code = 'F-1'; "
    "INSERT INTO trial_flight (flight_id, trial_id, session) SELECT id, 't', 1 FROM flight WHERE code = 'F-1'; "
    "INSERT INTO trial_withdrawn (trial_id, why, hand, written_at) SELECT 't', 'sold', '', poured_at "
    "FROM flight WHERE code = 'F-1'"
)


def test_a_trial_stands_as_it_was_planned_poured_and_withdrawn(tasted: Any) -> None:
    """None of its rows is changed, taken away, replaced or emptied."""
    run(tasted, PLANNED)
    is_sqlite = tasted._engine.dialect.name == "sqlite"
    for table, change in (("trial", "degree = 1"), ("trial_flight", "session = 2"), ("trial_withdrawn", "why = ''")):
        emptied = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}" if is_sqlite else f"TRUNCATE {table} CASCADE"
        for statement in (f"UPDATE {table} SET {change}", f"DELETE FROM {table}", emptied):
            assert "stands as it was planned" in attack(tasted, statement)


def test_a_flight_that_is_not_revealed_is_scored_as_before(tasted: Any) -> None:
    """A score is rewritten, another is added, and the flight is revealed."""
    glass = GLASS_OF.format("F-2")
    with writing(tasted._engine) as connection:
        connection.execute(text(f"UPDATE score SET value = 3.0 WHERE glass_id = {glass} OR NOT {IN_F1}"))
        for table in ("mark", "score"):
            connection.execute(text(f"DELETE FROM {table} WHERE NOT {IN_F1}"))
        connection.execute(text("UPDATE flight SET revealed_at = poured_at WHERE code = 'F-2'"))
    assert reveal(tasted, "F-2").scores == {}


def test_the_declared_guards_are_those_the_migrations_make(book: Book) -> None:
    """Each under its name, and each as it was made; after going back a step and forth again too."""
    with book.reading() as connection:
        assert standing_guards(connection) == declared_guards(connection)
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    with book._engine.begin() as connection:
        config.attributes["connection"] = connection
        command.downgrade(config, "0003_last_written")
        assert missing_guards(connection)
    migrate(book._engine)
    with book.reading() as connection:
        assert standing_guards(connection) == declared_guards(connection)


def weakened(book: Book, name: Any) -> Any:
    """Yield statements that weaken one guard, each in its own way."""
    with book.reading() as connection:
        if book._engine.dialect.name == "sqlite":
            found = text("SELECT tbl_name FROM sqlite_master WHERE name = :name")
            table = connection.execute(found, {"name": name}).scalar()
            nothing = f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} BEGIN SELECT 1; END"
            return [[f"DROP TRIGGER {name}"], [f"DROP TRIGGER {name}", nothing]]
        found = text(
            "SELECT c.relname, p.proname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "JOIN pg_proc p ON p.oid = t.tgfoid WHERE t.tgname = :name "
            "AND c.relnamespace = current_schema()::regnamespace"
        )
        table, function = connection.execute(found, {"name": name}).one()
    nothing = f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$"
    switched_off = f"ALTER TABLE {table} DISABLE TRIGGER {name}"
    return [[f"DROP TRIGGER {name} ON {table}"], [switched_off], [nothing]]


def test_check_names_every_guard_that_is_gone_or_weakened(book: Book) -> None:
    """Each guard in turn is dropped, switched off, or made to do nothing, on both backends."""
    with book.reading() as connection:
        names = list(declared_guards(connection))
    for name in names:
        for statements in weakened(book, name):
            with book._engine.connect() as connection:  # rolled back at its end
                for statement in statements:
                    connection.exec_driver_sql(statement)
                assert name in missing_guards(connection), statements
    with writing(book._engine) as connection:
        for statement in weakened(book, "move_while_written")[0]:
            connection.exec_driver_sql(statement)
    broken = [line for finding in book.check() for line in finding.broken]
    assert any("move_while_written is gone" in line for line in broken)


def test_tags_are_the_only_ones(told: Any) -> None:
    """Two vessels cannot bear one tag."""
    with writing(told._engine) as connection:
        connection.execute(text("INSERT INTO place (id, kind) VALUES ('another', 'vessel')"))
    attack(
        told,
        "INSERT INTO vessel (id, tag, kind, capacity_ml, capacity_how, note) "
        "VALUES ('another', 'B-1', 'barrel', 1, 'nominal', '')",
    )


ENTRY = (
    "INSERT INTO entry (id, kind, happened_at, written_at, hand, note, said, strikes_id) "
    "SELECT 'x', {kind}, {happened}, written_at, '', '', said, {strikes} FROM entry WHERE kind = 'strike'"
)


def test_no_entry_is_struck_twice_nor_a_strike_struck(told: Any) -> None:
    """A second strike of an entry, and a strike of a strike, are refused."""
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="strikes_id"))
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="id"))


def test_a_strike_names_what_it_strikes_and_nothing_else_does(told: Any) -> None:
    """A strike without an entry, and another kind with one, are refused."""
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="NULL"))
    attack(told, ENTRY.format(kind="'sample'", happened="happened_at", strikes="strikes_id"))


def test_nothing_is_written_before_it_happened(told: Any) -> None:
    """An entry dated after it was written is refused."""
    later = "'2999-01-01 00:00:00.000000'" if told._engine.dialect.name == "sqlite" else "TIMESTAMPTZ '2999-01-01'"
    attack(told, ENTRY.format(kind="'sample'", happened=later, strikes="NULL"))


def test_a_reading_names_a_vessel(told: Any) -> None:
    """A reading of something that is no vessel is refused."""
    message = attack(
        told,
        NEW_ENTRY + "INSERT INTO reading (entry_id, seq, vessel_id, property, value, uncertainty, method) "
        "VALUES ('new', 9, 'the moon', 'abv', 1.0, 0.0, '')",
    )
    assert "foreign key" in message.lower()


def test_check_finds_what_a_hand_forced_past_every_guard(told: Any) -> None:
    """With the guards torn down and a volume forged, `check` names the vessel."""
    is_sqlite = told._engine.dialect.name == "sqlite"
    down = "DROP TRIGGER move_no_update" if is_sqlite else "ALTER TABLE move DISABLE TRIGGER USER"
    with writing(told._engine) as connection:
        connection.execute(text(down))
        connection.execute(text("UPDATE move SET ml = ml + 1000000 WHERE destination_id = 'bottled'"))
    broken = [line for finding in told.check() for line in finding.broken]
    assert any("B-1 holds -" in line for line in broken)
    assert any("differs from the calculated" in line for line in broken)
