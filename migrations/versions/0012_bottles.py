"""What became of the bottles of a bottling: whole bottles of one bottling go from one place to another."""

import sqlalchemy as sa
from alembic import op

revision = "0012_bottles"
down_revision = "0011_difference"

DONE = "this entry is not being written: write a new one"
KEPT = "the book is append-only: strike the entry instead"

SQLITE = {
    "bottle_move_no_update": f"BEFORE UPDATE ON bottle_move BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "bottle_move_no_delete": f"BEFORE DELETE ON bottle_move BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "bottle_move_no_replace": (
        "BEFORE INSERT ON bottle_move WHEN EXISTS (SELECT 1 FROM bottle_move WHERE entry_id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
    ),
    "bottle_move_while_written": (
        "BEFORE INSERT ON bottle_move WHEN NOT EXISTS (SELECT 1 FROM open_entry WHERE entry_id = NEW.entry_id) "
        f"BEGIN SELECT RAISE(ABORT, '{DONE}'); END"
    ),
}
# When each trigger of PostgreSQL fires, and the function that it calls: those of the first and the fourth migration.
POSTGRESQL = {
    "bottle_move_kept": ("BEFORE UPDATE OR DELETE ON bottle_move FOR EACH ROW", "book_is_append_only"),
    "bottle_move_not_emptied": ("BEFORE TRUNCATE ON bottle_move FOR EACH STATEMENT", "book_is_append_only"),
    "bottle_move_while_written": ("BEFORE INSERT ON bottle_move FOR EACH ROW", "while_written"),
}

ID = sa.String(length=64)


def upgrade() -> None:
    op.create_table(
        "bottle_move",
        sa.Column("entry_id", ID, nullable=False),
        sa.Column("bottling_id", ID, nullable=False),
        sa.Column("bottles", sa.Integer(), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("source", "destination", "party", "document")),
        sa.CheckConstraint("bottles > 0", name=op.f("ck_bottle_move_bottles_positive")),
        sa.CheckConstraint("source <> destination", name=op.f("ck_bottle_move_two_places")),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_bottle_move_entry_id_entry")),
        sa.ForeignKeyConstraint(
            ["bottling_id"], ["bottling.entry_id"], name=op.f("fk_bottle_move_bottling_id_bottling")
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_bottle_move")),
    )
    op.create_index(op.f("ix_bottle_move_bottling_id"), "bottle_move", ["bottling_id"])
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    for name, (when, function) in POSTGRESQL.items():
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {function}()")


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM bottle_move")):
        raise RuntimeError(
            "the older version knows nothing of where bottles went: export the book, and keep this version"
        )
    op.drop_table("bottle_move")  # the triggers go with their table
