"""Guards: rows join an entry only while it is being written; a flight stands once it is revealed."""

import sqlalchemy as sa
from alembic import op

revision = "0004_guards"
down_revision = "0003_last_written"

DONE = "this entry is not being written: write a new one"
KEPT = "the book is append-only: strike the entry instead"
STRUCK = "an entry is struck at most once"
STANDS = "this flight is revealed, so it stands: pour a new one"
OF_AN_ENTRY = ("move", "reading", "bottling")

# Where a row belongs to a revealed flight, `{0}` being NEW or OLD. On SQLite a REPLACE deletes what is in the
# way, without a delete trigger unless recursive_triggers is on: so what has the same key is looked at too.
FLIGHT_OF = {
    "flight": "SELECT 1 FROM flight WHERE revealed_at IS NOT NULL AND (id = {0}.id OR code = {0}.code)",
    "glass": (
        "SELECT 1 FROM flight WHERE revealed_at IS NOT NULL AND "
        "(id = {0}.flight_id OR id IN (SELECT flight_id FROM glass WHERE id = {0}.id))"
    ),
    "score": (
        "SELECT 1 FROM flight WHERE revealed_at IS NOT NULL AND "
        "id IN (SELECT flight_id FROM glass WHERE id = {0}.glass_id)"
    ),
}
SQLITE = {
    "entry_opens": "BEFORE INSERT ON entry BEGIN INSERT INTO open_entry (entry_id) VALUES (NEW.id); END",
    "open_entry_is_new": (
        "BEFORE INSERT ON open_entry WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
    ),
    "open_entry_no_update": f"BEFORE UPDATE ON open_entry BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "entry_struck_no_replace": (
        "BEFORE INSERT ON entry WHEN EXISTS (SELECT 1 FROM entry WHERE strikes_id = NEW.strikes_id) "
        f"BEGIN SELECT RAISE(ABORT, '{STRUCK}'); END"
    ),
}
SQLITE |= {
    f"{table}_while_written": (
        f"BEFORE INSERT ON {table} WHEN NOT EXISTS (SELECT 1 FROM open_entry WHERE entry_id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{DONE}'); END"
    )
    for table in OF_AN_ENTRY
}
SQLITE |= {
    f"{table}_stands_{act.lower()}": (
        f"BEFORE {act} ON {table} WHEN {' OR '.join(f'EXISTS ({of.format(row)})' for row in rows)} "
        f"BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    )
    for table, of in FLIGHT_OF.items()
    for act, rows in (("INSERT", ("NEW",)), ("UPDATE", ("OLD", "NEW")), ("DELETE", ("OLD",)))
}

# What each function of PostgreSQL does, and the triggers (when, table, for each) that call it.
POSTGRESQL = {
    "entry_opens": (
        "INSERT INTO open_entry (entry_id) VALUES (NEW.id); RETURN NEW;",
        [("BEFORE INSERT", "entry", "ROW")],
    ),
    "open_entry_is_new": (
        "IF TG_OP = 'UPDATE' OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.entry_id) "
        f"THEN RAISE EXCEPTION '{KEPT}'; END IF; RETURN NEW;",
        [("BEFORE INSERT OR UPDATE", "open_entry", "ROW")],
    ),
    "while_written": (
        "IF NOT EXISTS (SELECT 1 FROM open_entry WHERE entry_id = NEW.entry_id) "
        f"THEN RAISE EXCEPTION '{DONE}'; END IF; RETURN NEW;",
        [("BEFORE INSERT", table, "ROW") for table in OF_AN_ENTRY],
    ),
    "no_table_of_flights_is_emptied": (
        f"RAISE EXCEPTION '{STANDS}';",
        [("BEFORE TRUNCATE", table, "STATEMENT") for table in FLIGHT_OF],
    ),
} | {
    f"{table}_stands": (
        f"IF TG_OP <> 'INSERT' AND EXISTS ({of.format('OLD')}) THEN RAISE EXCEPTION '{STANDS}'; END IF; "
        f"IF TG_OP <> 'DELETE' AND EXISTS ({of.format('NEW')}) THEN RAISE EXCEPTION '{STANDS}'; END IF; "
        "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW;",
        [("BEFORE INSERT OR UPDATE OR DELETE", table, "ROW")],
    )
    for table, of in FLIGHT_OF.items()
}


def upgrade() -> None:
    op.create_table(
        "open_entry",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_open_entry")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for function, (body, triggers) in POSTGRESQL.items():
        op.execute(f"CREATE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$")
        for when, table, each in triggers:
            name = _trigger_name(function, table)
            op.execute(f"CREATE TRIGGER {name} {when} ON {table} FOR EACH {each} EXECUTE FUNCTION {function}()")


def _trigger_name(function: str, table: str) -> str:
    return {"while_written": f"{table}_while_written", "no_table_of_flights_is_emptied": f"{table}_not_emptied"}.get(
        function, function
    )


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for name in SQLITE:
            op.execute(f"DROP TRIGGER {name}")
    else:
        for function in POSTGRESQL:
            op.execute(f"DROP FUNCTION {function}() CASCADE")
    op.drop_table("open_entry")
