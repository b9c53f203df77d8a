"""The book: places, vessels, lots, entries, moves, readings, tastings, and their guards."""

import sqlalchemy as sa
from alembic import op

revision = "0001_the_book"
down_revision = None

TIME = sa.DateTime(timezone=True)
OUTSIDE = (
    "received",
    "evaporated",
    "soaked",
    "lees",
    "sample",
    "spilled",
    "leak",
    "bottled",
    "poured away",
    "gauging difference",
    "contraction",
)
APPEND_ONLY = {
    "entry": ("id",),
    "move": ("entry_id", "seq"),
    "reading": ("entry_id", "seq"),
    "bottling": ("entry_id",),
}
KEPT = "the book is append-only: strike the entry instead"
ONCE = "a strike cannot be struck: write the act again"


def upgrade() -> None:
    _make_tables()
    place = sa.table("place", sa.column("id"), sa.column("kind"))
    op.bulk_insert(place, [{"id": name, "kind": "outside"} for name in OUTSIDE])
    guard = _guard_sqlite if op.get_bind().dialect.name == "sqlite" else _guard_postgresql
    guard()


def _make_tables() -> None:
    op.create_table(
        "cellar",
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_cellar")),
    )
    op.create_table(
        "flight",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.Column("poured_at", TIME, nullable=False),
        sa.Column("revealed_at", TIME, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_flight")),
        sa.UniqueConstraint("code", name=op.f("uq_flight_code")),
    )
    op.create_table(
        "lot",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("honey", sa.Text(), nullable=True),
        sa.Column("original_sg", sa.Double(), nullable=True),
        sa.Column("final_sg", sa.Double(), nullable=True),
        sa.Column("abv", sa.Double(), nullable=True),
        sa.Column("cost_per_l", sa.Double(), nullable=True),
        sa.Column("pitched_on", TIME, nullable=True),
        sa.Column("finished_on", TIME, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot")),
        sa.UniqueConstraint("code", name=op.f("uq_lot_code")),
    )
    op.create_table(
        "place",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('vessel', 'outside')", name=op.f("ck_place_kind")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
    )
    op.create_table(
        "walk",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("began_at", TIME, nullable=False),
        sa.Column("ended_at", TIME, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_walk")),
    )
    op.create_table(
        "vessel",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("tag", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("capacity_ml", sa.BigInteger(), nullable=False),
        sa.Column("capacity_how", sa.Text(), nullable=False),
        sa.Column("room", sa.Text(), nullable=True),
        sa.Column("row", sa.Text(), nullable=True),
        sa.Column("bay", sa.Integer(), nullable=True),
        sa.Column("tier", sa.Integer(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.CheckConstraint("capacity_how IN ('measured', 'nominal', 'unknown')", name=op.f("ck_vessel_capacity_how")),
        sa.CheckConstraint("kind IN ('barrel', 'tank', 'keg', 'demijohn')", name=op.f("ck_vessel_kind")),
        sa.CheckConstraint("capacity_ml > 0", name=op.f("ck_vessel_capacity_positive")),
        sa.ForeignKeyConstraint(["id"], ["place.id"], name=op.f("fk_vessel_id_place")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vessel")),
        sa.UniqueConstraint("tag", name=op.f("uq_vessel_tag")),
    )
    op.create_table(
        "barrel",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("cooper", sa.Text(), nullable=True),
        sa.Column("wood", sa.Text(), nullable=True),
        sa.Column("forest", sa.Text(), nullable=True),
        sa.Column("seasoning_months", sa.Integer(), nullable=True),
        sa.Column("toast_staves", sa.Text(), nullable=True),
        sa.Column("toast_heads", sa.Text(), nullable=True),
        sa.Column("char", sa.Integer(), nullable=True),
        sa.Column("year", sa.Integer(), nullable=True),
        sa.Column("acquired_on", TIME, nullable=True),
        sa.Column("cost", sa.Double(), nullable=True),
        sa.Column("past_life", sa.Text(), nullable=True),
        sa.Column("past_kind", sa.Text(), nullable=True),
        sa.Column("fills_before", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "past_kind IN ('none', 'wine', 'fortified', 'spirit', 'beer', 'other')",
            name=op.f("ck_barrel_past_kind"),
        ),
        sa.CheckConstraint("fills_before >= 0", name=op.f("ck_barrel_fills_before")),
        sa.ForeignKeyConstraint(["id"], ["vessel.id"], name=op.f("fk_barrel_id_vessel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_barrel")),
    )
    op.create_table(
        "entry",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("happened_at", TIME, nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.Column("hand", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("vessel_id", sa.String(length=64), nullable=True),
        sa.Column("said", sa.JSON(), nullable=False),
        sa.Column("strikes_id", sa.String(length=64), nullable=True),
        sa.CheckConstraint("(kind = 'strike') = (strikes_id IS NOT NULL)", name=op.f("ck_entry_strike")),
        sa.CheckConstraint("happened_at <= written_at", name=op.f("ck_entry_not_in_the_future")),
        sa.ForeignKeyConstraint(["strikes_id"], ["entry.id"], name=op.f("fk_entry_strikes_id_entry")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_entry_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sa.UniqueConstraint("strikes_id", name=op.f("uq_entry_strikes_id")),
    )
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_entry_happened_at_id"), ["happened_at", "id"], unique=False)
        batch_op.create_index(batch_op.f("ix_entry_vessel_id"), ["vessel_id"], unique=False)

    op.create_table(
        "glass",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("flight_id", sa.String(length=64), nullable=False),
        sa.Column("code", sa.String(length=10), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("vessel_id", sa.String(length=64), nullable=True),
        sa.Column("what", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["flight_id"], ["flight.id"], name=op.f("fk_glass_flight_id_flight")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_glass_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_glass")),
        sa.UniqueConstraint("flight_id", "code", name=op.f("uq_glass_flight_id_code")),
    )
    op.create_table(
        "reckoned",
        sa.Column("vessel_id", sa.String(length=64), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_reckoned_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("vessel_id", name=op.f("pk_reckoned")),
    )
    op.create_table(
        "stop",
        sa.Column("walk_id", sa.String(length=64), nullable=False),
        sa.Column("vessel_id", sa.String(length=64), nullable=False),
        sa.Column("task", sa.String(length=20), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("said_at", TIME, nullable=False),
        sa.CheckConstraint("state IN ('done', 'skipped', 'out of reach')", name=op.f("ck_stop_state")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_stop_vessel_id_vessel")),
        sa.ForeignKeyConstraint(["walk_id"], ["walk.id"], name=op.f("fk_stop_walk_id_walk")),
        sa.PrimaryKeyConstraint("walk_id", "vessel_id", "task", name=op.f("pk_stop")),
    )
    op.create_table(
        "upkeep",
        sa.Column("vessel_id", sa.String(length=64), nullable=False),
        sa.Column("topping", sa.Text(), nullable=True),
        sa.Column("top_every_days", sa.Integer(), nullable=True),
        sa.Column("top_below_ml", sa.BigInteger(), nullable=True),
        sa.Column("taste_every_days", sa.Integer(), nullable=True),
        sa.Column("sulphite_every_days", sa.Integer(), nullable=True),
        sa.Column("sniff_every_days", sa.Integer(), nullable=True),
        sa.Column("molecular_so2_floor_mg_l", sa.Double(), nullable=True),
        sa.Column("va_ceiling_g_l", sa.Double(), nullable=True),
        sa.Column("top_from", sa.Text(), nullable=True),
        sa.CheckConstraint("topping IN ('interval', 'level', 'opened', 'never')", name=op.f("ck_upkeep_topping")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_upkeep_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("vessel_id", name=op.f("pk_upkeep")),
    )
    op.create_table(
        "bottling",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("bottles", sa.Integer(), nullable=False),
        sa.Column("bottle_ml", sa.Integer(), nullable=False),
        sa.CheckConstraint("bottles > 0 AND bottle_ml > 0", name=op.f("ck_bottling_positive")),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_bottling_entry_id_entry")),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_bottling")),
    )
    with op.batch_alter_table("bottling", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_bottling_code"), ["code"], unique=False)

    op.create_table(
        "move",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("source_id", sa.String(length=64), nullable=False),
        sa.Column("destination_id", sa.String(length=64), nullable=False),
        sa.Column("ml", sa.BigInteger(), nullable=False),
        sa.Column("lot_id", sa.String(length=64), nullable=True),
        sa.Column("substance", sa.Text(), nullable=True),
        sa.CheckConstraint("ml > 0", name=op.f("ck_move_ml_positive")),
        sa.CheckConstraint("source_id <> destination_id", name=op.f("ck_move_two_places")),
        sa.ForeignKeyConstraint(["destination_id"], ["place.id"], name=op.f("fk_move_destination_id_place")),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_move_entry_id_entry")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_move_lot_id_lot")),
        sa.ForeignKeyConstraint(["source_id"], ["place.id"], name=op.f("fk_move_source_id_place")),
        sa.PrimaryKeyConstraint("entry_id", "seq", name=op.f("pk_move")),
    )
    with op.batch_alter_table("move", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_move_destination_id"), ["destination_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_move_source_id"), ["source_id"], unique=False)

    op.create_table(
        "reading",
        sa.Column("entry_id", sa.String(length=64), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("vessel_id", sa.String(length=64), nullable=False),
        sa.Column("property", sa.String(length=30), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("uncertainty", sa.Double(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.CheckConstraint("uncertainty >= 0", name=op.f("ck_reading_uncertainty")),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_reading_entry_id_entry")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_reading_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("entry_id", "seq", name=op.f("pk_reading")),
    )
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_reading_vessel_id_property"), ["vessel_id", "property"], unique=False)

    op.create_table(
        "score",
        sa.Column("glass_id", sa.String(length=64), nullable=False),
        sa.Column("taster", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("written_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["glass_id"], ["glass.id"], name=op.f("fk_score_glass_id_glass")),
        sa.PrimaryKeyConstraint("glass_id", "taster", name=op.f("pk_score")),
    )


def _guard_sqlite() -> None:
    for table, key in APPEND_ONLY.items():
        same = " AND ".join(f"{column} = NEW.{column}" for column in key)
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
            )
        # INSERT OR REPLACE slips past the delete trigger unless recursive_triggers is on; this always holds.
        op.execute(
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
        )
    op.execute(
        "CREATE TRIGGER entry_strike_once BEFORE INSERT ON entry WHEN NEW.strikes_id IS NOT NULL AND EXISTS "
        "(SELECT 1 FROM entry WHERE id = NEW.strikes_id AND kind = 'strike') "
        f"BEGIN SELECT RAISE(ABORT, '{ONCE}'); END"
    )


def _guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION book_is_append_only() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{KEPT}'; END $$"
    )
    for table in APPEND_ONLY:
        op.execute(
            f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION book_is_append_only()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION book_is_append_only()"
        )
    op.execute(
        "CREATE FUNCTION strike_once() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF EXISTS (SELECT 1 FROM entry WHERE id = NEW.strikes_id AND kind = 'strike') "
        f"THEN RAISE EXCEPTION '{ONCE}'; END IF; RETURN NEW; END $$"
    )
    op.execute(
        "CREATE TRIGGER entry_strike_once BEFORE INSERT ON entry FOR EACH ROW "
        "WHEN (NEW.strikes_id IS NOT NULL) EXECUTE FUNCTION strike_once()"
    )


def downgrade() -> None:
    op.drop_table("score")
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_reading_vessel_id_property"))

    op.drop_table("reading")
    with op.batch_alter_table("move", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_move_source_id"))
        batch_op.drop_index(batch_op.f("ix_move_destination_id"))

    op.drop_table("move")
    with op.batch_alter_table("bottling", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_bottling_code"))

    op.drop_table("bottling")
    op.drop_table("upkeep")
    op.drop_table("stop")
    op.drop_table("reckoned")
    op.drop_table("glass")
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_entry_vessel_id"))
        batch_op.drop_index(batch_op.f("ix_entry_happened_at_id"))

    op.drop_table("entry")
    op.drop_table("barrel")
    op.drop_table("vessel")
    op.drop_table("walk")
    op.drop_table("place")
    op.drop_table("lot")
    op.drop_table("flight")
    op.drop_table("cellar")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION book_is_append_only()")
        op.execute("DROP FUNCTION strike_once()")
