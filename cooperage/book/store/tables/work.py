"""The work of a day: walks of the rounds with their stops, and orders."""

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Integer, String, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# One walk of the rounds, open until it ends and resumed where it was left; `walked_at`, if it was on paper.
WALK = Table(
    "walk",
    METADATA,
    required("id", ID, primary_key=True),
    required("began_at", UtcTime),
    optional("ended_at", UtcTime),
    optional("walked_at", UtcTime),
)

# What became of one task at one vessel on a walk.
STOP = Table(
    "stop",
    METADATA,
    required("walk_id", ID, ForeignKey("walk.id"), primary_key=True),
    required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    required("task", String(20), primary_key=True),
    required("state", Text),
    required("said_at", UtcTime),
    CheckConstraint("state IN ('done', 'skipped', 'out of reach')", name="state"),
)

# What is to be done: an act's own outside texts, and those of single vessels. Nothing of it is in the book before it is
# done; then `entries` are the ids of what was written.
ORDERS = Table(
    "orders",
    METADATA,
    required("id", ID, primary_key=True),
    required("number", Integer, unique=True),
    required("day", String(10)),
    required("place", Integer),
    required("kind", String(20)),
    required("texts", JSON),
    required("each", JSON),
    required("note", Text),
    required("hand", Text),
    required("written_at", UtcTime),
    required("state", Text),
    required("entries", JSON),
    required("why", Text),
    optional("closed_at", UtcTime),
    CheckConstraint("state IN ('open', 'done', 'withdrawn')", name="state"),
    CheckConstraint("(state = 'open') = (closed_at IS NULL)", name="closed"),
)
