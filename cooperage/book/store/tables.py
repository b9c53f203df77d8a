"""The tables of the cellar book.

`entry`, `move` and `reading` are append-only: triggers on both backends refuse to update or delete their rows
(see the first migration). Volumes are integer millilitres; times are UTC.
"""

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    text,
)

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcTime(TypeDecorator[datetime]):
    """An aware UTC time: refuses naive values going in, gives aware ones coming out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC for the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise TypeError("the book keeps aware times only")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - SQLAlchemy hands it over
    ) -> datetime | None:
        """Give back an aware UTC time."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


METADATA = MetaData(naming_convention=NAMING)  # the names let SQLite's constraints be changed later
ID = String(64)


def _required(name: str, kind: Any, *more: Any, **options: Any) -> Column[Any]:  # noqa: ANN401 - as SQLAlchemy has them
    """Return a column that must hold a value."""
    return Column(name, kind, *more, nullable=False, **options)


def _optional(name: str, kind: Any, *more: Any, **options: Any) -> Column[Any]:  # noqa: ANN401 - as SQLAlchemy has them
    """Return a column that may hold a null, which is unknown, not zero."""
    return Column(name, kind, *more, nullable=True, **options)


# Anywhere liquid can be; an outside place's id is its own name.
PLACE = Table(
    "place",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("kind", Text),
    CheckConstraint("kind IN ('vessel', 'outside')", name="kind"),
)

# A barrel, tank, keg or demijohn, where it stood when it came, and the care it gets.
VESSEL = Table(
    "vessel",
    METADATA,
    _required("id", ID, ForeignKey("place.id"), primary_key=True),
    _required("tag", String(40), unique=True),
    _required("kind", Text),
    _required("capacity_ml", BigInteger),
    _required("capacity_how", Text),
    _optional("room", Text),
    _optional("row", Text),
    _optional("bay", Integer),
    _optional("tier", Integer),
    _required("note", Text, default=""),
    _optional("registered_by", Text),
    _optional("registered_at", UtcTime),
    CheckConstraint("kind IN ('barrel', 'tank', 'keg', 'demijohn')", name="kind"),
    CheckConstraint("capacity_ml > 0", name="capacity_positive"),
    CheckConstraint("capacity_how IN ('measured', 'nominal', 'unknown')", name="capacity_how"),
)

# What is known of a barrel's wood and past; a null is unknown, which is not zero.
BARREL = Table(
    "barrel",
    METADATA,
    _required("id", ID, ForeignKey("vessel.id"), primary_key=True),
    _optional("cooper", Text),
    _optional("wood", Text),
    _optional("forest", Text),
    _optional("seasoning_months", Integer),
    _optional("toast_staves", Text),
    _optional("toast_heads", Text),
    _optional("char", Integer),
    _optional("year", Integer),
    _optional("acquired_on", UtcTime),
    _optional("cost", Double),
    _optional("past_life", Text),
    _optional("past_kind", Text),
    _optional("fills_before", Integer),
    CheckConstraint("fills_before >= 0", name="fills_before"),
    CheckConstraint("past_kind IN ('none', 'wine', 'fortified', 'spirit', 'beer', 'other')", name="past_kind"),
)

# A vessel's intervals and limits; a null leaves the cellar's default in force.
UPKEEP = Table(
    "upkeep",
    METADATA,
    _required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    _optional("topping", Text),
    _optional("top_every_days", Integer),
    _optional("top_below_ml", BigInteger),
    _optional("taste_every_days", Integer),
    _optional("sulphite_every_days", Integer),
    _optional("sniff_every_days", Integer),
    _optional("molecular_so2_floor_mg_l", Double),
    _optional("va_ceiling_g_l", Double),
    _optional("top_from", Text),
    CheckConstraint("topping IN ('interval', 'level', 'opened', 'never')", name="topping"),
)

# A batch of mead as received into the cellar.
LOT = Table(
    "lot",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("name", Text),
    _optional("honey", Text),
    _optional("original_sg", Double),
    _optional("final_sg", Double),
    _optional("abv", Double),
    _optional("cost_per_l", Double),
    _optional("pitched_on", UtcTime),
    _optional("finished_on", UtcTime),
    _required("note", Text, default=""),
    _optional("registered_by", Text),
    _optional("registered_at", UtcTime),
)

# One dated act written in the book by one hand; `said` keeps what the hand said, word for word.
ENTRY = Table(
    "entry",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("kind", String(20)),
    _required("happened_at", UtcTime),
    _required("written_at", UtcTime),
    _required("hand", Text),
    _required("note", Text),
    _optional("vessel_id", ID, ForeignKey("vessel.id")),
    _required("said", JSON),
    _optional("strikes_id", ID, ForeignKey("entry.id"), unique=True),
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
    _required("entry_id", ID, primary_key=True),
)

_RECEIVED = text("lot_id IS NOT NULL")

# A volume from one place to another, balanced by its shape; what is received names its lot or substance.
MOVE = Table(
    "move",
    METADATA,
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    _required("seq", Integer, primary_key=True),
    _required("source_id", ID, ForeignKey("place.id")),
    _required("destination_id", ID, ForeignKey("place.id")),
    _required("ml", BigInteger),
    _optional("lot_id", ID, ForeignKey("lot.id")),
    _optional("substance", Text),
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
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    _required("seq", Integer, primary_key=True),
    _required("vessel_id", ID, ForeignKey("vessel.id")),
    _required("property", String(30)),
    _required("value", Double),
    _required("uncertainty", Double),
    _required("method", Text),
    CheckConstraint("uncertainty >= 0", name="uncertainty"),
    Index(None, "vessel_id", "property"),
)

# A bottling's code and bottles; its litres are the entry's moves.
BOTTLING = Table(
    "bottling",
    METADATA,
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    _required("code", String(40), index=True),
    _required("bottles", Integer),
    _required("bottle_ml", Integer),
    CheckConstraint("bottles > 0 AND bottle_ml > 0", name="positive"),
)

# Bottles of one bottling from one place to another: a named store ("" is not named) or an outside place of bottles.
# Bottles come from *filled* into the store that is not named; for that no row is needed.
BOTTLE_MOVE = Table(
    "bottle_move",
    METADATA,
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    _required("bottling_id", ID, ForeignKey("bottling.entry_id"), index=True),
    _required("bottles", Integer),
    _required("source", Text),
    _required("destination", Text),
    _required("party", Text),
    _required("document", Text),
    CheckConstraint("bottles > 0", name="bottles_positive"),
    CheckConstraint("source <> destination", name="two_places"),
)

# Entries written as one act on several vessels bear one mark, by which they are struck together.
TOGETHER = Table(
    "together",
    METADATA,
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True),
    _required("act_id", ID, index=True),
)

# A word of the cellar's own vocabulary: an attribute that is scored, or a tasting word. Only what the cellar changed or
# used stands here, the rest is shipped with the program; `formerly` are the names it had before.
TERM = Table(
    "term",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("kind", Text),
    _required("name", String(40)),
    _required("family", Text),
    _required("part", Text),
    _required("scale", Text),
    _required("is_fault", Integer),
    _required("formerly", JSON),
    _optional("retired_at", UtcTime),
    CheckConstraint("kind IN ('attribute', 'word')", name="kind"),
    UniqueConstraint("kind", "name"),
)

# Samples tasted together; the codes are lifted when it is revealed, which closes it.
FLIGHT = Table(
    "flight",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("name", Text),
    _required("scale", Text),
    _required("poured_at", UtcTime),
    _optional("revealed_at", UtcTime),
    _optional("revealed_by", Text),
)

# An attribute that a flight's tasters score beside the overall score, and on which scale.
SCORED = Table(
    "scored",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("term_id", ID, ForeignKey("term.id"), primary_key=True),
    _required("place", Integer),
    _required("scale", Text),
)

# The order in which a taster meets a flight's glasses: their codes, and the row of the flight's design that it is.
SERVING = Table(
    "serving",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("taster", String(40), primary_key=True),
    _required("place", Integer),
    _required("glasses", JSON),
    _required("drawn_at", UtcTime),
)

# A look at what is in the glasses of a flight that was still blind: whose, and when.
PEEK = Table(
    "peek",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("flight_id", ID, ForeignKey("flight.id")),
    _required("hand", Text),
    _required("at", UtcTime),
)

# One blind-coded glass of a flight and what was in it; no vessel means a bench trial. `role` is 'reference' for a
# control that the tasters know to be one, 'control' for one that is hidden among the others; in a difference test it is
# the sample, 'A' or 'B'.
GLASS = Table(
    "glass",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("flight_id", ID, ForeignKey("flight.id")),
    _required("code", String(10)),
    _required("position", Integer),
    _optional("vessel_id", ID, ForeignKey("vessel.id")),
    _required("what", Text, default=""),
    _required("role", Text, default="", server_default=""),
    UniqueConstraint("flight_id", "code"),
)

# One taster's overall score of a glass, tasting words, verdict, and the weeks until it is to be tasted again.
SCORE = Table(
    "score",
    METADATA,
    _required("glass_id", ID, ForeignKey("glass.id"), primary_key=True),
    _required("taster", String(40), primary_key=True),
    _optional("value", Double),
    _required("words", Text, default=""),
    _required("written_at", UtcTime),
    _required("verdict", Text, default="", server_default=""),
    _optional("weeks", Integer),
)

# What one taster gave one attribute of one glass, on the scale that the flight has for it.
MARK = Table(
    "mark",
    METADATA,
    _required("glass_id", ID, ForeignKey("glass.id"), primary_key=True),
    _required("taster", String(40), primary_key=True),
    _required("term_id", ID, ForeignKey("term.id"), primary_key=True),
    _required("value", Double),
    _required("written_at", UtcTime),
)

# What a flight asks that is a difference test, and how surely: of two samples, A and B, which are the `role` of its
# glasses. `asked` is what one has more of, `expected` which one if that was said beforehand, `reference` which one is
# the known one of a duo-trio (blank: each in turn). `aim` is to find a difference, or to show that few taste one.
DIFFERENCE = Table(
    "difference",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("test", Text),
    _required("aim", Text),
    _required("asked", Text),
    _required("expected", Text),
    _required("reference", Text),
    _required("rounds", Integer),
    _required("alpha", Double),
    _required("share", Double),
    _required("power", Double),
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
    _required("id", ID, primary_key=True),
    _required("flight_id", ID, ForeignKey("flight.id")),
    _required("taster", String(40)),
    _required("round", Integer),
    _required("glasses", JSON),
    _required("drawn_at", UtcTime),
    UniqueConstraint("flight_id", "taster", "round"),
)

# What a taster answered of a set: the code, or the two codes, that were named.
ANSWER = Table(
    "answer",
    METADATA,
    _required("presented_id", ID, ForeignKey("presented.id"), primary_key=True),
    _required("codes", JSON),
    _required("written_at", UtcTime),
)

# A taster who left a flight before the end: it waits for them no more.
DEPARTED = Table(
    "departed",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("taster", String(40), primary_key=True),
    _required("hand", Text),
    _required("at", UtcTime),
)

# One walk of the rounds, open until it ends and resumed where it was left; `walked_at`, if it was on paper.
WALK = Table(
    "walk",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("began_at", UtcTime),
    _optional("ended_at", UtcTime),
    _optional("walked_at", UtcTime),
)

# What became of one task at one vessel on a walk.
STOP = Table(
    "stop",
    METADATA,
    _required("walk_id", ID, ForeignKey("walk.id"), primary_key=True),
    _required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    _required("task", String(20), primary_key=True),
    _required("state", Text),
    _required("said_at", UtcTime),
    CheckConstraint("state IN ('done', 'skipped', 'out of reach')", name="state"),
)

# What is to be done: an act's own outside texts, and those of single vessels. Nothing of it is in the book before it is
# done; then `entries` are the ids of what was written.
ORDERS = Table(
    "orders",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("number", Integer, unique=True),
    _required("day", String(10)),
    _required("place", Integer),
    _required("kind", String(20)),
    _required("texts", JSON),
    _required("each", JSON),
    _required("note", Text),
    _required("hand", Text),
    _required("written_at", UtcTime),
    _required("state", Text),
    _required("entries", JSON),
    _required("why", Text),
    _optional("closed_at", UtcTime),
    CheckConstraint("state IN ('open', 'done', 'withdrawn')", name="state"),
    CheckConstraint("(state = 'open') = (closed_at IS NULL)", name="closed"),
)

# What the cellar calls ready: limits, with which chance they must hold, and the risk of missing it. A definition stands
# until the next of the same lot, or of the cellar where there is no lot; without limits it is withdrawn.
READINESS = Table(
    "readiness",
    METADATA,
    _required("id", ID, primary_key=True),
    _optional("lot_id", ID, ForeignKey("lot.id")),
    _required("limits", JSON),
    _required("chance", Double),
    _required("risk", Double),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("chance > 0 AND chance < 1 AND risk > 0 AND risk < 1", name="chances"),
)

# What a substance, a bottle of a size, a closure or an hour of work costs from a moment on, by the item's own unit.
# Rows are only added: of one moment the last one written counts; without an amount it is unknown from then on.
PRICE = Table(
    "price",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("item", String(40)),
    _optional("bottle_ml", Integer),
    _optional("amount", Double),
    _required("currency", String(3)),
    _required("holds_from", UtcTime),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("amount >= 0", name="amount"),
    CheckConstraint("bottle_ml > 0", name="bottle"),
)

# Blends that are tried on the bench: the stocks with the bounds of their shares, the limits, and each glass with its
# session and millilitres. A trial stands as it was planned; one that is not to be poured is withdrawn.
TRIAL = Table(
    "trial",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("question", Text),
    _required("stocks", JSON),
    _required("limits", JSON),
    _required("design", Text),
    _required("degree", Integer),
    _required("glasses", JSON),
    _required("step_ml", Double),
    _required("scale", Text),
    _required("tasters", JSON),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("degree IN (1, 2, 3)", name="degree"),
    CheckConstraint("step_ml > 0", name="step"),
)

# The flight that a session of a trial was poured as; which of its glasses is which of the trial's stands on the glass.
TRIAL_FLIGHT = Table(
    "trial_flight",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("trial_id", ID, ForeignKey("trial.id")),
    _required("session", Integer),
    CheckConstraint("session > 0", name="session"),
    UniqueConstraint("trial_id", "session"),
)

# A trial that was given up, and why.
TRIAL_WITHDRAWN = Table(
    "trial_withdrawn",
    METADATA,
    _required("trial_id", ID, ForeignKey("trial.id"), primary_key=True),
    _required("why", Text),
    _required("hand", Text),
    _required("written_at", UtcTime),
)

# A trial across barrels: the question, what is measured and on which scale, the treatments with what is done, the seed
# they were drawn with (none where they were given), which blocks are tasted or read when, by whom, and its power as it
# was stated beforehand. It stands as it was written, with as many barrels as it was planned with.
BARREL_TRIAL = Table(
    "barrel_trial",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("question", Text),
    _required("measure", Text),
    _required("scale", Text),
    _required("treatments", JSON),
    _required("barrels", Integer),
    _required("blocked_by", JSON),
    _optional("seed", BigInteger),
    _required("sittings", JSON),
    _required("tasters", JSON),
    _optional("difference", Double),
    _required("level", Double),
    _required("stated", JSON),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("barrels > 1 AND level > 0 AND level < 1", name="sizes"),
)

# A barrel of a trial, the block it lies in, and the number of its treatment, from 0.
BARREL_TRIAL_BARREL = Table(
    "barrel_trial_barrel",
    METADATA,
    _required("trial_id", ID, ForeignKey("barrel_trial.id"), primary_key=True),
    _required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    _required("place", Integer),
    _required("block", Text),
    _required("treatment", Integer),
)

# A flight that was poured for a trial, and for which of its sittings, from 1.
BARREL_TRIAL_FLIGHT = Table(
    "barrel_trial_flight",
    METADATA,
    _required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    _required("trial_id", ID, ForeignKey("barrel_trial.id")),
    _required("sitting", Integer),
)

# Why a trial was given up, by whom and when.
BARREL_TRIAL_WITHDRAWN = Table(
    "barrel_trial_withdrawn",
    METADATA,
    _required("trial_id", ID, ForeignKey("barrel_trial.id"), primary_key=True),
    _required("why", Text),
    _required("hand", Text),
    _required("at", UtcTime),
)

# A period as it was filed: its span, the unit and the classes its figures are in, the running totals and the strength
# of each bottling that it leaves to the next, what was counted, and the digest of all of it. Its figures and entries
# are written before it, in one transaction, and none joins them once it is there. A correction names what it corrects.
PERIOD = Table(
    "period",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("starts_at", UtcTime),
    _required("ends_at", UtcTime),
    _required("zone", Text),
    _required("unit", Text),
    _required("classes", JSON),
    _required("totals", JSON),
    _required("bottlings", JSON),
    _required("counted", JSON),
    _required("digest", Text),
    _required("hand", Text),
    _required("note", Text),
    _required("written_at", UtcTime),
    _optional("corrects_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), unique=True),
    CheckConstraint("starts_at < ends_at AND ends_at <= written_at", name="over"),
)

# A figure of a filed period in the order they are printed: what adds has the sign 1, what takes away -1; a carried one
# is of what changed in the periods before it.
FILED_FIGURE = Table(
    "filed_figure",
    METADATA,
    _required("period_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), primary_key=True),
    _required("place", Integer, primary_key=True),
    _required("part", Text),
    _required("line", Text),
    _required("strength_class", Text),
    _required("sign", Integer),
    _required("is_carried", Integer),
    _required("ml", BigInteger),
    _required("printed", Text),
    CheckConstraint("sign IN (-1, 1)", name="sign"),
)

# An entry that the figures of a filed period count.
FILED_ENTRY = Table(
    "filed_entry",
    METADATA,
    _required("period_id", ID, ForeignKey("period.id", deferrable=True, initially="DEFERRED"), primary_key=True),
    _required("entry_id", ID, ForeignKey("entry.id"), primary_key=True, index=True),
)

# A value of a rule that the cellar gave itself, from a day on and after a source; without a value it holds no longer.
# The name "profile" has the rules it works by. Rows are only added.
OWN_RULE = Table(
    "own_rule",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("profile", String(40)),
    _required("name", Text),
    _optional("value", Text),
    _required("since", Date),
    _required("source", Text),
    _required("note", Text),
    _required("hand", Text),
    _required("written_at", UtcTime),
)

# The risks of a bottling as they stood when they were passed: what was asked, every figure, and the reason for each
# that was trouble. Rows are only added.
RISKS_PASSED = Table(
    "risks_passed",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("vessels", JSON),
    _required("asked", JSON),
    _required("figures", JSON),
    _required("reasons", JSON),
    _required("hand", Text),
    _required("written_at", UtcTime),
)

# Honey as it came in, in grams; its moisture [g per 100 g] and how that was found. Of several rows with one code the
# last written stands: the earlier are kept.
HONEY = Table(
    "honey",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), index=True),
    _optional("producer", Text),
    _optional("floral", Text),
    _optional("harvest", Text),
    _optional("supplier_lot", Text),
    _required("grams", BigInteger),
    _optional("moisture", Double),
    _optional("method", Text),
    _optional("price_per_kg", Double),
    _optional("came_on", UtcTime),
    _required("note", Text),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("grams > 0", name="grams"),
    CheckConstraint("moisture IS NULL OR (moisture > 0 AND moisture < 100)", name="moisture"),
)

# The batch sheet of a lot: water, grams of each honey by its code, litres and gravity of other juices, the yeast with
# what it stands; the gravity and litres that were calculated when it was written, and the gravity where it would end.
# Of several sheets of a lot the last written stands.
BATCH = Table(
    "batch",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("lot_id", ID, ForeignKey("lot.id"), index=True),
    _required("water_ml", BigInteger),
    _required("honeys", JSON),
    _required("others", JSON),
    _optional("yeast", Text),
    _optional("tolerance", Double),
    _optional("coolest", Double),
    _optional("warmest", Double),
    _optional("nutrient_n", Double),
    _optional("target_sg", Double),
    _optional("target_l", Double),
    _optional("end_sg", Double),
    _optional("end_sd", Double),
    _required("note", Text),
    _required("hand", Text),
    _required("written_at", UtcTime),
    CheckConstraint("water_ml >= 0", name="water"),
)

# A bottling run as it was opened: on which vessels, for which sizes and how many of each, the strength on the label,
# how much was expected, and the risks that were passed before the first bottle. Rows are only added, as are its lines.
RUN = Table(
    "run",
    METADATA,
    _required("id", ID, primary_key=True),
    _required("code", String(40), unique=True),
    _required("vessels", JSON),
    _required("sizes", JSON),
    _optional("label", Double),
    _required("expected", JSON),
    _required("risks_id", ID, ForeignKey("risks_passed.id")),
    _required("hand", Text),
    _required("opened_at", UtcTime),
)

# What happened in a run, a line each in order. A wrong line is struck by another that names its number.
RUN_LINE = Table(
    "run_line",
    METADATA,
    _required("run_id", ID, ForeignKey("run.id"), primary_key=True),
    _required("number", Integer, primary_key=True),
    _required("kind", Text),
    _optional("bottle_ml", Integer),
    _optional("bottles", Integer),
    _optional("ml", Integer),
    _required("volumes_ml", JSON),
    _required("words", Text),
    _optional("strikes", Integer),
    _required("hand", Text),
    _required("at", UtcTime),
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
    _required("id", ID, primary_key=True),
    _required("run_id", ID, ForeignKey("run.id"), index=True),
    _required("entries", JSON),
    _required("came_to", JSON),
    _required("hand", Text),
    _required("at", UtcTime),
)

# A fact about the cellar as a whole, such as its name.
CELLAR = Table(
    "cellar",
    METADATA,
    _required("key", String(40), primary_key=True),
    _required("value", Text),
)

# The cache: a vessel's state after its latest event. Dropped at any moment, rebuilt identically.
STATE = Table(
    "reckoned",
    METADATA,
    _required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    _required("state", Text),
)

# The cache of the past: a vessel's state just before a moment. Dropped at any moment, never needed.
SNAPSHOT = Table(
    "snapshot",
    METADATA,
    _required("at", UtcTime, primary_key=True),
    _required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    _required("state", Text),
)


def as_json(value: object) -> str:
    """Write a value the way the book keeps it: compact, keys in order, so equal states are equal text."""
    return json.dumps(value, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
