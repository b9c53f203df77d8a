"""What was written last is found by an index, so that striking it costs the same in a book of any size."""

from alembic import op

revision = "0003_last_written"
down_revision = "0002_looks_and_sheets"

NAME = "ix_entry_written_at_id"


def upgrade() -> None:
    op.create_index(NAME, "entry", ["written_at", "id"])  # no batch: the entries, and their guards, stay where they are


def downgrade() -> None:
    op.drop_index(NAME, "entry")
