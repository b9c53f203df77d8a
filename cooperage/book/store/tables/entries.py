"""What was done: entries, their moves and readings, and which of them were written as one act.

`entry`, `move`, `reading` and `together` are append-only: triggers on both databases refuse to update or delete their
rows (see the first migration).
"""

from sqlalchemy import JSON, BigInteger, CheckConstraint, Double, ForeignKey, Index, Integer, String, Table, Text, text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# One dated act written in the book by one hand; `said` keeps what the hand said, word for word.
ENTRY = Table(
    "entry",
    METADATA,
    required("id", ID, primary_key=True),
    required("kind", String(20)),
    required("happened_at", UtcTime),
    required("written_at", UtcTime),
    required("hand", Text),
    required("note", Text),
    optional("vessel_id", ID, ForeignKey("vessel.id")),
    required("said", JSON),
    optional("strikes_id", ID, ForeignKey("entry.id"), unique=True),
    CheckConstraint("happened_at <= written_at", name="not_in_the_future"),
    CheckConstraint("(kind = 'strike') = (strikes_id IS NOT NULL)", name="strike"),
    Index(None, "happened_at", "id"),
    Index(None, "written_at", "id"),
    Index(None, "vessel_id"),
    Index(None, "hand", "happened_at"),
)

# An entry that is being written: its moves and readings join it now or never. Outside a write there is none.
# A trigger marks every entry as it comes in, and refuses to mark one that is there; the writer clears the marks
# before it commits (see the fourth migration).
OPEN_ENTRY = Table(
    "open_entry",
    METADATA,
    required("entry_id", ID, primary_key=True),
)

_RECEIVED = text("lot_id IS NOT NULL")

# A volume from one place to another, balanced by its shape; what is received names its lot or substance.
MOVE = Table(
    "move",
    METADATA,
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    required("seq", Integer, primary_key=True),
    required("source_id", ID, ForeignKey("place.id")),
    required("destination_id", ID, ForeignKey("place.id")),
    required("ml", BigInteger),
    optional("lot_id", ID, ForeignKey("lot.id")),
    optional("substance", Text),
    CheckConstraint("ml > 0", name="ml_positive"),
    CheckConstraint("source_id <> destination_id", name="two_places"),
    Index(None, "source_id"),
    Index(None, "destination_id"),
    Index(None, "lot_id", sqlite_where=_RECEIVED, postgresql_where=_RECEIVED),
)

# A value read on a vessel, how sure it is and how it was got; time and hand are its entry's.
READING = Table(
    "reading",
    METADATA,
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    required("seq", Integer, primary_key=True),
    required("vessel_id", ID, ForeignKey("vessel.id")),
    required("property", String(30)),
    required("value", Double),
    required("uncertainty", Double),
    required("method", Text),
    CheckConstraint("uncertainty >= 0", name="uncertainty"),
    Index(None, "vessel_id", "property"),
)

# Entries written as one act on several vessels bear one mark, by which they are struck together.
TOGETHER = Table(
    "together",
    METADATA,
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    required("act_id", ID, index=True),
)
