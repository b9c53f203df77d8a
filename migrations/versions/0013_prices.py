"""Prices of what goes into a bottle, each with the moment it holds from."""

import sqlalchemy as sa
from alembic import op

revision = "0013_prices"
down_revision = "0012_bottles"

STANDS = "a price stands as it was written: write the new one beside it"
SQLITE = {
    f"price_no_{act}": f"BEFORE {when} BEGIN SELECT RAISE(ABORT, '{STANDS}'); END"
    for act, when in (
        ("update", "UPDATE ON price"),
        ("delete", "DELETE ON price"),
        ("replace", "INSERT ON price WHEN EXISTS (SELECT 1 FROM price WHERE id = NEW.id)"),
    )
}
POSTGRESQL = {
    "price_kept": "BEFORE UPDATE OR DELETE ON price FOR EACH ROW",
    "price_not_emptied": "BEFORE TRUNCATE ON price FOR EACH STATEMENT",
}

TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "price",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("item", sa.String(length=40), nullable=False),
        sa.Column("bottle_ml", sa.Integer(), nullable=True),
        sa.Column("amount", sa.Double(), nullable=True),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("holds_from", TIME, nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.CheckConstraint("amount >= 0", name=op.f("ck_price_amount")),
        sa.CheckConstraint("bottle_ml > 0", name=op.f("ck_price_bottle")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price")),
    )
    if op.get_bind().dialect.name == "sqlite":
        for name, body in SQLITE.items():
            op.execute(f"CREATE TRIGGER {name} {body}")
        return
    op.execute(
        "CREATE FUNCTION price_stands() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{STANDS}'; END $$"
    )
    for name, when in POSTGRESQL.items():
        op.execute(f"CREATE TRIGGER {name} {when} EXECUTE FUNCTION price_stands()")


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM price")):
        raise RuntimeError("the older version keeps no prices: export the book, and keep this version")
    op.drop_table("price")  # the triggers go with their table
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION price_stands()")
