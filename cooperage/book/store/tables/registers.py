"""What the cellar has: places, vessels with their wood and upkeep, lots, and facts of the cellar itself."""

from sqlalchemy import BigInteger, CheckConstraint, Double, ForeignKey, Integer, String, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# Anywhere liquid can be; an outside place's id is its own name.
PLACE = Table(
    "place",
    METADATA,
    required("id", ID, primary_key=True),
    required("kind", Text),
    CheckConstraint("kind IN ('vessel', 'outside')", name="kind"),
)

# A barrel, tank, keg or demijohn, where it stood when it came, and the care it gets.
VESSEL = Table(
    "vessel",
    METADATA,
    required("id", ID, ForeignKey("place.id"), primary_key=True),
    required("tag", String(40), unique=True),
    required("kind", Text),
    required("capacity_ml", BigInteger),
    required("capacity_how", Text),
    optional("room", Text),
    optional("row", Text),
    optional("bay", Integer),
    optional("tier", Integer),
    required("note", Text, default=""),
    optional("registered_by", Text),
    optional("registered_at", UtcTime),
    CheckConstraint("kind IN ('barrel', 'tank', 'keg', 'demijohn')", name="kind"),
    CheckConstraint("capacity_ml > 0", name="capacity_positive"),
    CheckConstraint("capacity_how IN ('measured', 'nominal', 'unknown')", name="capacity_how"),
)

# What is known of a barrel's wood and past; a null is unknown, which is not zero.
BARREL = Table(
    "barrel",
    METADATA,
    required("id", ID, ForeignKey("vessel.id"), primary_key=True),
    optional("cooper", Text),
    optional("wood", Text),
    optional("forest", Text),
    optional("seasoning_months", Integer),
    optional("toast_staves", Text),
    optional("toast_heads", Text),
    optional("char", Integer),
    optional("year", Integer),
    optional("acquired_on", UtcTime),
    optional("cost", Double),
    optional("past_life", Text),
    optional("past_kind", Text),
    optional("fills_before", Integer),
    CheckConstraint("fills_before >= 0", name="fills_before"),
    CheckConstraint("past_kind IN ('none', 'wine', 'fortified', 'spirit', 'beer', 'other')", name="past_kind"),
)

# A vessel's intervals and limits; a null leaves the cellar's default in force.
UPKEEP = Table(
    "upkeep",
    METADATA,
    required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    optional("topping", Text),
    optional("top_every_days", Integer),
    optional("top_below_ml", BigInteger),
    optional("taste_every_days", Integer),
    optional("sulphite_every_days", Integer),
    optional("sniff_every_days", Integer),
    optional("molecular_so2_floor_mg_l", Double),
    optional("va_ceiling_g_l", Double),
    optional("top_from", Text),
    CheckConstraint("topping IN ('interval', 'level', 'opened', 'never')", name="topping"),
)

# A batch of mead as received into the cellar.
LOT = Table(
    "lot",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("name", Text),
    optional("honey", Text),
    optional("original_sg", Double),
    optional("final_sg", Double),
    optional("abv", Double),
    optional("cost_per_l", Double),
    optional("pitched_on", UtcTime),
    optional("finished_on", UtcTime),
    required("note", Text, default=""),
    optional("registered_by", Text),
    optional("registered_at", UtcTime),
)

# A fact about the cellar as a whole, such as its name.
CELLAR = Table(
    "cellar",
    METADATA,
    required("key", String(40), primary_key=True),
    required("value", Text),
)
