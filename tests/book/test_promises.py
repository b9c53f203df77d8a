"""The promises on the page in DEVELOPERS.md, each attacked with raw SQL on both backends."""

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import acts
from cooperage.book.engine import writing

APPEND_ONLY = ["entry", "move", "reading", "bottling"]


@pytest.fixture
def told(cellar_book):
    """A book with a row in every append-only table, and a struck entry."""
    cellar_book.write(acts.Reading(vessel="B-1", property="abv", value=13.0))
    sample = cellar_book.write(acts.Sample(vessel="B-1", volume=100))
    cellar_book.write(acts.Strike(entry=sample.id))
    cellar_book.write(acts.Bottle(vessel="B-1", code="NIGHT", bottles=10))
    return cellar_book


def attack(book, statement, **values):
    """Run raw SQL that must be refused by the database itself; the table is as it was."""
    with pytest.raises(DBAPIError), writing(book._engine) as connection:
        connection.execute(text(statement), values)
    assert all(not finding.broken for finding in book.check())


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_no_row_is_deleted(told, table):
    """No row of the book is ever deleted."""
    attack(told, f"DELETE FROM {table}")


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [("entry", "note", "'x'"), ("move", "ml", "1"), ("reading", "value", "1.0"), ("bottling", "bottles", "1")],
)
def test_no_row_is_updated(told, table, column, value):
    """No row of the book is ever changed."""
    attack(told, f"UPDATE {table} SET {column} = {value}")


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_no_row_is_replaced(told, table):
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


def test_a_move_has_two_places_and_a_positive_volume(told):
    """A move from a place to itself, of nothing, of less than nothing, or to nowhere is refused."""
    columns = "INSERT INTO move (entry_id, seq, source_id, destination_id, ml)"
    move = columns + " SELECT id, 90, {} FROM entry WHERE kind = 'bottle'"
    for values in ("'lees', 'lees', 5", "'lees', 'sample', 0", "'lees', 'sample', -5", "'lees', 'the moon', 5"):
        attack(told, move.format(values))
    attack(
        told, "INSERT INTO move (entry_id, seq, source_id, destination_id, ml) VALUES ('none', 1, 'lees', 'sample', 5)"
    )


def test_tags_are_the_only_ones(told):
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


def test_no_entry_is_struck_twice_nor_a_strike_struck(told):
    """A second strike of an entry, and a strike of a strike, are refused."""
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="strikes_id"))
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="id"))


def test_a_strike_names_what_it_strikes_and_nothing_else_does(told):
    """A strike without an entry, and another kind with one, are refused."""
    attack(told, ENTRY.format(kind="'strike'", happened="happened_at", strikes="NULL"))
    attack(told, ENTRY.format(kind="'sample'", happened="happened_at", strikes="strikes_id"))


def test_nothing_is_written_before_it_happened(told):
    """An entry dated after it was written is refused."""
    later = "'2999-01-01 00:00:00.000000'" if told._engine.dialect.name == "sqlite" else "TIMESTAMPTZ '2999-01-01'"
    attack(told, ENTRY.format(kind="'sample'", happened=later, strikes="NULL"))


def test_a_reading_names_a_vessel(told):
    """A reading of something that is no vessel is refused."""
    attack(
        told,
        "INSERT INTO reading (entry_id, seq, vessel_id, property, value, uncertainty, method) "
        "SELECT id, 9, 'the moon', 'abv', 1.0, 0.0, '' FROM entry WHERE kind = 'sample'",
    )


def test_check_finds_what_a_hand_forced_past_every_guard(told):
    """With the guards torn down and a volume forged, `check` names the vessel."""
    if told._engine.dialect.name != "sqlite":
        pytest.skip("tearing the guards down is shown on SQLite; the law reads the same rows on both")
    with writing(told._engine) as connection:
        connection.execute(text("DROP TRIGGER move_no_update"))
        connection.execute(text("UPDATE move SET ml = ml + 1000000 WHERE destination_id = 'bottled'"))
    broken = [line for finding in told.check() for line in finding.broken]
    assert any("B-1 holds -" in line for line in broken)
    assert any("kept otherwise" in line for line in broken)
