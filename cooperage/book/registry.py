"""Who is in the cellar: vessels, barrels, lots and upkeep as plain values, and how they are registered."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, Select, bindparam, delete, func, insert, select

from cooperage.book.errors import AlreadyThere, NoSuchLot, NoSuchVessel
from cooperage.book.models import BarrelRow, Base, LotRow, PlaceRow, UpkeepRow, VesselRow


@dataclass(frozen=True, slots=True)
class Barrel:
    """The wood and the past life of a barrel; None is unknown, which is not zero."""

    cooper: str | None = None
    wood: str | None = None
    forest: str | None = None
    seasoning_months: int | None = None
    toast_staves: str | None = None
    toast_heads: str | None = None
    char: int | None = None
    year: int | None = None
    acquired_on: datetime | None = None
    cost: float | None = None
    past_life: str | None = None
    past_kind: str | None = None
    fills_before: int | None = None

    @property
    def held_spirit(self) -> bool:
        """Say whether spirit or fortified wine was in it: then no flame comes near."""
        return self.past_kind in ("spirit", "fortified")


@dataclass(frozen=True, slots=True)
class Upkeep:
    """A vessel's own intervals and limits; None leaves the cellar's default in force."""

    topping: str | None = None
    top_every_days: int | None = None
    top_below_ml: int | None = None
    taste_every_days: int | None = None
    sulphite_every_days: int | None = None
    sniff_every_days: int | None = None
    molecular_so2_floor_mg_l: float | None = None
    va_ceiling_g_l: float | None = None
    top_from: str | None = None


Position = tuple[str | None, str | None, int | None, int | None]


@dataclass(frozen=True, slots=True)
class Vessel:
    """A vessel as registered: its tag, size, first position, wood and care. Capacity in millilitres."""

    id: str
    tag: str
    kind: str
    capacity_ml: int
    capacity_how: str = "nominal"
    position: Position = (None, None, None, None)
    note: str = ""
    barrel: Barrel | None = None
    upkeep: Upkeep = Upkeep()

    @property
    def is_barrel(self) -> bool:
        """Say whether it is a barrel."""
        return self.kind == "barrel"


@dataclass(frozen=True, slots=True)
class Lot:
    """A batch of mead as received: honey, gravities [SG 20/20], strength [% vol], cost per litre, dates."""

    id: str
    code: str
    name: str
    honey: str | None = None
    original_sg: float | None = None
    final_sg: float | None = None
    abv: float | None = None
    cost_per_l: float | None = None
    pitched_on: datetime | None = None
    finished_on: datetime | None = None
    note: str = ""


_PLAIN = ("id", "tag", "kind", "capacity_ml", "capacity_how")
_PLACED = ("room", "row", "bay", "tier")
_WOOD = tuple(field.name for field in fields(Barrel))
_CARE = tuple(field.name for field in fields(Upkeep))
_LOT = tuple(field.name for field in fields(Lot))
_WOOD_AT = len(_PLAIN) + len(_PLACED) + 1
_CARE_AT = _WOOD_AT + len(_WOOD)


def _columns(table: type[Base], names: Sequence[str]) -> list[Any]:
    return [getattr(table, name) for name in names]


def _vessels() -> Select[Any]:
    """Select what `_vessel` takes by place: looking columns up by name costs more than making the vessel."""
    plain = _columns(VesselRow, (*_PLAIN, *_PLACED, "note"))
    return (
        select(*plain, *_columns(BarrelRow, _WOOD), *_columns(UpkeepRow, _CARE))
        .outerjoin(BarrelRow, BarrelRow.id == VesselRow.id)
        .outerjoin(UpkeepRow, UpkeepRow.vessel_id == VesselRow.id)
    )


# Built once: making a statement costs more than running it.
_ALL_VESSELS = _vessels().order_by(VesselRow.tag)
_VESSEL_BY_TAG = _vessels().where(VesselRow.tag == bindparam("tag"))
_VESSEL_BY_ID = _vessels().where(VesselRow.id == bindparam("id"))
_ALL_LOTS = select(*_columns(LotRow, _LOT)).order_by(LotRow.code)


def _vessel(row: Sequence[Any]) -> Vessel:
    id_, tag, kind, capacity_ml, capacity_how, *position, note = row[:_WOOD_AT]
    room, line, bay, tier = position
    barrel = Barrel(*row[_WOOD_AT:_CARE_AT]) if kind == "barrel" else None
    upkeep = Upkeep(*row[_CARE_AT:])
    return Vessel(id_, tag, kind, capacity_ml, capacity_how, (room, line, bay, tier), note, barrel, upkeep)


class Registry:
    """Vessels and lots by tag, code and id; looked up one by one, or all at once when many are wanted."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._by_tag: dict[str, Vessel] = {}
        self._by_id: dict[str, Vessel] = {}
        self._lots: dict[str, Lot] | None = None
        self._is_loaded = False

    def load(self) -> list[Vessel]:
        """Load every vessel, in order of tag."""
        if not self._is_loaded:
            for row in self._connection.execute(_ALL_VESSELS):
                self._keep(_vessel(row))
            self._is_loaded = True
        return sorted(self._by_tag.values(), key=lambda vessel: vessel.tag)

    def _keep(self, vessel: Vessel) -> Vessel:
        self._by_tag[vessel.tag] = self._by_id[vessel.id] = vessel
        return vessel

    def vessel(self, tag: str) -> Vessel:
        """Find a vessel by its tag, in any case; raise NoSuchVessel with the nearest tags."""
        found = self._by_tag.get(tag)
        if found is None:
            row = self._connection.execute(_VESSEL_BY_TAG, {"tag": tag}).first()
            found = self._keep(_vessel(row)) if row is not None else self._in_other_case(tag)
        return found

    def _in_other_case(self, tag: str) -> Vessel:
        tags = {known.upper(): known for known in self._connection.execute(select(VesselRow.tag)).scalars()}
        meant = tags.get(tag.strip().upper())
        if meant is None:
            near = get_close_matches(tag.strip().upper(), list(tags), n=3, cutoff=0.6)
            raise NoSuchVessel(tag, [tags[name] for name in near])
        return self.vessel(meant)

    def has(self, tag: str) -> bool:
        """Say whether a vessel bears this tag."""
        folded = func.upper(VesselRow.tag) == tag.strip().upper()
        return self._connection.execute(select(VesselRow.id).where(folded)).first() is not None

    def by_id(self, vessel_id: str) -> Vessel:
        """Find a vessel by its id."""
        if vessel_id not in self._by_id:
            self._keep(_vessel(self._connection.execute(_VESSEL_BY_ID, {"id": vessel_id}).one()))
        return self._by_id[vessel_id]

    @property
    def lots(self) -> dict[str, Lot]:
        """All lots by id, in order of code."""
        if self._lots is None:
            rows = self._connection.execute(_ALL_LOTS)
            self._lots = {lot.id: lot for lot in (Lot(*row) for row in rows)}
        return self._lots

    def lot_by_id(self, lot_id: str) -> Lot:
        """Find a lot by its id."""
        return self.lots[lot_id]

    def lot(self, code: str) -> Lot:
        """Find a lot by its code, in any case; raise NoSuchLot with the codes there are."""
        wanted = code.strip().upper()
        for lot in self.lots.values():
            if lot.code.upper() == wanted:
                return lot
        raise NoSuchLot(code, [lot.code for lot in self.lots.values()])

    def add_vessel(self, vessel: Vessel) -> Vessel:
        """Register a new vessel; its tag must be new."""
        if self.has(vessel.tag):
            raise AlreadyThere("vessel", vessel.tag)
        plain = {name: getattr(vessel, name) for name in (*_PLAIN, "note")}
        self._connection.execute(insert(PlaceRow), {"id": vessel.id, "kind": "vessel"})
        self._connection.execute(insert(VesselRow), plain | dict(zip(_PLACED, vessel.position, strict=True)))
        if vessel.is_barrel:
            self._connection.execute(insert(BarrelRow), {"id": vessel.id} | asdict(vessel.barrel or Barrel()))
        self.set_upkeep(vessel, vessel.upkeep)
        return self._keep(vessel)

    def set_upkeep(self, vessel: Vessel, upkeep: Upkeep) -> Vessel:
        """Give a vessel its intervals and limits; upkeep is a plan, not an entry, and may change."""
        self._connection.execute(delete(UpkeepRow).where(UpkeepRow.vessel_id == vessel.id))
        if upkeep != Upkeep():
            self._connection.execute(insert(UpkeepRow), {"vessel_id": vessel.id} | asdict(upkeep))
        return self._keep(replace(vessel, upkeep=upkeep))

    def add_lot(self, lot: Lot) -> Lot:
        """Register a new lot; its code must be new."""
        if any(known.code.upper() == lot.code.upper() for known in self.lots.values()):
            raise AlreadyThere("lot", lot.code)
        self._connection.execute(insert(LotRow), asdict(lot))
        self.lots[lot.id] = lot
        return lot
