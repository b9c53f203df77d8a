"""A cellar whose every text holds what a terminal would obey or Rich would read as markup: no door takes it today."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypedDict

from sqlalchemy import CheckConstraint, Connection, Table, select, text, update

from cooperage.blending.trials.planning import TrialAsked, keep_trial, plan_trial
from cooperage.blending.trials.stocks import GivenStock
from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.replay.cache import StateCache
from cooperage.book.store.engine import writing
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import METADATA, SERVING, TRIAL
from cooperage.plaintext import visible
from cooperage.programme.bottling.run import BottlingRun, RunExpected, RunLine, RunLineKind
from cooperage.programme.bottling.stored import insert_lines, insert_run
from cooperage.programme.bottling_risks.passed import RisksPassed, insert_passed
from cooperage.tasting.flights import peek, reveal, score, start_flight
from cooperage.tasting.flights.vocabulary import add_term, rename_term

POISON = "\x1b]0;gone\x07\x1b[2J\x9b1m\u202e\u2028\x7f[/][red]["
MARKED = visible(POISON)
SPOKEN = ("room", "row", "reason", "method", "smell", "code")
"""Words of an entry that a hand wrote freely."""
KEPT = {
    "kind",
    "state",
    "property",
    "substance",
    "scale",
    "design",
    "task",
    "key",
    "topping",
    "part",
    "role",
    "verdict",
}
"""Columns that hold words of ours."""


class Signature(TypedDict):
    """What every entry bears: who wrote it, their note, and that they were sure."""

    hand: str
    note: str
    sure: bool


def furnish(book: Book) -> None:
    """Write a cellar with most kinds of entry, a flight that is revealed and one that is not."""
    oak = Barrel(
        cooper="cooper", wood="oak", forest="forest", toast_staves="light", past_life="rum", past_kind="spirit"
    )
    began = book.now() - timedelta(days=120)
    with book.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 1_000_000, position=("Low", None, None, None), note="note"))
        session.add_vessel(Vessel("", "K-1", "keg", 50_000, position=("Low", None, None, None)))
        for nth in (1, 2, 3):
            place = ("Low", "A", nth, 1)
            session.add_vessel(Vessel("", f"B-{nth}", "barrel", 225_000, position=place, note="note", barrel=oak))
        session.add_lot(Lot("", "HE", "Heather", "heather", 1.11, 1.01, 13.0, 6.0, note="note"))
        write = session.write
        signed: Signature = {"hand": "Ada", "note": "note", "sure": True}
        write(acts.Receive(lot="HE", vessel="T-1", volume=900_000, at=began, **signed))
        write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000, at=began + timedelta(hours=1), **signed))
        for nth in (1, 2):
            write(acts.Fill(vessel=f"B-{nth}", source="T-1", at=began + timedelta(hours=2), **signed))
        for nth in (1, 2, 3, 4):
            at = began + timedelta(days=24 * nth)
            for vessel in ("B-1", "B-2"):
                write(acts.Top(vessel=vessel, source="K-1", volume=1500, at=at, **signed))
                for name, value in (("free_so2_mg_l", 10.0), ("ph", 3.4), ("va_g_l", 0.4 + nth / 5), ("abv", 13.0)):
                    write(acts.Reading(vessel=vessel, property=name, value=value, method="hand", at=at, **signed))
        at = began + timedelta(days=110)
        write(acts.Look(vessel="B-1", bung="weeping", smell="vinegar", level="low", at=at, **signed))
        write(acts.Climate(room="Low", temperature=14.0, humidity=70.0, at=at, **signed))
        write(acts.Shift(vessel="B-2", room="Loft", row="B", at=at, **signed))
        write(acts.Treat(vessel="B-3", treatment="rinse", at=at, **signed))
        write(acts.Bottle(vessel="T-1", code="NIGHT", bottles=10, at=at, **signed))
        struck = write(acts.Sample(vessel="B-1", volume=100, at=at, **signed))
        write(acts.Strike(entry=struck.id, **signed))
    for code in ("F-1", "F-2"):
        asked: dict[str, Any] = {"trials": {"999": "glass: 5 ml B-1"}, "attributes": ["oak"], "reference": "T-1"}
        poured = start_flight(book, ["B-1", "B-2"], code=code, name="spring", **asked)
        for nth, glass in enumerate(poured.glasses):
            score(book, code, glass.code, "Ada", 10.0 + nth, "fine", marks={"oak": nth}, verdict=Judgement("keep"))
            score(book, code, glass.code, "Bob", 11.0 + nth, "thin", marks={"oak": nth})
        peek(book, code, hand="Ada")
    add_term(book, "word", "sea salt", family="salt")
    rename_term(book, "attribute", "oak", "wood")
    reveal(book, "F-1", hand="Ada")
    asked_of_trial = TrialAsked([GivenStock("B-1"), GivenStock("B-2")], "how much?", tasters=("Ada",))
    keep_trial(book, plan_trial(book, book.cellar(), asked_of_trial), hand="Ada")


def poison(book: Book) -> None:
    """Put the poison into every text column of every table, with the guards taken away and put back."""
    with writing(book._engine) as connection:
        guards = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")).all()
        for name, _ in guards:
            connection.execute(text(f"DROP TRIGGER {name}"))
        for table in METADATA.sorted_tables:
            for name in poisoned_columns(table):
                changed = f'UPDATE {table.name} SET "{name}" = "{name}" || :poison WHERE "{name}" <> \'\''
                connection.execute(text(changed), {"poison": POISON})
        for entry_id, message in connection.execute(text("SELECT id, said FROM entry")).all():
            words = {
                key: value + POISON if key in SPOKEN and value else value for key, value in json.loads(message).items()
            }
            connection.execute(
                text("UPDATE entry SET said = :said WHERE id = :id"), {"id": entry_id, "said": json.dumps(words)}
            )
        for row in connection.execute(select(TRIAL)).all():
            stocks = [
                each | {"name": each["name"] + POISON, "vessels": [tag + POISON for tag in each["vessels"]]}
                for each in row.stocks
            ]
            values = {"stocks": stocks, "tasters": [name + POISON for name in row.tasters]}
            connection.execute(update(TRIAL).where(TRIAL.c.id == row.id).values(values))
        for row in connection.execute(select(SERVING)).all():
            codes = [code + POISON for code in row.glasses]
            here = (SERVING.c.flight_id == row.flight_id) & (SERVING.c.taster == row.taster)
            connection.execute(update(SERVING).where(here).values(glasses=codes))
        connection.execute(text("DELETE FROM reckoned"))
        connection.execute(text("DELETE FROM snapshot"))
        connection.execute(text("INSERT INTO cellar VALUES ('name', :name)"), {"name": f"Ours{POISON}"})
        for _, made in guards:
            connection.exec_driver_sql(made)


def poisoned_columns(table: Table) -> list[str]:
    """List the text columns of a table that a hand can fill."""
    chosen = " ".join(str(rule.sqltext) for rule in table.constraints if isinstance(rule, CheckConstraint))
    return [
        column.name
        for column in table.columns
        if column.type.python_type is str
        and not column.primary_key | bool(column.foreign_keys)
        and column.name not in KEPT
        and f"{column.name} IN" not in chosen
    ] + (["taster"] if table.name in ("score", "mark", "serving") else [])


def poisoned_cellar(path: Path) -> Path:
    """Make the cellar at a path."""
    book = Book.create(str(path), now=lambda: datetime.now(UTC))
    furnish(book)
    poison(book)
    with writing(book._engine) as connection:  # states whole again, so that what is learned is found by its mark
        cache = StateCache(connection, Registry(connection), book.now())
        cache.is_changed_since(datetime.min.replace(tzinfo=UTC))
        cache.save()
        _open_run(connection, book.now())
    book.close()
    return path


def _open_run(connection: Connection, now: datetime) -> None:
    """Open a bottling run as an older book could have it, with a line of words."""
    made = RisksPassed("risks", [f"T-1{POISON}"], {}, [], {}, POISON, now)
    insert_passed(connection, made)
    expected = RunExpected(1000, 900, 1100, 10)
    insert_run(
        connection, BottlingRun("run", "RUN", (f"T-1{POISON}",), {750: None}, None, expected, "risks", POISON, now)
    )
    kinds = (RunLineKind.NOTE, RunLineKind.STOP)
    lines = [RunLine("run", n, kind, words=POISON, hand=POISON, at=now) for n, kind in enumerate(kinds, 1)]
    insert_lines(connection, lines)
