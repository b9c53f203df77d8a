"""A flight may be a difference test: what it asks, the sets of glasses and the answers; and a taster may leave."""

import sqlalchemy as sa
from alembic import op

revision = "0011_difference"
down_revision = "0010_barrel_trials"

STANDS = "this flight is revealed, so it stands: pour a new one"

_REVEALED = "SELECT 1 FROM flight WHERE revealed_at IS NOT NULL AND "
# Where a row belongs to a revealed flight, `{0}` being NEW or OLD. On SQLite a REPLACE deletes what is in the way
# without a delete trigger, so a set of the same key is looked at too; what replaces a row of the others has its flight.
FLIGHT_OF = {
    "difference": _REVEALED + "id = {0}.flight_id",
    "presented": (
        _REVEALED + "(id = {0}.flight_id OR id IN (SELECT flight_id FROM presented WHERE presented.id = {0}.id))"
    ),
    "answer": _REVEALED + "id IN (SELECT flight_id FROM presented WHERE presented.id = {0}.presented_id)",
    "departed": _REVEALED + "id = {0}.flight_id",
}
SQLITE = {
    f"{table}_stands_{act.lower()}": (
        f"BEFORE {act} ON {table} WHEN {' OR '.join(f'EXISTS ({of.format(row)})' for row in rows)} "
        f"BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    )
    for table, of in FLIGHT_OF.items()
    for act, rows in (("INSERT", ("NEW",)), ("UPDATE", ("OLD", "NEW")), ("DELETE", ("OLD",)))
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
}

ID, NAME, TIME = sa.String(length=64), sa.String(length=40), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "difference",
        sa.Column("flight_id", ID, nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("test", "aim", "asked", "expected", "reference")),
        sa.Column("rounds", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Double(), nullable=False) for name in ("alpha", "share", "power")),
        sa.CheckConstraint(
            "test IN ('triangle', 'duo-trio', 'paired', '3-afc', 'tetrad')", name=op.f("ck_difference_test")
        ),
        sa.CheckConstraint("aim IN ('differ', 'alike')", name=op.f("ck_difference_aim")),
        sa.CheckConstraint(
            "expected IN ('', 'A', 'B') AND reference IN ('', 'A', 'B')", name=op.f("ck_difference_sample")
        ),
        sa.CheckConstraint(
            "rounds > 0 AND alpha > 0 AND alpha < 1 AND share > 0 AND share < 1 AND power > 0 AND power < 1",
            name=op.f("ck_difference_asked"),
        ),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_difference_flight_id_flight")),
        sa.PrimaryKeyConstraint("flight_id", name=op.f("pk_difference")),
    )
    op.create_table(
        "presented",
        sa.Column("id", ID, nullable=False),
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("taster", NAME, nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("glasses", sa.JSON(), nullable=False),
        sa.Column("drawn_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_presented_flight_id_flight")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_presented")),
        sa.UniqueConstraint("flight_id", "taster", "round", name=op.f("uq_presented_flight_id_taster_round")),
    )
    op.create_table(
        "answer",
        sa.Column("presented_id", ID, nullable=False),
        sa.Column("codes", sa.JSON(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["presented_id"], ["presented.id"], name=op.f("fk_answer_presented_id_presented")),
        sa.PrimaryKeyConstraint("presented_id", name=op.f("pk_answer")),
    )
    op.create_table(
        "departed",
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("taster", NAME, nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_departed_flight_id_flight")),
        sa.PrimaryKeyConstraint("flight_id", "taster", name=op.f("pk_departed")),
    )
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
    "difference tests": "SELECT 1 FROM difference",
    "tasters who left a flight": "SELECT 1 FROM departed",
}


def downgrade() -> None:
    for what, rows in NEWER.items():
        if op.get_bind().execute(sa.text(rows)).first() is not None:
            raise RuntimeError(f"the older version knows nothing of {what}: export the book, and keep this version")
    for table in ("departed", "answer", "presented", "difference"):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        for name in POSTGRESQL:
            op.execute(f"DROP FUNCTION {name}()")
