"""Who is in the cellar: vessels, barrels, lots and upkeep as plain values, and how they are registered.

Each field declares what it can be, and `Registry` asks: so a command, a form, an import and Python are one door.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from typing import Any, cast

from sqlalchemy import Connection, Select, Table, bindparam, delete, insert, select

from cooperage.book.declared.allowed import (
    LONGEST_CODE,
    Allowed,
    NotAllowed,
    allowed,
    day,
    name_tag,
    new_id,
    note,
    number_between,
    one_of,
    tidied,
    whole,
    words,
)
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.errors import AlreadyThere, NoSuchLot, NoSuchVessel
from cooperage.book.store.tables import BARREL, LOT, PLACE, UPKEEP, VESSEL
from cooperage.errors import BadInput
from cooperage.plaintext import can_be_kept

VESSEL_KINDS = ("barrel", "tank", "keg", "demijohn")
KNOWN_HOW = ("measured", "nominal", "unknown")
PAST_KINDS = ("none", "wine", "fortified", "spirit", "beer", "other")
TOPPINGS = ("interval", "level", "opened", "never")
DAYS = (1, 730)
"""The shortest and the longest interval of care [days]."""
GRAVITIES = (0.7, 1.6)
"""The gravities that can be typed at all [SG 20/20], as `units` has them."""
MOST_MONEY = 1e9
MOST_ML = 10**12
"""A thousand million litres, as `units` has it."""
_BARREL_ML = (1_000, 10_000_000)  # between these its shape is known, by which its levels are calculated
MOST_LOW_ML = 1_000_000


@dataclass(frozen=True, slots=True)
class Barrel:
    """The wood and the past life of a barrel; None is unknown, which is not zero."""

    cooper: str | None = allowed(words("the cooper"), default=None)
    wood: str | None = allowed(words("the wood"), default=None)
    forest: str | None = allowed(words("the forest"), default=None)
    seasoning_months: int | None = allowed(whole("the months of seasoning", 0, 600), default=None)
    toast_staves: str | None = allowed(words("the toast of the staves"), default=None)
    toast_heads: str | None = allowed(words("the toast of the heads"), default=None)
    char: int | None = allowed(whole("the char", 0, 9), default=None)
    year: int | None = allowed(whole("the year", 1800, 2200), default=None)
    acquired_on: datetime | None = allowed(day("the day it came"), default=None)
    cost: float | None = allowed(number_between("the cost", 0, MOST_MONEY), default=None)
    past_life: str | None = allowed(words("its past life"), default=None)
    past_kind: str | None = allowed(one_of("the kind of its past", PAST_KINDS), default=None)
    fills_before: int | None = allowed(whole("the fills before it came", 0, 999), default=None)

    @property
    def held_spirit(self) -> bool:
        """Return True if spirit or fortified wine was in it: then no flame comes near."""
        return self.past_kind in ("spirit", "fortified")


@dataclass(frozen=True, slots=True)
class Upkeep:
    """A vessel's own intervals and limits; None leaves the cellar's default in force."""

    topping: str | None = allowed(one_of("how it is topped", TOPPINGS), default=None)
    top_every_days: int | None = allowed(whole("days between toppings", *DAYS), default=None)
    top_below_ml: int | None = allowed(whole("the millilitres short at which it is low", 1, MOST_LOW_ML), default=None)
    taste_every_days: int | None = allowed(whole("days between tastings", *DAYS), default=None)
    sulphite_every_days: int | None = allowed(whole("days between readings of sulphite", *DAYS), default=None)
    sniff_every_days: int | None = allowed(whole("days between smellings when empty", *DAYS), default=None)
    molecular_so2_floor_mg_l: float | None = allowed(
        number_between("the floor of molecular SO2", 0.0, 3.0), default=None
    )
    va_ceiling_g_l: float | None = allowed(number_between("the ceiling of volatile acid", 0.1, 3.0), default=None)
    top_from: str | None = allowed(name_tag("the vessel to top from"), default=None)


Position = tuple[str | None, str | None, int | None, int | None]

ROOM, ROW = words("the room"), words("the row")
BAY, TIER = whole("the bay", 0, 9999), whole("the tier", 0, 99)
_PLACES = (ROOM, ROW, BAY, TIER)


def _capacity(label: str, given: object) -> int:
    if not isinstance(given, int) or given <= 0:
        raise BadInput("a vessel must hold something; give its litres")
    if given > MOST_ML:
        raise BadInput(f"{label} is more than any vessel holds; correct it")
    return int(given)


def _place(label: str, given: object) -> Position:
    if not isinstance(given, tuple) or len(given) != len(_PLACES):
        raise BadInput(f"{label} must be room, row, bay and tier, each of them None where it is unknown")
    parts = (None if part is None else rule.tidy(rule.label, part) for rule, part in zip(_PLACES, given, strict=True))
    return cast(Position, tuple(parts))


_NOWHERE: Position = (None, None, None, None)


@dataclass(frozen=True, slots=True)
class Vessel:
    """A vessel as registered: its tag, size, first position, wood and care, by whom and when. Capacity in millilitres.

    By whom and when is None for what was registered before that was kept, or by a file without it.
    """

    id: str = allowed(new_id())
    tag: str = allowed(name_tag("the tag", needed=True))
    kind: str = allowed(one_of("the kind", VESSEL_KINDS, needed=True))
    capacity_ml: int = allowed(Allowed("the capacity", _capacity, needed=True))
    capacity_how: str = allowed(one_of("how the capacity is known", KNOWN_HOW, needed=True), default="nominal")
    position: Position = allowed(Allowed("the position", _place, needed=True), default=_NOWHERE)
    note: str = allowed(note(), default="")
    barrel: Barrel | None = None
    upkeep: Upkeep = Upkeep()
    registered_by: str | None = allowed(words("who registered it"), default=None)
    registered_at: datetime | None = allowed(day("when it was registered"), default=None)

    @property
    def is_barrel(self) -> bool:
        """Return True if it is a barrel."""
        return self.kind == "barrel"

    @property
    def barrel_ml(self) -> int | None:
        """The capacity of a barrel [ml]; None for any other vessel."""
        return self.capacity_ml if self.is_barrel else None


@dataclass(frozen=True, slots=True)
class Lot:
    """A batch of mead as received: honey, gravities [SG 20/20], strength [% vol], cost per litre, dates; by whom."""

    id: str = allowed(new_id())
    code: str = allowed(words("the code", LONGEST_CODE, needed=True))
    name: str = allowed(words("the name", needed=True))
    honey: str | None = allowed(words("the honey"), default=None)
    original_sg: float | None = allowed(number_between("the original gravity", *GRAVITIES), default=None)
    final_sg: float | None = allowed(number_between("the final gravity", *GRAVITIES), default=None)
    abv: float | None = allowed(number_between("the strength", 0, 100), default=None)
    cost_per_l: float | None = allowed(number_between("the cost per litre", 0, MOST_MONEY), default=None)
    pitched_on: datetime | None = allowed(day("the day it was pitched"), default=None)
    finished_on: datetime | None = allowed(day("the day it was finished"), default=None)
    note: str = allowed(note(), default="")
    registered_by: str | None = allowed(words("who registered it"), default=None)
    registered_at: datetime | None = allowed(day("when it was registered"), default=None)

    @property
    def called(self) -> str:
        """Its code and its name; once where they are the same."""
        return "  ".join(dict.fromkeys((self.code, self.name)))


_PLAIN = ("id", "tag", "kind", "capacity_ml", "capacity_how")
_PLACED = ("room", "row", "bay", "tier")
_WOOD = tuple(field.name for field in fields(Barrel))
_CARE = tuple(field.name for field in fields(Upkeep))
_REGISTERED = ("registered_by", "registered_at")
_LOT = tuple(field.name for field in fields(Lot))
_WOOD_AT = len(_PLAIN) + len(_PLACED) + 1 + len(_REGISTERED)
_CARE_AT = _WOOD_AT + len(_WOOD)


def _columns(table: Table, names: Sequence[str]) -> list[Any]:
    return [table.c[name] for name in names]


def _vessels() -> Select[Any]:
    """Select what `_vessel` takes by place: looking columns up by name costs more than making the vessel."""
    plain = _columns(VESSEL, (*_PLAIN, *_PLACED, "note", *_REGISTERED))
    return (
        select(*plain, *_columns(BARREL, _WOOD), *_columns(UPKEEP, _CARE))
        .outerjoin(BARREL, BARREL.c.id == VESSEL.c.id)
        .outerjoin(UPKEEP, UPKEEP.c.vessel_id == VESSEL.c.id)
    )


# Built once: making a statement costs more than running it.
_ALL_VESSELS = _vessels().order_by(VESSEL.c.tag)
_VESSEL_BY_TAG = _vessels().where(VESSEL.c.tag == bindparam("tag"))
_VESSEL_BY_ID = _vessels().where(VESSEL.c.id == bindparam("id"))
_ALL_LOTS = select(*_columns(LOT, _LOT)).order_by(LOT.c.code)


def _vessel(row: Sequence[Any]) -> Vessel:
    id_, tag, kind, capacity_ml, capacity_how, *position, note, by, at = row[:_WOOD_AT]
    room, line, bay, tier = position
    barrel = Barrel(*row[_WOOD_AT:_CARE_AT]) if kind == "barrel" else None
    upkeep = Upkeep(*row[_CARE_AT:])
    return Vessel(id_, tag, kind, capacity_ml, capacity_how, (room, line, bay, tier), note, barrel, upkeep, by, at)


class Registry:
    """Vessels and lots by tag, code and id; looked up one by one, or all at once when many are wanted."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._by_tag: dict[str, Vessel] = {}
        self._by_id: dict[str, Vessel] = {}
        self._lots: dict[str, Lot] | None = None
        self._is_loaded = False
        self._capitals: set[str] | None = None  # the tags, however the database folds letters; None while not asked for

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
        if found is None and not can_be_kept(tag):
            raise NoSuchVessel(tag)
        if found is None:
            row = self._connection.execute(_VESSEL_BY_TAG, {"tag": tag}).first()
            found = self._keep(_vessel(row)) if row is not None else self._in_other_case(tag)
        return found

    def _in_other_case(self, tag: str) -> Vessel:
        tags = {known.upper(): known for known in self._connection.execute(select(VESSEL.c.tag)).scalars()}
        meant = tags.get(tag.strip().upper())
        if meant is None:
            raise NoSuchVessel(tag, [*tags.values(), *OUTSIDE_IDS])
        return self.vessel(meant)

    def has(self, tag: str) -> bool:
        """Return True if a vessel bears this tag, in any case."""
        if self._capitals is None:
            self._capitals = {known.upper() for known in self._connection.execute(select(VESSEL.c.tag)).scalars()}
        return tag.strip().upper() in self._capitals

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
        """Register a new vessel; its tag and its id must be new. Raises NotAllowed, AlreadyThere."""
        vessel = tidied_vessel(vessel)
        if self.has(vessel.tag):
            raise AlreadyThere("vessel", vessel.tag)
        if self._connection.execute(select(PLACE.c.id).where(PLACE.c.id == vessel.id)).first() is not None:
            raise AlreadyThere("a vessel with the id", vessel.id)
        plain = {name: getattr(vessel, name) for name in (*_PLAIN, "note", *_REGISTERED)}
        self._connection.execute(insert(PLACE), {"id": vessel.id, "kind": "vessel"})
        self._connection.execute(insert(VESSEL), plain | dict(zip(_PLACED, vessel.position, strict=True)))
        if vessel.barrel is not None:
            self._connection.execute(insert(BARREL), {"id": vessel.id} | asdict(vessel.barrel))
        self._insert_upkeep(vessel)
        if self._capitals is not None:
            self._capitals.add(vessel.tag.upper())
        return self._keep(vessel)

    def set_upkeep(self, vessel: Vessel, upkeep: Upkeep) -> Vessel:
        """Give a vessel its intervals and limits; upkeep is a plan, not an entry, and may change. Raises NotAllowed."""
        vessel = replace(vessel, upkeep=tidied(upkeep))
        self._connection.execute(delete(UPKEEP).where(UPKEEP.c.vessel_id == vessel.id))
        self._insert_upkeep(vessel)
        return self._keep(vessel)

    def _insert_upkeep(self, vessel: Vessel) -> None:
        if vessel.upkeep != Upkeep():
            self._connection.execute(insert(UPKEEP), {"vessel_id": vessel.id} | asdict(vessel.upkeep))

    def add_lot(self, lot: Lot) -> Lot:
        """Register a new lot; its code and its id must be new. Without a name it goes by its code.

        Raises NotAllowed, AlreadyThere.
        """
        lot = tidied_lot(lot)
        if any(known.code.upper() == lot.code.upper() for known in self.lots.values()):
            raise AlreadyThere("lot", lot.code)
        if lot.id in self.lots:
            raise AlreadyThere("a lot with the id", lot.id)
        self._connection.execute(insert(LOT), asdict(lot))
        self.lots[lot.id] = lot
        return lot


def tidied_lot(lot: Lot) -> Lot:
    """Return a lot as it is kept, by its code where it has no name; raises NotAllowed."""
    return tidied(replace(lot, name=lot.name if lot.name.strip() else lot.code))


def tidied_vessel(vessel: Vessel) -> Vessel:
    """Return a vessel with its wood and its care as they are kept; raises NotAllowed."""
    vessel = replace(tidied(vessel), upkeep=tidied(vessel.upkeep))
    if vessel.is_barrel:
        low, high = _BARREL_ML
        if not low <= vessel.capacity_ml <= high:
            litres = f"{vessel.capacity_ml / 1000:g}"
            raise NotAllowed("capacity_ml", f"a barrel holds 1 to 10000 litres, not {litres}; larger ones are tanks")
        return replace(vessel, barrel=tidied(vessel.barrel or Barrel()))
    for declared in fields(Barrel):
        if vessel.barrel is not None and getattr(vessel.barrel, declared.name) is not None:
            raise NotAllowed(declared.name, f"only a barrel has one, and this is a {vessel.kind}; leave it out")
    return replace(vessel, barrel=None)
