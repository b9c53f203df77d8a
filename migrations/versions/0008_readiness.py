"""The cellar's own definition of ready, dated, for all of it or for one lot."""

import sqlalchemy as sa
from alembic import op

revision = "0008_readiness"
down_revision = "0007_flights"


def upgrade() -> None:
    op.create_table(
        "readiness",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("lot_id", sa.String(length=64), nullable=True),
        sa.Column("limits", sa.JSON(), nullable=False),
        sa.Column("chance", sa.Double(), nullable=False),
        sa.Column("risk", sa.Double(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("chance > 0 AND chance < 1 AND risk > 0 AND risk < 1", name=op.f("ck_readiness_chances")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_readiness_lot_id_lot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_readiness")),
    )


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM readiness")):
        raise RuntimeError(
            "the older version does not keep what the cellar calls ready: export the book, and keep this version"
        )
    op.drop_table("readiness")
