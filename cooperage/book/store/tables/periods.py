"""Periods as they were filed, with their figures and the entries these count."""

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Integer, String, Table, Text

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# A period as it was filed: its span, the unit and the classes its figures are in, the running totals and the strength
# of each bottling that it leaves to the next, what was counted, and the digest of all of it. Its figures and entries
# are written before it, in one transaction, and none joins them once it is there. A correction names what it corrects.
PERIOD = Table(
    "period",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("starts_at", UtcTime),
    required("ends_at", UtcTime),
    required("zone", Text),
    required("unit", Text),
    required("classes", JSON),
    required("totals", JSON),
    required("bottlings", JSON),
    required("counted", JSON),
    required("digest", Text),
    required("hand", Text),
    required("note", Text),
    required("written_at", UtcTime),
    optional("corrects_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), unique=True),
    CheckConstraint("starts_at < ends_at AND ends_at <= written_at", name="over"),
)

# A figure of a filed period in the order they are printed: what adds has the sign 1, what takes away -1; a carried one
# is of what changed in the periods before it.
FILED_FIGURE = Table(
    "filed_figure",
    METADATA,
    required("period_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), primary_key=True),
    required("place", Integer, primary_key=True),
    required("part", Text),
    required("line", Text),
    required("strength_class", Text),
    required("sign", Integer),
    required("is_carried", Integer),
    required("ml", BigInteger),
    required("printed", Text),
    CheckConstraint("sign IN (-1, 1)", name="sign"),
)

# An entry that the figures of a filed period count.
FILED_ENTRY = Table(
    "filed_entry",
    METADATA,
    required("period_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), primary_key=True),
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True, index=True),
)
