"""Trials across barrels: the question, the treatments, which barrel got which, the flights, and what was withdrawn."""

import sqlalchemy as sa
from alembic import op

revision = "0010_barrel_trials"
down_revision = "0009_trials"

STANDS = "a trial stands as it was written: withdraw it with a reason and plan another"
KEYS = {
    "barrel_trial": "id = NEW.id OR code = NEW.code",
    "barrel_trial_barrel": "trial_id = NEW.trial_id AND vessel_id = NEW.vessel_id",
    "barrel_trial_flight": "flight_id = NEW.flight_id",
    "barrel_trial_withdrawn": "trial_id = NEW.trial_id",
}
# No barrel joins a trial that has all it was planned with.
COMPLETE = (
    "(SELECT count(*) FROM barrel_trial_barrel WHERE trial_id = NEW.trial_id) >= "
    "(SELECT barrels FROM barrel_trial WHERE id = NEW.trial_id)"
)
SQLITE = {
    f"{table}_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table, key in KEYS.items()
    for act, when in (
        ("update", f"UPDATE ON {table}"),
        ("delete", f"DELETE ON {table}"),
        ("replace", f"INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key})"),
    )
} | {
    "barrel_trial_barrel_complete": (
        f"BEFORE INSERT ON barrel_trial_barrel WHEN {COMPLETE} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    )
}
# What each function of PostgreSQL does, and the triggers (name, when) that call it.
POSTGRESQL = {
    "barrel_trial_stands": (
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
    "barrel_trial_barrel_complete": (
        f"IF {COMPLETE} THEN RAISE EXCEPTION '{STANDS}'; END IF; RETURN NEW;",
        [("barrel_trial_barrel_complete", "BEFORE INSERT ON barrel_trial_barrel FOR EACH ROW")],
    ),
}

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "barrel_trial",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("measure", sa.Text(), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.Column("treatments", sa.JSON(), nullable=False),
        sa.Column("barrels", sa.Integer(), nullable=False),
        sa.Column("blocked_by", sa.JSON(), nullable=False),
        sa.Column("seed", sa.BigInteger(), nullable=True),
        sa.Column("sittings", sa.JSON(), nullable=False),
        sa.Column("tasters", sa.JSON(), nullable=False),
        sa.Column("difference", sa.Double(), nullable=True),
        sa.Column("level", sa.Double(), nullable=False),
        sa.Column("stated", sa.JSON(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.CheckConstraint("barrels > 1 AND level > 0 AND level < 1", name=op.f("ck_barrel_trial_sizes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_barrel_trial")),
        sa.UniqueConstraint("code", name=op.f("uq_barrel_trial_code")),
    )
    op.create_table(
        "barrel_trial_barrel",
        sa.Column("trial_id", ID, nullable=False),
        sa.Column("vessel_id", ID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("block", sa.Text(), nullable=False),
        sa.Column("treatment", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["trial_id"], ["barrel_trial.id"], name=op.f("fk_barrel_trial_barrel_trial_id_barrel_trial")
        ),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_barrel_trial_barrel_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("trial_id", "vessel_id", name=op.f("pk_barrel_trial_barrel")),
    )
    op.create_table(
        "barrel_trial_flight",
        sa.Column("flight_id", ID, nullable=False),
        sa.Column("trial_id", ID, nullable=False),
        sa.Column("sitting", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_barrel_trial_flight_flight_id_flight")),
        sa.ForeignKeyConstraint(
            ["trial_id"], ["barrel_trial.id"], name=op.f("fk_barrel_trial_flight_trial_id_barrel_trial")
        ),
        sa.PrimaryKeyConstraint("flight_id", name=op.f("pk_barrel_trial_flight")),
    )
    op.create_table(
        "barrel_trial_withdrawn",
        sa.Column("trial_id", ID, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.ForeignKeyConstraint(
            ["trial_id"], ["barrel_trial.id"], name=op.f("fk_barrel_trial_withdrawn_trial_id_barrel_trial")
        ),
        sa.PrimaryKeyConstraint("trial_id", name=op.f("pk_barrel_trial_withdrawn")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for function, (body, triggers) in POSTGRESQL.items():
        op.execute(f"CREATE FUNCTION {function}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$")
        for name, when in triggers:
            op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {function}()")


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM barrel_trial")):
        raise RuntimeError(
            "the older version knows nothing of trials across barrels: export the book, and keep this version"
        )
    for table in ("barrel_trial_withdrawn", "barrel_trial_flight", "barrel_trial_barrel", "barrel_trial"):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        for function in POSTGRESQL:
            op.execute(f"DROP FUNCTION {function}()")
