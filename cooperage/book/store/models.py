"""The tables of the cellar book.

`entry`, `move` and `reading` are append-only: triggers on both backends refuse to update or delete their rows
(see the first migration). Volumes are integer millilitres; times are UTC.
"""

import json
from datetime import UTC, datetime
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    BigInteger,
    CheckConstraint,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

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


class Base(DeclarativeBase):
    """The root of the models; the naming convention lets SQLite's constraints be changed later."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar = {datetime: UtcTime, dict[str, Any]: JSON, str: Text}


ID = String(64)


class PlaceRow(Base):
    """Anywhere liquid can be; an outside place's id is its own name."""

    __tablename__ = "place"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    kind: Mapped[str]

    __table_args__ = (CheckConstraint("kind IN ('vessel', 'outside')", name="kind"),)


class VesselRow(Base):
    """A barrel, tank, keg or demijohn, where it stood when it came, and the care it gets."""

    __tablename__ = "vessel"
    id: Mapped[str] = mapped_column(ID, ForeignKey("place.id"), primary_key=True)
    tag: Mapped[str] = mapped_column(String(40), unique=True)
    kind: Mapped[str]
    capacity_ml: Mapped[int] = mapped_column(BigInteger)
    capacity_how: Mapped[str]
    room: Mapped[str | None]
    row: Mapped[str | None]
    bay: Mapped[int | None]
    tier: Mapped[int | None]
    note: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        CheckConstraint("kind IN ('barrel', 'tank', 'keg', 'demijohn')", name="kind"),
        CheckConstraint("capacity_ml > 0", name="capacity_positive"),
        CheckConstraint("capacity_how IN ('measured', 'nominal', 'unknown')", name="capacity_how"),
    )


class BarrelRow(Base):
    """What is known of a barrel's wood and past; a null is unknown, which is not zero."""

    __tablename__ = "barrel"
    id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"), primary_key=True)
    cooper: Mapped[str | None]
    wood: Mapped[str | None]
    forest: Mapped[str | None]
    seasoning_months: Mapped[int | None]
    toast_staves: Mapped[str | None]
    toast_heads: Mapped[str | None]
    char: Mapped[int | None]
    year: Mapped[int | None]
    acquired_on: Mapped[datetime | None]
    cost: Mapped[float | None]
    past_life: Mapped[str | None]
    past_kind: Mapped[str | None]
    fills_before: Mapped[int | None]

    __table_args__ = (
        CheckConstraint("fills_before >= 0", name="fills_before"),
        CheckConstraint("past_kind IN ('none', 'wine', 'fortified', 'spirit', 'beer', 'other')", name="past_kind"),
    )


class UpkeepRow(Base):
    """A vessel's intervals and limits; a null leaves the cellar's default in force."""

    __tablename__ = "upkeep"
    vessel_id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"), primary_key=True)
    topping: Mapped[str | None]
    top_every_days: Mapped[int | None]
    top_below_ml: Mapped[int | None] = mapped_column(BigInteger)
    taste_every_days: Mapped[int | None]
    sulphite_every_days: Mapped[int | None]
    sniff_every_days: Mapped[int | None]
    molecular_so2_floor_mg_l: Mapped[float | None]
    va_ceiling_g_l: Mapped[float | None]
    top_from: Mapped[str | None]

    __table_args__ = (CheckConstraint("topping IN ('interval', 'level', 'opened', 'never')", name="topping"),)


class LotRow(Base):
    """A batch of mead as received into the cellar."""

    __tablename__ = "lot"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    code: Mapped[str] = mapped_column(String(40), unique=True)
    name: Mapped[str]
    honey: Mapped[str | None]
    original_sg: Mapped[float | None]
    final_sg: Mapped[float | None]
    abv: Mapped[float | None]
    cost_per_l: Mapped[float | None]
    pitched_on: Mapped[datetime | None]
    finished_on: Mapped[datetime | None]
    note: Mapped[str] = mapped_column(default="")


class EntryRow(Base):
    """One dated act written in the book by one hand; `said` keeps what the hand said, word for word."""

    __tablename__ = "entry"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    kind: Mapped[str] = mapped_column(String(20))
    happened_at: Mapped[datetime]
    written_at: Mapped[datetime]
    hand: Mapped[str]
    note: Mapped[str]
    vessel_id: Mapped[str | None] = mapped_column(ID, ForeignKey("vessel.id"))
    said: Mapped[dict[str, Any]]
    strikes_id: Mapped[str | None] = mapped_column(ID, ForeignKey("entry.id"), unique=True)

    __table_args__ = (
        CheckConstraint("happened_at <= written_at", name="not_in_the_future"),
        CheckConstraint("(kind = 'strike') = (strikes_id IS NOT NULL)", name="strike"),
        Index(None, "happened_at", "id"),
        Index(None, "written_at", "id"),
        Index(None, "vessel_id"),
    )


class OpenEntryRow(Base):
    """An entry that is being written: its moves and readings join it now or never. Outside a write there is none.

    A trigger marks every entry as it comes in, and refuses to mark one that is there; the writer clears the marks
    before it commits (see the fourth migration).
    """

    __tablename__ = "open_entry"
    entry_id: Mapped[str] = mapped_column(ID, primary_key=True)


class MoveRow(Base):
    """A volume from one place to another, balanced by its shape; what is received names its lot or substance."""

    __tablename__ = "move"
    entry_id: Mapped[str] = mapped_column(ID, ForeignKey("entry.id"), primary_key=True)
    seq: Mapped[int] = mapped_column(primary_key=True)
    source_id: Mapped[str] = mapped_column(ID, ForeignKey("place.id"))
    destination_id: Mapped[str] = mapped_column(ID, ForeignKey("place.id"))
    ml: Mapped[int] = mapped_column(BigInteger)
    lot_id: Mapped[str | None] = mapped_column(ID, ForeignKey("lot.id"))
    substance: Mapped[str | None]

    __table_args__ = (
        CheckConstraint("ml > 0", name="ml_positive"),
        CheckConstraint("source_id <> destination_id", name="two_places"),
        Index(None, "source_id"),
        Index(None, "destination_id"),
    )


class ReadingRow(Base):
    """A value read on a vessel, how sure it is and how it was got; time and hand are its entry's."""

    __tablename__ = "reading"
    entry_id: Mapped[str] = mapped_column(ID, ForeignKey("entry.id"), primary_key=True)
    seq: Mapped[int] = mapped_column(primary_key=True)
    vessel_id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"))
    property: Mapped[str] = mapped_column(String(30))
    value: Mapped[float]
    uncertainty: Mapped[float]
    method: Mapped[str]

    __table_args__ = (
        CheckConstraint("uncertainty >= 0", name="uncertainty"),
        Index(None, "vessel_id", "property"),
    )


class BottlingRow(Base):
    """A bottling's code and bottles; its litres are the entry's moves."""

    __tablename__ = "bottling"
    entry_id: Mapped[str] = mapped_column(ID, ForeignKey("entry.id"), primary_key=True)
    code: Mapped[str] = mapped_column(String(40), index=True)
    bottles: Mapped[int]
    bottle_ml: Mapped[int]

    __table_args__ = (CheckConstraint("bottles > 0 AND bottle_ml > 0", name="positive"),)


class FlightRow(Base):
    """Samples tasted together; the codes are lifted when it is revealed."""

    __tablename__ = "flight"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    code: Mapped[str] = mapped_column(String(40), unique=True)
    name: Mapped[str]
    scale: Mapped[str]
    poured_at: Mapped[datetime]
    revealed_at: Mapped[datetime | None]


class GlassRow(Base):
    """One blind-coded glass of a flight and what was in it; no vessel means a bench trial or a control."""

    __tablename__ = "glass"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    flight_id: Mapped[str] = mapped_column(ID, ForeignKey("flight.id"))
    code: Mapped[str] = mapped_column(String(10))
    position: Mapped[int]
    vessel_id: Mapped[str | None] = mapped_column(ID, ForeignKey("vessel.id"))
    what: Mapped[str] = mapped_column(default="")

    __table_args__ = (UniqueConstraint("flight_id", "code"),)


class ScoreRow(Base):
    """What one taster gave one glass."""

    __tablename__ = "score"
    glass_id: Mapped[str] = mapped_column(ID, ForeignKey("glass.id"), primary_key=True)
    taster: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[float | None]
    words: Mapped[str] = mapped_column(default="")
    written_at: Mapped[datetime]


class WalkRow(Base):
    """One walk of the rounds, open until it ends and resumed where it was left; `walked_at`, if it was on paper."""

    __tablename__ = "walk"
    id: Mapped[str] = mapped_column(ID, primary_key=True)
    began_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    walked_at: Mapped[datetime | None]


class StopRow(Base):
    """What became of one task at one vessel on a walk."""

    __tablename__ = "stop"
    walk_id: Mapped[str] = mapped_column(ID, ForeignKey("walk.id"), primary_key=True)
    vessel_id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"), primary_key=True)
    task: Mapped[str] = mapped_column(String(20), primary_key=True)
    state: Mapped[str]
    said_at: Mapped[datetime]

    __table_args__ = (CheckConstraint("state IN ('done', 'skipped', 'out of reach')", name="state"),)


class CellarRow(Base):
    """A fact about the cellar as a whole, such as its name."""

    __tablename__ = "cellar"
    key: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[str]


class StateRow(Base):
    """The cache: a vessel's state after its latest event. Dropped at any moment, rebuilt identically."""

    __tablename__ = "reckoned"
    vessel_id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"), primary_key=True)
    state: Mapped[str]


class SnapshotRow(Base):
    """The cache of the past: a vessel's state just before a moment. Dropped at any moment, never needed."""

    __tablename__ = "snapshot"
    at: Mapped[datetime] = mapped_column(primary_key=True)
    vessel_id: Mapped[str] = mapped_column(ID, ForeignKey("vessel.id"), primary_key=True)
    state: Mapped[str]


def as_json(value: object) -> str:
    """Write a value the way the book keeps it: compact, keys in order, so equal states are equal text."""
    return json.dumps(value, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
