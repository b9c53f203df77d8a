"""Honey as it came in, and the batch sheet of a lot: what went into it, and what was calculated of it beforehand."""

import sqlalchemy as sa
from alembic import op

revision = "0016_batches"
down_revision = "0015_periods"

STANDS = "what was written of honey and batches stands: write it again to correct it"
TABLES = ("honey", "batch")
SQLITE = {
    f"{table}_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for table in TABLES
    for act, when in (
        ("update", f"UPDATE ON {table}"),
        ("delete", f"DELETE ON {table}"),
        ("replace", f"INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)"),
    )
}
# What the function of PostgreSQL does, and the triggers (name, when) that call it.
FUNCTION, BODY = "batches_stand", f"RAISE EXCEPTION '{STANDS}';"
POSTGRESQL = [
    trigger
    for table in TABLES
    for trigger in (
        (f"{table}_kept", f"BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW"),
        (f"{table}_not_emptied", f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT"),
    )
]

ID, TIME = sa.String(length=64), sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "honey",
        sa.Column("id", ID, nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=True) for name in ("producer", "floral", "harvest", "supplier_lot")),
        sa.Column("grams", sa.BigInteger(), nullable=False),
        sa.Column("moisture", sa.Double(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.Column("price_per_kg", sa.Double(), nullable=True),
        sa.Column("came_on", TIME, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.CheckConstraint("grams > 0", name=op.f("ck_honey_grams")),
        sa.CheckConstraint("moisture IS NULL OR (moisture > 0 AND moisture < 100)", name=op.f("ck_honey_moisture")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_honey")),
    )
    op.create_index(op.f("ix_honey_code"), "honey", ["code"])
    op.create_table(
        "batch",
        sa.Column("id", ID, nullable=False),
        sa.Column("lot_id", ID, nullable=False),
        sa.Column("water_ml", sa.BigInteger(), nullable=False),
        sa.Column("honeys", sa.JSON(), nullable=False),
        sa.Column("others", sa.JSON(), nullable=False),
        sa.Column("yeast", sa.Text(), nullable=True),
        *(
            sa.Column(name, sa.Double(), nullable=True)
            for name in ("tolerance", "coolest", "warmest", "nutrient_n", "target_sg", "target_l", "end_sg", "end_sd")
        ),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.CheckConstraint("water_ml >= 0", name=op.f("ck_batch_water")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_batch_lot_id_lot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch")),
    )
    op.create_index(op.f("ix_batch_lot_id"), "batch", ["lot_id"])
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    op.execute(f"CREATE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {BODY} END $$")
    for name, when in POSTGRESQL:
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION {FUNCTION}()")


def downgrade() -> None:
    for table in TABLES:
        if op.get_bind().scalar(sa.text(f"SELECT count(*) FROM {table}")):
            raise RuntimeError(
                "the older version knows nothing of honey and batch sheets: export the book, and keep this version"
            )
    for table in reversed(TABLES):
        op.drop_table(table)  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        op.execute(f"DROP FUNCTION {FUNCTION}()")
