"""What is replayed from the entries and kept: states now and in the past."""

from sqlalchemy import ForeignKey, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, required

# The cache: a vessel's state after its latest event. Dropped at any moment, rebuilt identically.
STATE = Table(
    "reckoned",
    METADATA,
    required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    required("state", Text),
)

# The cache of the past: a vessel's state just before a moment. Dropped at any moment, never needed.
SNAPSHOT = Table(
    "snapshot",
    METADATA,
    required("at", UtcTime, primary_key=True),
    required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    required("state", Text),
)
