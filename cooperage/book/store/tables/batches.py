"""From honey to must: honeys as they came in, and the batch sheets of lots."""

from sqlalchemy import JSON, BigInteger, CheckConstraint, Double, ForeignKey, String, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# Honey as it came in, in grams; its moisture [g per 100 g] and how that was found. Of several rows with one code the
# last written stands: the earlier are kept.
HONEY = Table(
    "honey",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), index=True),
    optional("producer", Text),
    optional("floral", Text),
    optional("harvest", Text),
    optional("supplier_lot", Text),
    required("grams", BigInteger),
    optional("moisture", Double),
    optional("method", Text),
    optional("price_per_kg", Double),
    optional("came_on", UtcTime),
    required("note", Text),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("grams > 0", name="grams"),
    CheckConstraint("moisture IS NULL OR (moisture > 0 AND moisture < 100)", name="moisture"),
)

# The batch sheet of a lot: water, grams of each honey by its code, litres and gravity of other juices, the yeast with
# what it stands; the gravity and litres that were calculated when it was written, and the gravity where it would end.
# Of several sheets of a lot the last written stands.
BATCH = Table(
    "batch",
    METADATA,
    required("id", ID, primary_key=True),
    required("lot_id", ID, ForeignKey("lot.id"), index=True),
    required("water_ml", BigInteger),
    required("honeys", JSON),
    required("others", JSON),
    optional("yeast", Text),
    optional("tolerance", Double),
    optional("coolest", Double),
    optional("warmest", Double),
    optional("nutrient_n", Double),
    optional("target_sg", Double),
    optional("target_l", Double),
    optional("end_sg", Double),
    optional("end_sd", Double),
    required("note", Text),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("water_ml >= 0", name="water"),
)
