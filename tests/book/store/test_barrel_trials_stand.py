"""A trial across barrels stands as it was written: attacked with raw SQL on both backends."""

from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.engine import writing
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.kept import keep_trial, trials_in, withdraw_trial
from cooperage.programme.compared.planning import AskedOfTrial, plan_trial
from cooperage.programme.compared.pouring import pour_sitting
from cooperage.programme.compared.trial import TrialTreatment

TABLES = ("barrel_trial", "barrel_trial_barrel", "barrel_trial_flight", "barrel_trial_withdrawn")
TAGS = ("B-1", "B-2", "B-3", "B-4")


@pytest.fixture
def tried(cellar_book: Book) -> Book:
    """A trial of four barrels that was poured for once, and withdrawn."""
    for tag in TAGS[1:]:
        cellar_book.write(acts.Fill(vessel=tag, source="T-1", volume=20_000, sure=True))
    cellar = cellar_now(cellar_book)
    asked = AskedOfTrial("weekly?", "TOP", [TrialTreatment("a"), TrialTreatment("b")], tasters=["Ada"])
    keep_trial(cellar_book, plan_trial(cellar_book, cellar, [cellar[tag] for tag in TAGS], asked).trial)
    pour_sitting(cellar_book, "TOP")
    withdraw_trial(cellar_book, "TOP", "enough")
    return cellar_book


CHANGES = [
    "UPDATE barrel_trial SET question = 'x'",
    "UPDATE barrel_trial SET barrels = 9",
    "UPDATE barrel_trial_barrel SET treatment = 1 - treatment",
    "UPDATE barrel_trial_flight SET sitting = 2",
    "UPDATE barrel_trial_withdrawn SET why = 'x'",
    *(f"DELETE FROM {table}" for table in reversed(TABLES)),
    "INSERT INTO barrel_trial_barrel (trial_id, vessel_id, place, block, treatment) "
    "SELECT id, (SELECT id FROM vessel WHERE tag = 'T-1'), 5, 'all', 0 FROM barrel_trial",
]


def rows(book: Book) -> Any:
    with book.reading() as connection:
        return [connection.execute(text(f"SELECT * FROM {table} ORDER BY 1, 2")).all() for table in TABLES]


def test_nothing_of_a_trial_is_changed_taken_away_or_added(tried: Book) -> None:
    before = rows(tried)
    for statement in CHANGES:
        with pytest.raises(DBAPIError, match="stands as it was written"), writing(tried._engine) as connection:
            connection.execute(text(statement))
        assert rows(tried) == before, statement
    assert all(not finding.broken for finding in tried.check())
    with tried.reading() as connection:
        [trial] = trials_in(connection)
    assert (trial.code, len(trial.barrels), len(trial.poured), trial.withdrawn is not None) == ("TOP", 4, 1, True)


def test_nothing_of_a_trial_is_replaced_or_emptied(tried: Book) -> None:
    """REPLACE, with or without recursive_triggers, and TRUNCATE do not slip past."""
    before = rows(tried)
    for table in TABLES:
        if tried._engine.dialect.name != "sqlite":
            with pytest.raises(DBAPIError, match="stands"), writing(tried._engine) as connection:
                connection.execute(text(f"TRUNCATE {table} CASCADE"))
            continue
        for pragma in ("ON", "OFF"):
            with tried._engine.connect() as connection:
                connection.exec_driver_sql("ROLLBACK")
                connection.exec_driver_sql(f"PRAGMA recursive_triggers={pragma}")
                with pytest.raises(DBAPIError, match="stands as it was written"):
                    connection.exec_driver_sql(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}")
    assert rows(tried) == before
