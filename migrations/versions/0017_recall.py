"""What a recall begins with is found by an index: the moves of a lot, and the entries of a hand."""

import sqlalchemy as sa
from alembic import op

revision = "0017_recall"
down_revision = "0016_batches"


def upgrade() -> None:
    received = sa.text("lot_id IS NOT NULL")
    op.create_index(op.f("ix_move_lot_id"), "move", ["lot_id"], sqlite_where=received, postgresql_where=received)
    op.create_index(op.f("ix_entry_hand_happened_at"), "entry", ["hand", "happened_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_entry_hand_happened_at"), "entry")
    op.drop_index(op.f("ix_move_lot_id"), "move")
