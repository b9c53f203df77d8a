"""Closed periods: the figures as they were filed, and the entries they count."""

import sqlalchemy as sa
from alembic import op

revision = "0015_periods"
down_revision = "0014_rules"

STANDS = "a filed period stands as it was filed: differences go into the next, or file a correction of it"
KEYS = {
    "period": ("id = NEW.id OR code = NEW.code OR (NEW.corrects_id IS NOT NULL AND corrects_id = NEW.corrects_id)"),
    "filed_figure": "period_id = NEW.period_id AND place = NEW.place",
    "filed_entry": "period_id = NEW.period_id AND entry_id = NEW.entry_id",
}
# Nothing joins a period that is there: its figures and entries are written before it.
JOINING = ("filed_figure", "filed_entry")
IS_THERE = "EXISTS (SELECT 1 FROM period WHERE id = NEW.period_id)"
SQLITE = {
    f"{table}_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table, key in KEYS.items()
    for act, when in (
        ("update", f"UPDATE ON {table}"),
        ("delete", f"DELETE ON {table}"),
        ("replace", f"INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key})"),
    )
} | {
    f"{table}_while_filed": f"BEFORE INSERT ON {table} WHEN {IS_THERE} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table in JOINING
}
# What each function of PostgreSQL does, and the triggers (name, when) that call it.
POSTGRESQL = {
    "filed_period_stands": (
        f"RAISE EXCEPTION '{STANDS}';",
        [
            trigger
            for table in KEYS
            for trigger in (
                (f"{table}_kept", f"BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW"),
                (f"{table}_not_emptied", f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT"),
            )
        ],
    ),
    "joins_while_filed": (
        f"IF {IS_THERE} THEN RAISE EXCEPTION '{STANDS}'; END IF; RETURN NEW;",
        [(f"{table}_while_filed", f"BEFORE INSERT ON {table} FOR EACH ROW") for table in JOINING],
    ),
}

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def _of_period(table: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_period_id_period")
    return sa.ForeignKeyConstraint(["period_id"], ["period.id"], name=name, deferrable=True, initially="DEFERRED")


def upgrade() -> None:
    op.create_table(
        "period",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("starts_at", TIME, nullable=False),
        sa.Column("ends_at", TIME, nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        *(sa.Column(name, sa.JSON(), nullable=False) for name in ("classes", "totals", "bottlings", "counted")),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("digest", "hand", "note")),
        sa.Column("written_at", TIME, nullable=False),
        sa.Column("corrects_id", ID, nullable=True),
        sa.CheckConstraint("starts_at < ends_at AND ends_at <= written_at", name=op.f("ck_period_over")),
        sa.ForeignKeyConstraint(
            ["corrects_id"],
            ["period.id"],
            name=op.f("fk_period_corrects_id_period"),
            deferrable=True,
            initially="DEFERRED",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_period")),
        sa.UniqueConstraint("code", name=op.f("uq_period_code")),
        sa.UniqueConstraint("corrects_id", name=op.f("uq_period_corrects_id")),
    )
    op.create_table(
        "filed_figure",
        sa.Column("period_id", ID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("part", "line", "strength_class")),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("sign", "is_carried")),
        sa.Column("ml", sa.BigInteger(), nullable=False),
        sa.Column("printed", sa.Text(), nullable=False),
        sa.CheckConstraint("sign IN (-1, 1)", name=op.f("ck_filed_figure_sign")),
        _of_period("filed_figure"),
        sa.PrimaryKeyConstraint("period_id", "place", name=op.f("pk_filed_figure")),
    )
    op.create_table(
        "filed_entry",
        sa.Column("period_id", ID, nullable=False),
        sa.Column("entry_id", ID, nullable=False),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_filed_entry_entry_id_entry")),
        _of_period("filed_entry"),
        sa.PrimaryKeyConstraint("period_id", "entry_id", name=op.f("pk_filed_entry")),
    )
    op.create_index(op.f("ix_filed_entry_entry_id"), "filed_entry", ["entry_id"])
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for function, (body, triggers) in POSTGRESQL.items():
        op.execute(f"CREATE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$")
        for name, when in triggers:
            op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {function}()")


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM period")):
        raise RuntimeError("the older version knows nothing of filed periods: export the book, and keep this version")
    for table in ("filed_entry", "filed_figure", "period"):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        for function in POSTGRESQL:
            op.execute(f"DROP FUNCTION {function}()")
