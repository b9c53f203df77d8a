"""What a panel tastes: the vocabulary, flights with their glasses and scores, and difference tests."""

from sqlalchemy import JSON, CheckConstraint, Double, ForeignKey, Integer, String, Table, Text, UniqueConstraint

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# A word of the cellar's own vocabulary: an attribute that is scored, or a tasting word. Only what the cellar changed or
# used stands here, the rest is shipped with the program; `formerly` are the names it had before.
TERM = Table(
    "term",
    METADATA,
    required("id", ID, primary_key=True),
    required("kind", Text),
    required("name", String(40)),
    required("family", Text),
    required("part", Text),
    required("scale", Text),
    required("is_fault", Integer),
    required("formerly", JSON),
    optional("retired_at", UtcTime),
    CheckConstraint("kind IN ('attribute', 'word')", name="kind"),
    UniqueConstraint("kind", "name"),
)

# Samples tasted together; the codes are lifted when it is revealed, which closes it.
FLIGHT = Table(
    "flight",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("name", Text),
    required("scale", Text),
    required("poured_at", UtcTime),
    optional("revealed_at", UtcTime),
    optional("revealed_by", Text),
)

# An attribute that a flight's tasters score beside the overall score, and on which scale.
SCORED = Table(
    "scored",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("term_id", ID, ForeignKey("term.id"), primary_key=True),
    required("place", Integer),
    required("scale", Text),
)

# The order in which a taster meets a flight's glasses: their codes, and the row of the flight's design that it is.
SERVING = Table(
    "serving",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("taster", String(40), primary_key=True),
    required("place", Integer),
    required("glasses", JSON),
    required("drawn_at", UtcTime),
)

# A look at what is in the glasses of a flight that was still blind: whose, and when.
PEEK = Table(
    "peek",
    METADATA,
    required("id", ID, primary_key=True),
    required("flight_id", ID, ForeignKey("flight.id")),
    required("hand", Text),
    required("at", UtcTime),
)

# One blind-coded glass of a flight and what was in it; no vessel means a bench trial. `role` is 'reference' for a
# control that the tasters know to be one, 'control' for one that is hidden among the others; in a difference test it is
# the sample, 'A' or 'B'.
GLASS = Table(
    "glass",
    METADATA,
    required("id", ID, primary_key=True),
    required("flight_id", ID, ForeignKey("flight.id")),
    required("code", String(10)),
    required("position", Integer),
    optional("vessel_id", ID, ForeignKey("vessel.id")),
    required("what", Text, default=""),
    required("role", Text, default="", server_default=""),
    UniqueConstraint("flight_id", "code"),
)

# One taster's overall score of a glass, tasting words, verdict, and the weeks until it is to be tasted again.
SCORE = Table(
    "score",
    METADATA,
    required("glass_id", ID, ForeignKey("glass.id"), primary_key=True),
    required("taster", String(40), primary_key=True),
    optional("value", Double),
    required("words", Text, default=""),
    required("written_at", UtcTime),
    required("verdict", Text, default="", server_default=""),
    optional("weeks", Integer),
)

# What one taster gave one attribute of one glass, on the scale that the flight has for it.
MARK = Table(
    "mark",
    METADATA,
    required("glass_id", ID, ForeignKey("glass.id"), primary_key=True),
    required("taster", String(40), primary_key=True),
    required("term_id", ID, ForeignKey("term.id"), primary_key=True),
    required("value", Double),
    required("written_at", UtcTime),
)

# What a flight asks that is a difference test, and how surely: of two samples, A and B, which are the `role` of its
# glasses. `asked` is what one has more of, `expected` which one if that was said beforehand, `reference` which one is
# the known one of a duo-trio (blank: each in turn). `aim` is to find a difference, or to show that few taste one.
DIFFERENCE = Table(
    "difference",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("test", Text),
    required("aim", Text),
    required("asked", Text),
    required("expected", Text),
    required("reference", Text),
    required("rounds", Integer),
    required("alpha", Double),
    required("share", Double),
    required("power", Double),
    CheckConstraint("test IN ('triangle', 'duo-trio', 'paired', '3-afc', 'tetrad')", name="test"),
    CheckConstraint("aim IN ('differ', 'alike')", name="aim"),
    CheckConstraint("expected IN ('', 'A', 'B') AND reference IN ('', 'A', 'B')", name="sample"),
    CheckConstraint(
        "rounds > 0 AND alpha > 0 AND alpha < 1 AND share > 0 AND share < 1 AND power > 0 AND power < 1", name="asked"
    ),
)

# One set of glasses of a difference test: whose, in which round, and their codes in the order they are tasted.
PRESENTED = Table(
    "presented",
    METADATA,
    required("id", ID, primary_key=True),
    required("flight_id", ID, ForeignKey("flight.id")),
    required("taster", String(40)),
    required("round", Integer),
    required("glasses", JSON),
    required("drawn_at", UtcTime),
    UniqueConstraint("flight_id", "taster", "round"),
)

# What a taster answered of a set: the code, or the two codes, that were named.
ANSWER = Table(
    "answer",
    METADATA,
    required("presented_id", ID, ForeignKey("presented.id"), primary_key=True),
    required("codes", JSON),
    required("written_at", UtcTime),
)

# A taster who left a flight before the end: it waits for them no more.
DEPARTED = Table(
    "departed",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("taster", String(40), primary_key=True),
    required("hand", Text),
    required("at", UtcTime),
)
