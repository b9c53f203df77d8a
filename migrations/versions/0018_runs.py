"""Bottling runs: what was opened, every line of them, and what they came to."""

import sqlalchemy as sa
from alembic import op

revision = "0018_runs"
down_revision = "0017_recall"

STANDS = "a bottling run stands as it was written: strike a wrong line by another"
KEYS = {
    "run": "id = NEW.id OR code = NEW.code",
    "run_line": "run_id = NEW.run_id AND (number = NEW.number OR strikes = NEW.strikes)",
    "run_closed": "id = NEW.id",
}
SQLITE = {
    f"{table}_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table, key in KEYS.items()
    for act, when in (
        ("update", f"UPDATE ON {table}"),
        ("delete", f"DELETE ON {table}"),
        ("replace", f"INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key})"),
    )
}
POSTGRESQL = {
    name: when
    for table in KEYS
    for name, when in (
        (f"{table}_kept", f"BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW"),
        (f"{table}_not_emptied", f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT"),
    )
}

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def _of_run(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f(f"fk_{table}_run_id_run"))


def upgrade() -> None:
    op.create_table(
        "run",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("vessels", sa.JSON(), nullable=False),
        sa.Column("sizes", sa.JSON(), nullable=False),
        sa.Column("label", sa.Double(), nullable=True),
        sa.Column("expected", sa.JSON(), nullable=False),
        sa.Column("risks_id", ID, nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("opened_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["risks_id"], ["risks_passed.id"], name=op.f("fk_run_risks_id_risks_passed")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run")),
        sa.UniqueConstraint("code", name=op.f("uq_run_code")),
    )
    op.create_table(
        "run_line",
        sa.Column("run_id", ID, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=True) for name in ("bottle_ml", "bottles", "ml")),
        sa.Column("volumes_ml", sa.JSON(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("strikes", sa.Integer(), nullable=True),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint("number > 0", name=op.f("ck_run_line_number")),
        sa.CheckConstraint("bottles > 0", name=op.f("ck_run_line_bottles")),
        sa.CheckConstraint("ml > 0", name=op.f("ck_run_line_ml")),
        _of_run("run_line"),
        sa.PrimaryKeyConstraint("run_id", "number", name=op.f("pk_run_line")),
        sa.UniqueConstraint("run_id", "strikes", name=op.f("uq_run_line_run_id_strikes")),
    )
    op.create_table(
        "run_closed",
        sa.Column("id", ID, nullable=False),
        sa.Column("run_id", ID, nullable=False),
        sa.Column("entries", sa.JSON(), nullable=False),
        sa.Column("came_to", sa.JSON(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        _of_run("run_closed"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run_closed")),
    )
    op.create_index(op.f("ix_run_closed_run_id"), "run_closed", ["run_id"])
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    op.execute(
        f"CREATE FUNCTION run_stands() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{STANDS}'; END $$"
    )
    for name, when in POSTGRESQL.items():
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION run_stands()")


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM run")):
        raise RuntimeError("the older version keeps no bottling runs: export the book, and keep this version")
    for table in ("run_closed", "run_line", "run"):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION run_stands()")
