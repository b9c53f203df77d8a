"""Flights have attributes, orders of serving, verdicts, peeks; the cellar has its own vocabulary of tasting."""

import sqlalchemy as sa
from alembic import op

revision = "0007_flights"
down_revision = "0006_registered"

STANDS = "this flight is revealed, so it stands: pour a new one"
SEEN = "who looked up a blind flight stays written"

_REVEALED = "SELECT 1 FROM flight WHERE revealed_at IS NOT NULL AND "
# Where a row belongs to a revealed flight, `{0}` being NEW or OLD. On SQLite a REPLACE deletes what is in the way
# without a delete trigger, so a peek of the same key is looked at too; what replaces a row of the others has its
# flight.
FLIGHT_OF = {
    "scored": _REVEALED + "id = {0}.flight_id",
    "serving": _REVEALED + "id = {0}.flight_id",
    "peek": _REVEALED + "(id = {0}.flight_id OR id IN (SELECT flight_id FROM peek WHERE id = {0}.id))",
    "mark": _REVEALED + "id IN (SELECT flight_id FROM glass WHERE id = {0}.glass_id)",
}
SQLITE = {
    f"{table}_stands_{act.lower()}": (
        f"BEFORE {act} ON {table} WHEN {' OR '.join(f'EXISTS ({of.format(row)})' for row in rows)} "
        f"BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    )
    for table, of in FLIGHT_OF.items()
    for act, rows in (("INSERT", ("NEW",)), ("UPDATE", ("OLD", "NEW")), ("DELETE", ("OLD",)))
} | {
    "peek_no_update": f"BEFORE UPDATE ON peek BEGIN SELECT RAISE(ABORT, '{SEEN}'); END",
    "peek_no_delete": f"BEFORE DELETE ON peek BEGIN SELECT RAISE(ABORT, '{SEEN}'); END",
    "peek_no_replace": (
        "BEFORE INSERT ON peek WHEN EXISTS (SELECT 1 FROM peek WHERE id = NEW.id) "
        f"BEGIN SELECT RAISE(ABORT, '{SEEN}'); END"
    ),
}
# What each function of PostgreSQL does, and when the trigger of its name fires.
POSTGRESQL = {
    f"{table}_stands": (
        f"IF TG_OP <> 'INSERT' AND EXISTS ({of.format('OLD')}) THEN RAISE EXCEPTION '{STANDS}'; END IF; "
        f"IF TG_OP <> 'DELETE' AND EXISTS ({of.format('NEW')}) THEN RAISE EXCEPTION '{STANDS}'; END IF; "
        "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW;",
        f"BEFORE INSERT OR UPDATE OR DELETE ON {table} FOR EACH ROW",
    )
    for table, of in FLIGHT_OF.items()
} | {"peek_kept": (f"RAISE EXCEPTION '{SEEN}';", "BEFORE UPDATE OR DELETE ON peek FOR EACH ROW")}

ID, NAME, TIME = sa.String(length=64), sa.String(length=40), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "term",
        sa.Column("id", ID, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", NAME, nullable=False),
        sa.Column("family", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.Column("is_fault", sa.Integer(), nullable=False),
        sa.Column("formerly", sa.JSON(), nullable=False),
        sa.Column("retired_at", TIME, nullable=True),
        sa.CheckConstraint("kind IN ('attribute', 'word')", name=op.f("ck_term_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_term")),
        sa.UniqueConstraint("kind", "name", name=op.f("uq_term_kind_name")),
    )
    op.create_table(
        "scored",
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("term_id", ID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_scored_flight_id_flight")),
        sa.ForeignKeyConstraint(["term_id"], ["term.id"], name=op.f("fk_scored_term_id_term")),
        sa.PrimaryKeyConstraint("flight_id", "term_id", name=op.f("pk_scored")),
    )
    op.create_table(
        "serving",
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("taster", NAME, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("glasses", sa.JSON(), nullable=False),
        sa.Column("drawn_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_serving_flight_id_flight")),
        sa.PrimaryKeyConstraint("flight_id", "taster", name=op.f("pk_serving")),
    )
    op.create_table(
        "peek",
        sa.Column("id", ID, nullable=False),
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_peek_flight_id_flight")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_peek")),
    )
    op.create_table(
        "mark",
        sa.Column("glass_id", ID, nullable=False),
        sa.Column("taster", NAME, nullable=False),
        sa.Column("term_id", ID, nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["glass_id"], ["glass.id"], name=op.f("fk_mark_glass_id_glass")),
        sa.ForeignKeyConstraint(["term_id"], ["term.id"], name=op.f("fk_mark_term_id_term")),
        sa.PrimaryKeyConstraint("glass_id", "taster", "term_id", name=op.f("pk_mark")),
    )
    op.add_column("flight", sa.Column("revealed_by", sa.Text(), nullable=True))
    op.add_column("glass", sa.Column("role", sa.Text(), nullable=False, server_default=""))
    op.add_column("score", sa.Column("verdict", sa.Text(), nullable=False, server_default=""))
    op.add_column("score", sa.Column("weeks", sa.Integer(), nullable=True))
    op.execute("DELETE FROM reckoned")  # kept states know what was decided about a vessel
    op.execute("DELETE FROM snapshot")
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for name, (body, when) in POSTGRESQL.items():
        op.execute(f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$")
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {name}()")
    for table in FLIGHT_OF:  # with the function of the fourth migration
        op.execute(
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION no_table_of_flights_is_emptied()"
        )


# What the older version does not know, and the rows that are of it.
NEWER = {
    "attributes, orders of serving, verdicts or looked-up codes of flights": (
        "SELECT 1 FROM scored UNION ALL SELECT 1 FROM serving UNION ALL SELECT 1 FROM peek UNION ALL "
        "SELECT 1 FROM mark UNION ALL SELECT 1 FROM score WHERE verdict <> '' UNION ALL "
        "SELECT 1 FROM glass WHERE role <> '' UNION ALL SELECT 1 FROM flight WHERE revealed_by IS NOT NULL"
    ),
    "a vocabulary of tasting": "SELECT 1 FROM term",
    "entries of kind judge": "SELECT 1 FROM entry WHERE kind = 'judge'",
}


def downgrade() -> None:
    for what, rows in NEWER.items():
        if op.get_bind().execute(sa.text(rows)).first() is not None:
            raise RuntimeError(f"the older version knows nothing of {what}: export the book, and keep this version")
    for table in ("mark", "peek", "serving", "scored", "term"):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        for name in POSTGRESQL:
            op.execute(f"DROP FUNCTION {name}()")
    op.drop_column("score", "weeks")
    op.drop_column("score", "verdict")
    op.drop_column("glass", "role")
    op.drop_column("flight", "revealed_by")
    op.execute("DELETE FROM reckoned")
    op.execute("DELETE FROM snapshot")
