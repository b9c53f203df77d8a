"""Bottlings and their bottles, bottling runs, and the risks that were passed before one."""

from sqlalchemy import JSON, CheckConstraint, Double, ForeignKey, Integer, String, Table, Text, UniqueConstraint

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# A bottling's code and bottles; its litres are the entry's moves.
BOTTLING = Table(
    "bottling",
    METADATA,
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    required("code", String(40), index=True),
    required("bottles", Integer),
    required("bottle_ml", Integer),
    CheckConstraint("bottles > 0 AND bottle_ml > 0", name="positive"),
)

# Bottles of one bottling from one place to another: a named store ("" is not named) or an outside place of bottles.
# Bottles come from *filled* into the store that is not named; for that no row is needed.
BOTTLE_MOVE = Table(
    "bottle_move",
    METADATA,
    required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    required("bottling_id", ID, ForeignKey("bottling.entry_id"), index=True),
    required("bottles", Integer),
    required("source", Text),
    required("destination", Text),
    required("party", Text),
    required("document", Text),
    CheckConstraint("bottles > 0", name="bottles_positive"),
    CheckConstraint("source <> destination", name="two_places"),
)

# The risks of a bottling as they stood when they were passed: what was asked, every figure, and the reason for each
# that was trouble. Rows are only added.
RISKS_PASSED = Table(
    "risks_passed",
    METADATA,
    required("id", ID, primary_key=True),
    required("vessels", JSON),
    required("asked", JSON),
    required("figures", JSON),
    required("reasons", JSON),
    required("hand", Text),
    required("written_at", UtcTime),
)

# A bottling run as it was opened: on which vessels, for which sizes and how many of each, the strength on the label,
# how much was expected, and the risks that were passed before the first bottle. Rows are only added, as are its lines.
RUN = Table(
    "run",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("vessels", JSON),
    required("sizes", JSON),
    optional("label", Double),
    required("expected", JSON),
    required("risks_id", ID, ForeignKey("risks_passed.id")),
    required("hand", Text),
    required("opened_at", UtcTime),
)

# What happened in a run, a line each in order. A wrong line is struck by another that names its number.
RUN_LINE = Table(
    "run_line",
    METADATA,
    required("run_id", ID, ForeignKey("run.id"), primary_key=True),
    required("number", Integer, primary_key=True),
    required("kind", Text),
    optional("bottle_ml", Integer),
    optional("bottles", Integer),
    optional("ml", Integer),
    required("volumes_ml", JSON),
    required("words", Text),
    optional("strikes", Integer),
    required("hand", Text),
    required("at", UtcTime),
    CheckConstraint("number > 0", name="number"),
    CheckConstraint("bottles > 0", name="bottles"),
    CheckConstraint("ml > 0", name="ml"),
    UniqueConstraint("run_id", "strikes"),
)

# That a run was closed: the entries that were written for it, and what it came to. Once all of them are struck the run
# is open again, so it may be closed more than once.
RUN_CLOSED = Table(
    "run_closed",
    METADATA,
    required("id", ID, primary_key=True),
    required("run_id", ID, ForeignKey("run.id"), index=True),
    required("entries", JSON),
    required("came_to", JSON),
    required("hand", Text),
    required("at", UtcTime),
)
