"""What was done to several vessels at once bears a common mark; what is to be done is written as orders."""

import sqlalchemy as sa
from alembic import op

revision = "0005_together_and_orders"
down_revision = "0004_guards"

DONE = "this entry is not being written: write a new one"
KEPT = "the book is append-only: strike the entry instead"

SQLITE = {
    "together_no_update": f"BEFORE UPDATE ON together BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "together_no_delete": f"BEFORE DELETE ON together BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "together_no_replace": (
        "BEFORE INSERT ON together WHEN EXISTS (SELECT 1 FROM together WHERE entry_id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
    ),
    "together_while_written": (
        "BEFORE INSERT ON together WHEN NOT EXISTS (SELECT 1 FROM open_entry WHERE entry_id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{DONE}'); END"
    ),
}
# When each trigger of PostgreSQL fires, and the function that it calls: those of the first and the fourth migration.
POSTGRESQL = {
    "together_kept": ("BEFORE UPDATE OR DELETE ON together FOR EACH ROW", "book_is_append_only"),
    "together_not_emptied": ("BEFORE TRUNCATE ON together FOR EACH STATEMENT", "book_is_append_only"),
    "together_while_written": ("BEFORE INSERT ON together FOR EACH ROW", "while_written"),
}


def upgrade() -> None:
    op.create_table(
        "together",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("act_id", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_together_entry_id_entry")),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_together")),
    )
    op.create_index(op.f("ix_together_act_id"), "together", ["act_id"])
    op.create_table(
        "orders",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("day", sa.String(length=10), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("texts", sa.JSON(), nullable=False),
        sa.Column("each", sa.JSON(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("entries", sa.JSON(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("state IN ('open', 'done', 'withdrawn')", name=op.f("ck_orders_state")),
        sa.CheckConstraint("(state = 'open') = (closed_at IS NULL)", name=op.f("ck_orders_closed")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("number", name=op.f("uq_orders_number")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for name, (when, function) in POSTGRESQL.items():
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {function}()")


def downgrade() -> None:
    for table in ("together", "orders"):
        if op.get_bind().scalar(sa.text(f"SELECT count(*) FROM {table}")):
            raise RuntimeError(f"the older version knows nothing of {table}: export the book, and keep this version")
    op.drop_table("orders")  # the triggers go with their table
    op.drop_table("together")
