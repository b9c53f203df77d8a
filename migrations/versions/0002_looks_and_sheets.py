"""Looks, sheets, snapshots: a paper walk knows when it was walked; kept states know what was seen, and the past too."""

import sqlalchemy as sa
from alembic import op

revision = "0002_looks_and_sheets"
down_revision = "0001_the_book"

REFUSE_NEWER_WORDS = "entries of kind look or climate stand in the book, which the older version does not know"


def upgrade() -> None:
    op.add_column("walk", sa.Column("walked_at", sa.DateTime(timezone=True), nullable=True))
    op.execute("DELETE FROM reckoned")
    op.create_table(
        "snapshot",
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("vessel_id", sa.String(64), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_snapshot_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("at", "vessel_id", name=op.f("pk_snapshot")),
    )


def downgrade() -> None:
    newer = sa.text("SELECT count(*) FROM entry WHERE kind IN ('look', 'climate')")
    if op.get_bind().execute(newer).scalar():
        raise RuntimeError(REFUSE_NEWER_WORDS)
    op.drop_table("snapshot")
    op.drop_column("walk", "walked_at")  # not in a batch: that drops the table, which the stops refer to
    op.execute("DELETE FROM reckoned")
