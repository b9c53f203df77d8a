"""A cellar's own values of rules, which profile it works by, and which risks of a bottling were passed and why."""

import sqlalchemy as sa
from alembic import op

revision = "0014_rules"
down_revision = "0013_prices"

STANDS = "this stands as it was written: write what holds now beside it"
TABLES = ("own_rule", "risks_passed")
SQLITE = {
    f"{table}_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table in TABLES
    for act, when in (
        ("update", f"UPDATE ON {table}"),
        ("delete", f"DELETE ON {table}"),
        ("replace", f"INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)"),
    )
}

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "own_rule",
        sa.Column("id", ID, nullable=False),
        sa.Column("profile", sa.String(length=40), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=True),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_rule")),
    )
    op.create_table(
        "risks_passed",
        sa.Column("id", ID, nullable=False),
        sa.Column("vessels", sa.JSON(), nullable=False),
        sa.Column("asked", sa.JSON(), nullable=False),
        sa.Column("figures", sa.JSON(), nullable=False),
        sa.Column("reasons", sa.JSON(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_risks_passed")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    op.execute(
        f"CREATE FUNCTION rule_stands() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{STANDS}'; END $$"
    )
    for table in TABLES:
        op.execute(
            f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION rule_stands()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION rule_stands()"
        )


def downgrade() -> None:
    for table in TABLES:
        if op.get_bind().scalar(sa.text(f"SELECT count(*) FROM {table}")):
            raise RuntimeError("the older version keeps no rules: export the book, and keep this version")
    for table in TABLES:
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION rule_stands()")
