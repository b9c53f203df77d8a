"""A vessel's state while its history is replayed, and the text in which the cache keeps it."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, NamedTuple

from cooperage.book.declared.properties import MIXING
from cooperage.book.declared.verdicts import QUARANTINE
from cooperage.book.replay.contents import ARRAYS, PLACE_OF, SIZE, Contents
from cooperage.book.replay.gravity import gravity_of
from cooperage.book.replay.rereads import REMEMBERED, UNKNOWN, Read, Reread, SinceRead, as_kept, reread_from
from cooperage.book.store.tables import as_json

DAY = 86_400.0
WEEK = 7 * DAY


_NOT_REMEMBERED = frozenset(("headspace_mm",))  # of the moment: it does not age


@dataclass(slots=True)
class Known:
    """When the level was last known and how, and what there was then, carried on by what went in and out since.

    The volume is `ml`, whatever the book had: a dry dip that was read may have shown another.
    """

    at: float
    how: str
    ml: int


class Judged(NamedTuple):
    """What was last decided about a vessel, when, after how many weeks it is looked at again, and in which flight.

    A quarantine that came with mead has the id of the vessel `carried_from`.
    """

    verdict: str
    at: float
    weeks: int | None
    flight: str
    carried_from: str = ""

    @property
    def next_look(self) -> float | None:
        """When it is to be tasted again; None where no time was given."""
        return None if self.weeks is None else self.at + self.weeks * WEEK


class VesselState:
    """Everything known of one vessel from its history so far. Times are seconds since 1970, UTC."""

    __slots__ = (
        "barrel_ml",
        "contents",
        "emptied_at",
        "entries",
        "filled_at",
        "fills",
        "judged",
        "known",
        "last",
        "position",
        "reads",
        "rereads",
        "retired_at",
        "retired_why",
        "seen",
        "touched_at",
        "touched_id",
    )

    def __init__(self, barrel_ml: int | None) -> None:
        self.barrel_ml = barrel_ml
        self.contents = Contents()
        self.fills = 0
        self.filled_at: float | None = None
        self.emptied_at: float | None = None
        self.touched_at: float | None = None
        self.touched_id = ""
        self.retired_at: float | None = None
        self.retired_why = ""
        self.position: tuple[str | None, str | None, int | None, int | None] | None = None
        self.last: dict[str, float] = {}
        self.reads: dict[str, Read] = {}
        self.rereads: dict[str, list[Reread]] = {}
        self.known: Known | None = None
        self.seen: dict[str, tuple[str, float]] = {}
        self.entries = 0
        self.judged: Judged | None = None

    @property
    def is_barrel(self) -> bool:
        """True if it is a barrel."""
        return self.barrel_ml is not None

    @property
    def is_quarantined(self) -> bool:
        """True if it was decided that its mead goes nowhere, and nothing else was decided since."""
        return self.judged is not None and self.judged.verdict == QUARANTINE

    def takes_quarantine_of(self, source: "VesselState", source_id: str) -> None:
        """Go into quarantine once mead came in from a vessel that is in it, whatever was decided here before."""
        if source.judged is not None and source.is_quarantined and not self.is_quarantined:
            self.judged = source.judged._replace(carried_from=source_id)

    @property
    def ml(self) -> int:
        """The volume held [ml]."""
        return self.contents.ml

    def age_to(self, at: float) -> None:
        """Age the mead in this wood up to `at`."""
        if self.is_barrel and self.touched_at is not None and self.contents.ml:
            self.contents.wood_days += self.contents.ml * (at - self.touched_at) / DAY
        self.touched_at = at

    def level_is_known(self, at: float, how: str, ml: int | None = None) -> None:
        """Note that the level was seen, and showed this volume [ml]; None is the book's."""
        if self.contents.ml:
            self.known = Known(at, how, self.contents.ml if ml is None else ml)

    def carries_on(self, ml: int) -> None:
        """Add the volume put in (negative: taken out) by hand since the level was last known [ml]."""
        if self.known is not None:
            self.known.ml += ml

    def flows_in(self, parcel: Contents, at: float) -> None:
        """Take a parcel in; the first one into an empty vessel begins a fill."""
        if self.contents.ml == 0:
            self.known = Known(at, "filled", 0)
            self.fills += 1
            self.filled_at = at
            self.reads.clear()
        self.contents.join(parcel)
        self._changed()

    def flows_out(self, ml: int, at: float) -> Contents:
        """Give `ml` out; the last of it ends the fill."""
        parcel = self.contents.take(ml)
        self._note_if_empty(at)
        return parcel

    def evaporates(self, ml: int, at: float) -> Contents:
        """Lose `ml` of water and ethanol to the air."""
        vapour = self.contents.evaporate(ml)
        self._changed()
        self._note_if_empty(at)
        return vapour

    def contracts(self, ml: int) -> None:
        """Lose `ml` to contraction on mixing."""
        self.contents.contract(ml)
        self._changed()

    def is_read(self, name: str, value: float, uncertainty: float, at: float, method: str = "") -> None:
        """Take a reading; of the properties that travel with the mead it replaces the calculated value."""
        if name not in _NOT_REMEMBERED:
            self._remember(name, value, uncertainty, at)
        self.reads[name] = Read(at, value, uncertainty, method=method)
        place = PLACE_OF.get(name)
        if place is not None and self.contents.ml:
            self.contents.set(place, value, at / DAY)

    def _remember(self, name: str, value: float, uncertainty: float, at: float) -> None:
        reread = Reread(at, value, uncertainty, self.fills, as_kept(self.since_read(name, at)))
        self.rereads[name] = [*self.rereads.get(name, [])[1 - REMEMBERED :], reread]

    def since_read(self, name: str, at: float) -> SinceRead:
        """Return what is known of a property at a moment, and what happened since it was."""
        place, left_alone = PLACE_OF.get(name), 0.0 if self.known is None else max(0.0, (at - self.known.at) / DAY)
        if place is None:
            return self._since_read_here(name, at, left_alone)
        expected, since = self.contents.value(place), self.contents.since_known(place)
        if expected is None or since is None:
            return UNKNOWN._replace(left_alone=left_alone)
        filled_at = at if self.filled_at is None else self.filled_at
        age, here = max(0.0, at / DAY - since.on), max(0.0, (at - filled_at) / DAY)
        in_wood = self._wood_days(at) - since.wood_days
        elsewhere = min(age, max(0.0, age - in_wood if self.is_barrel else in_wood))
        added_age = max(0.0, at / DAY - since.added_on) if since.added else 0.0
        return SinceRead(
            expected, age, elsewhere, since.added, added_age, since.racked, min(age, here), min(here, left_alone)
        )

    def _since_read_here(self, name: str, at: float, left_alone: float) -> SinceRead:
        """Return that of a property of the vessel; a gravity that was not read since follows from what is in it."""
        read = self.reads.get(name)
        if read is not None and (name != "sg" or not read.changed):  # what came in hardly warms or cools the rest
            return UNKNOWN._replace(expected=read.value, age=(at - read.at) / DAY, left_alone=left_alone)
        gravity = gravity_of(*map(self._value, ("abv", "sugar_g_l"))) if name == "sg" else None
        if gravity is None:
            return UNKNOWN._replace(left_alone=left_alone)
        return self.since_read("sugar_g_l", at)._replace(expected=gravity, added=0.0, added_age=0.0)

    def _value(self, name: str) -> float | None:
        return self.contents.value(PLACE_OF[name])

    def _wood_days(self, at: float) -> float:
        """Return the days in wood of the mead by a moment, as a mean over its litres."""
        pending = max(0.0, at - self.touched_at) / DAY if self.is_barrel and self.touched_at is not None else 0.0
        return self.contents.wood_days / self.contents.ml + pending

    def is_raised(self, name: str, amount: float, at: float) -> None:
        """Add an amount of a property (value x ml), as an addition does."""
        if self.contents.ml:
            self.contents.raise_by(PLACE_OF[name], amount, at / DAY)
            if name in self.reads:
                self.reads[name].changed = True

    def _changed(self) -> None:
        """Note that the mead is not what was read."""
        for read in self.reads.values():
            read.changed = True

    def _note_if_empty(self, at: float) -> None:
        if self.contents.ml == 0:
            self.emptied_at = at
            self.filled_at = self.known = None
            if not self.is_quarantined:  # what was decided was about that mead; a quarantine is of the vessel
                self.judged = None


def seconds(at: datetime) -> float:
    """Turn an aware time into seconds since 1970."""
    return at.timestamp()


def moment(at: float | None) -> datetime | None:
    """Turn seconds since 1970 into an aware UTC time."""
    return None if at is None else datetime.fromtimestamp(at, UTC)


_PLAIN = (
    "fills",
    "filled_at",
    "emptied_at",
    "touched_at",
    "touched_id",
    "retired_at",
    "retired_why",
    "last",
    "entries",
)


_FORM = 11
"""Raised whenever a state begins to remember something more, so that what older code kept is recalculated."""


def to_text(state: VesselState) -> str:
    """Write a state for the cache; equal states give equal text."""
    held = state.contents
    return as_json(
        {
            "ml": held.ml,
            "origins": held.origins,
            **{name: kept for name in ARRAYS if any(kept := getattr(held, name))},
            "wood_days": held.wood_days,
            **{name: getattr(state, name) for name in _PLAIN},
            "properties": MIXING,
            "form": _FORM,
            "position": state.position,
            "seen": state.seen,
            "judged": state.judged,
            "level": None if (known := state.known) is None else [known.at, known.how, known.ml],
            "reads": {name: read.as_kept() for name, read in state.reads.items()},
            "rereads": state.rereads,
        }
    )


def is_of_another_form(text: str) -> bool:
    """Return True if another version of the code kept a state, so that it is skipped and recalculated."""
    try:
        kept = json.loads(text)
    except ValueError:
        return False
    is_a_state = isinstance(kept, dict) and "properties" in kept
    return is_a_state and (kept["properties"] != list(MIXING) or kept.get("form") != _FORM)


def from_text(text: str, barrel_ml: int | None) -> VesselState | None:
    """Read a state back from the cache; None when another version of the code wrote it, or it cannot be read."""
    try:
        return _from_kept(json.loads(text), barrel_ml)
    except (AttributeError, LookupError, TypeError, ValueError):  # damaged: it is recalculated from the entries
        return None


def _from_kept(kept: dict[str, Any], barrel_ml: int | None) -> VesselState | None:
    if kept.get("properties") != list(MIXING) or kept.get("form") != _FORM or not isinstance(kept["ml"], int):
        return None
    state = VesselState(barrel_ml)
    held = state.contents
    held.ml, held.origins, held.wood_days = kept["ml"], kept["origins"], kept["wood_days"]
    for name in ARRAYS:
        setattr(held, name, kept.get(name) or [0.0] * SIZE)
    for name in _PLAIN:
        setattr(state, name, kept[name])
    state.position = tuple(kept["position"]) if kept["position"] is not None else None
    state.seen = {what: (word, at) for what, (word, at) in kept["seen"].items()}
    state.judged = None if kept["judged"] is None else Judged(*kept["judged"])
    state.known = None if kept["level"] is None else Known(*kept["level"])
    state.reads = {name: Read(*read) for name, read in kept["reads"].items()}
    state.rereads = {name: [reread_from(each) for each in rereads] for name, rereads in kept["rereads"].items()}
    return state
