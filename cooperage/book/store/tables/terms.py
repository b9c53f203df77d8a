"""What the cellar holds its mead to: definitions of ready, rules of its own, and prices."""

from sqlalchemy import JSON, CheckConstraint, Date, Double, ForeignKey, Integer, String, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# What the cellar calls ready: limits, with which chance they must hold, and the risk of missing it. A definition stands
# until the next of the same lot, or of the cellar where there is no lot; without limits it is withdrawn.
READINESS = Table(
    "readiness",
    METADATA,
    required("id", ID, primary_key=True),
    optional("lot_id", ID, ForeignKey("lot.id")),
    required("limits", JSON),
    required("chance", Double),
    required("risk", Double),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("chance > 0 AND chance < 1 AND risk > 0 AND risk < 1", name="chances"),
)

# A value of a rule that the cellar gave itself, from a day on and after a source; without a value it holds no longer.
# The name "profile" has the rules it works by. Rows are only added.
OWN_RULE = Table(
    "own_rule",
    METADATA,
    required("id", ID, primary_key=True),
    required("profile", String(40)),
    required("name", Text),
    optional("value", Text),
    required("since", Date),
    required("source", Text),
    required("note", Text),
    required("hand", Text),
    required("written_at", UtcTime),
)

# What a substance, a bottle of a size, a closure or an hour of work costs from a moment on, by the item's own unit.
# Rows are only added: of one moment the last one written counts; without an amount it is unknown from then on.
PRICE = Table(
    "price",
    METADATA,
    required("id", ID, primary_key=True),
    required("item", String(40)),
    optional("bottle_ml", Integer),
    optional("amount", Double),
    required("currency", String(3)),
    required("holds_from", UtcTime),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("amount >= 0", name="amount"),
    CheckConstraint("bottle_ml > 0", name="bottle"),
)
