"""Trials of blends by design: what is tried, the flights they were poured as, and which were withdrawn."""

import sqlalchemy as sa
from alembic import op

revision = "0009_trials"
down_revision = "0008_readiness"

KEPT = "a trial stands as it was planned: withdraw it, and plan a new one"
TABLES = {"trial": "id", "trial_flight": "flight_id", "trial_withdrawn": "trial_id"}
SQLITE = {
    f"{table}_{name}": body
    for table, key in TABLES.items()
    for name, body in (
        ("no_update", f"BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"),
        ("no_delete", f"BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"),
        (
            "no_replace",
            f"BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key}) "
            f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
        ),
    )
} | {
    # A REPLACE deletes whatever has the same code or the same session, too.
    "trial_code_no_replace": (
        "BEFORE INSERT ON trial WHEN EXISTS (SELECT 1 FROM trial WHERE code = NEW.code) "
        f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
    ),
    "trial_session_no_replace": (
        "BEFORE INSERT ON trial_flight WHEN EXISTS (SELECT 1 FROM trial_flight "
        f"WHERE trial_id = NEW.trial_id AND session = NEW.session) BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
    ),
}

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "trial",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("stocks", sa.JSON(), nullable=False),
        sa.Column("limits", sa.JSON(), nullable=False),
        sa.Column("design", sa.Text(), nullable=False),
        sa.Column("degree", sa.Integer(), nullable=False),
        sa.Column("glasses", sa.JSON(), nullable=False),
        sa.Column("step_ml", sa.Double(), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.Column("tasters", sa.JSON(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.CheckConstraint("degree IN (1, 2, 3)", name=op.f("ck_trial_degree")),
        sa.CheckConstraint("step_ml > 0", name=op.f("ck_trial_step")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trial")),
        sa.UniqueConstraint("code", name=op.f("uq_trial_code")),
    )
    op.create_table(
        "trial_flight",
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("trial_id", ID, nullable=False),
        sa.Column("session", sa.Integer(), nullable=False),
        sa.CheckConstraint("session > 0", name=op.f("ck_trial_flight_session")),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_trial_flight_flight_id_flight")),
        sa.ForeignKeyConstraint(["trial_id"], ["trial.id"], name=op.f("fk_trial_flight_trial_id_trial")),
        sa.PrimaryKeyConstraint("flight_id", name=op.f("pk_trial_flight")),
        sa.UniqueConstraint("trial_id", "session", name=op.f("uq_trial_flight_trial_id_session")),
    )
    op.create_table(
        "trial_withdrawn",
        sa.Column("trial_id", ID, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["trial_id"], ["trial.id"], name=op.f("fk_trial_withdrawn_trial_id_trial")),
        sa.PrimaryKeyConstraint("trial_id", name=op.f("pk_trial_withdrawn")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    op.execute(
        f"CREATE FUNCTION trial_stands() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{KEPT}'; END $$"
    )
    for table in TABLES:
        op.execute(
            f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION trial_stands()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION trial_stands()"
        )


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM trial")):
        raise RuntimeError("the older version does not keep trials: export the book, and keep this version")
    for table in reversed(TABLES):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION trial_stands()")
