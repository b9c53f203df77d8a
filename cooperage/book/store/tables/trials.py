"""Trials: blends on the bench, and treatments across barrels."""

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    Double,
    ForeignKey,
    Integer,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from cooperage.book.store.tables.columns import ID, METADATA, UtcTime, optional, required

# Blends that are tried on the bench: the stocks with the bounds of their shares, the limits, and each glass with its
# session and millilitres. A trial stands as it was planned; one that is not to be poured is withdrawn.
TRIAL = Table(
    "trial",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("question", Text),
    required("stocks", JSON),
    required("limits", JSON),
    required("design", Text),
    required("degree", Integer),
    required("glasses", JSON),
    required("step_ml", Double),
    required("scale", Text),
    required("tasters", JSON),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("degree IN (1, 2, 3)", name="degree"),
    CheckConstraint("step_ml > 0", name="step"),
)

# The flight that a session of a trial was poured as; which of its glasses is which of the trial's stands on the glass.
TRIAL_FLIGHT = Table(
    "trial_flight",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("trial_id", ID, ForeignKey("trial.id")),
    required("session", Integer),
    CheckConstraint("session > 0", name="session"),
    UniqueConstraint("trial_id", "session"),
)

# A trial that was given up, and why.
TRIAL_WITHDRAWN = Table(
    "trial_withdrawn",
    METADATA,
    required("trial_id", ID, ForeignKey("trial.id"), primary_key=True),
    required("why", Text),
    required("hand", Text),
    required("written_at", UtcTime),
)

# A trial across barrels: the question, what is measured and on which scale, the treatments with what is done, the seed
# they were drawn with (none where they were given), which blocks are tasted or read when, by whom, and its power as it
# was stated beforehand. It stands as it was written, with as many barrels as it was planned with.
BARREL_TRIAL = Table(
    "barrel_trial",
    METADATA,
    required("id", ID, primary_key=True),
    required("code", String(40), unique=True),
    required("question", Text),
    required("measure", Text),
    required("scale", Text),
    required("treatments", JSON),
    required("barrels", Integer),
    required("blocked_by", JSON),
    optional("seed", BigInteger),
    required("sittings", JSON),
    required("tasters", JSON),
    optional("difference", Double),
    required("level", Double),
    required("stated", JSON),
    required("hand", Text),
    required("written_at", UtcTime),
    CheckConstraint("barrels > 1 AND level > 0 AND level < 1", name="sizes"),
)

# A barrel of a trial, the block it lies in, and the number of its treatment, from 0.
BARREL_TRIAL_BARREL = Table(
    "barrel_trial_barrel",
    METADATA,
    required("trial_id", ID, ForeignKey("barrel_trial.id"), primary_key=True),
    required("vessel_id", ID, ForeignKey("vessel.id"), primary_key=True),
    required("place", Integer),
    required("block", Text),
    required("treatment", Integer),
)

# A flight that was poured for a trial, and for which of its sittings, from 1.
BARREL_TRIAL_FLIGHT = Table(
    "barrel_trial_flight",
    METADATA,
    required("flight_id", ID, ForeignKey("flight.id"), primary_key=True),
    required("trial_id", ID, ForeignKey("barrel_trial.id")),
    required("sitting", Integer),
)

# Why a trial was given up, by whom and when.
BARREL_TRIAL_WITHDRAWN = Table(
    "barrel_trial_withdrawn",
    METADATA,
    required("trial_id", ID, ForeignKey("barrel_trial.id"), primary_key=True),
    required("why", Text),
    required("hand", Text),
    required("at", UtcTime),
)
