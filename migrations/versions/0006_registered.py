"""Who registered a vessel or a lot, and when; of what was registered before, neither is known."""

import sqlalchemy as sa
from alembic import op

revision = "0006_registered"
down_revision = "0005_together_and_orders"

TABLES = ("vessel", "lot")


def upgrade() -> None:
    for table in TABLES:
        op.add_column(table, sa.Column("registered_by", sa.Text(), nullable=True))
        op.add_column(table, sa.Column("registered_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    for table in TABLES:
        known = sa.text(f"SELECT count(*) FROM {table} WHERE registered_at IS NOT NULL OR registered_by IS NOT NULL")
        if op.get_bind().scalar(known):
            raise RuntimeError(
                f"the older version does not keep who registered a {table}: export the book, and keep this version"
            )
    for table in TABLES:
        op.drop_column(table, "registered_at")
        op.drop_column(table, "registered_by")
