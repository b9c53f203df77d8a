"""What a hand did: one small frozen value per kind of entry.

An act is all that a screen, a command or an import has to make; `book.write` does the rest. Each field declares
how it is asked for, so a form, a command's option and a CSV column never say it differently. Volumes are integer
millilitres; tags are as written on the vessel.
"""

from dataclasses import Field, dataclass, fields
from datetime import datetime
from math import isfinite
from typing import Any, ClassVar

from cooperage.book.declared.allowed import (
    LEAST_FIGURE,
    LONGEST_CODE,
    LONGEST_NOTE,
    LONGEST_TEXT,
    MOST_COUNTED,
    check_text,
)
from cooperage.book.declared.fields import Holds, Told, face_of, told
from cooperage.book.declared.looks import BUNGS, LEVELS
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE, Outside
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS
from cooperage.errors import BadInput
from cooperage.units import Quantity

_MOST_ML = 10**12


def _outside(place: str) -> str:
    return OUTSIDE[Outside(place)].label


def _property(name: str) -> str:
    return PROPERTIES[name].label


def _substance(name: str) -> str:
    return SUBSTANCES[name].label


def _treatment(name: str) -> str:
    return TREATMENTS[name].label


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """What every act has: when it was done (None: just now), whose hand, a note, and 'sure' to a question back.

    `sentence` puts fields of the kind together where entries are told: "{amount} of {substance}".
    `expected` is what its vessel was expected to hold just before [ml, at least and at most] by whoever hands the act
    in: what agrees with that is not asked back.
    """

    kind: ClassVar[str]
    label: ClassVar[str]
    sentence: ClassVar[str] = ""

    at: datetime | None = None
    hand: str = ""
    note: str = ""
    sure: bool = False
    expected: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Receive(Act):
    """A lot of mead arrives in a vessel."""

    kind = "receive"
    label = "receive a lot"
    lot: str = told("lot", Holds.LOT, argument=True, moved=True)
    vessel: str = told("into", Holds.TAG, argument=True)
    volume: int = told("volume", Quantity.VOLUME, argument=True, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill(Act):
    """A barrel is filled from another vessel; without a volume, to the bung."""

    kind = "fill"
    label = "fill"
    vessel: str = told("barrel", Holds.TAG, argument=True)
    source: str = told("from", Holds.TAG, name="from", moved=True)
    volume: int | None = told("volume", Quantity.VOLUME, argument=True, moved=True, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Top(Act):
    """A vessel is topped, to the bung unless said otherwise.

    Topping to full says that it had been that much short of full: the litres that must have gone before are written
    to `lost` (evaporated, or soaked in new wood, unless `cause` names another place).
    """

    kind = "top"
    label = "top"
    vessel: str = told("barrel", Holds.TAG, argument=True)
    volume: int = told("volume", Quantity.VOLUME, argument=True, usual_up_to=4999, moved=True)
    source: str = told("from", Holds.TAG, name="from", moved=True)
    not_full: bool = told("not filled to the bung", Holds.FLAG, name="not-full", default=False)
    cause: str = told("lost to", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack(Act):
    """Mead moves from one vessel to another (or is poured away), leaving lees behind; without a volume, all of it."""

    kind = "rack"
    label = "rack"
    vessel: str = told("out of", Holds.TAG, argument=True)
    destination: str = told("to", Holds.PLACE, name="to", moved=True)
    volume: int | None = told("volume", Quantity.VOLUME, argument=True, moved=True, default=None)
    lees: int = told("lees", Quantity.VOLUME, moved=True, default=0)
    empties: bool = told("the vessel is empty now", Holds.FLAG, default=False)
    cause: str = told("rest lost to", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Act):
    """What a dip, a sight glass or a scale shows; the gap to the reckoned volume goes to a named place."""

    kind = "gauge"
    label = "gauge"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    volume: int | None = told("volume found", Quantity.VOLUME, argument=True, says="{} found", default=None)
    headspace: float | None = told("headspace", Quantity.LENGTH, default=None)
    cause: str = told("gap goes to", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Act):
    """A sample is pulled."""

    kind = "sample"
    label = "pull a sample"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    volume: int = told("volume", Quantity.VOLUME, argument=True, usual_up_to=1500, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Act):
    """An instrument was read: a value with its uncertainty and how it was got."""

    kind = "reading"
    label = "add a reading"
    sentence = "{property} {value}"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    property: str = told("property", Holds.CHOICE, choices=lambda: tuple(PROPERTIES), argument=True, named=_property)
    value: float = told("value", Holds.VALUE, argument=True)
    uncertainty: float | None = told("give or take", Holds.SPREAD, name="give-or-take", default=None)
    method: str = told("how", Holds.TEXT, name="how", says="{}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition(Act):
    """Something is added to a vessel: sulphite, acid, honey, water, spirit, a fining."""

    kind = "addition"
    label = "add a substance"
    sentence = "{amount} of {substance}"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    substance: str = told("substance", Holds.CHOICE, choices=lambda: tuple(SUBSTANCES), argument=True, named=_substance)
    amount: float = told("amount", Holds.AMOUNT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Treat(Act):
    """Something is done to a vessel that moves no mead: rinsed, steamed, smelled, stirred, repaired."""

    kind = "treat"
    label = "treat"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    treatment: str = told(
        "treatment", Holds.CHOICE, choices=lambda: tuple(TREATMENTS), argument=True, says="{}", named=_treatment
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Act):
    """What was seen and smelled (sound, vinegar, solvent, egg, mould, horse, flat)."""

    kind = "look"
    label = "note what was seen"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    level: str = told("level", Holds.CHOICE, choices=lambda: LEVELS, default="")
    bung: str = told("bung", Holds.CHOICE, choices=lambda: BUNGS, default="")
    smell: str = told("smells", Holds.TEXT, says="smells of {}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate(Act):
    """A room's air, as its thermometer and hygrometer show it."""

    kind = "climate"
    label = "note a room's climate"
    sentence = "{room} {temperature}, {humidity}"
    room: str = told("room", Holds.TEXT, argument=True)
    temperature: float = told("temperature", Quantity.TEMPERATURE, argument=True)
    humidity: float = told("relative humidity", Quantity.PERCENT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift(Act):
    """A vessel is carried to another position."""

    kind = "shift"
    label = "shift"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    room: str = told("room", Holds.TEXT, says="to room {}")
    row: str = told("row", Holds.TEXT, default="")
    bay: int | None = told("bay", Holds.COUNT, default=None)
    tier: int | None = told("tier", Holds.COUNT, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend(Act):
    """Draws from several vessels meet in one, and the mixed volume is a little less than their sum.

    `doses` are (substance, amount in its unit); `plan` keeps the brief and the solved plan, to be read in a year.
    """

    kind = "blend"
    label = "pour a blend"
    vessel: str = told("into", Holds.TAG, argument=True)
    draws: tuple[tuple[str, int], ...] = told("draws", Holds.DRAWS, argument=True, moved=True)
    doses: tuple[tuple[str, float], ...] = told("doses", Holds.DRAWS, says="{}", default=())
    plan: str = told("brief and plan", Holds.TEXT, is_document=True, longest=LONGEST_NOTE, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle(Act):
    """A vessel is bottled; what the line and the filter kept is `loss`."""

    kind = "bottle"
    label = "bottle"
    sentence = "{bottles} bottles of {bottle} as {code}"
    vessel: str = told("out of", Holds.TAG, argument=True)
    code: str = told("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = told("bottles", Holds.COUNT, argument=True)
    bottle: int = told("bottle holds", Quantity.VOLUME, default=750)
    loss: int = told("lost on the line", Quantity.VOLUME, moved=True, default=0)
    empties: bool = told("the vessel is empty now", Holds.FLAG, default=False)
    cause: str = told("rest lost to", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Retire(Act):
    """A vessel leaves the programme for good; its tag is never used again."""

    kind = "retire"
    label = "retire"
    vessel: str = told("vessel", Holds.TAG, argument=True)
    reason: str = told("reason", Holds.TEXT, says="{}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Act):
    """An entry is cancelled by writing its reverse; it happened, so to speak, when the struck one did."""

    kind = "strike"
    label = "strike"
    entry: str = told("entry", Holds.ENTRY, argument=True, says="cancels {}")


KINDS: dict[str, type[Act]] = {
    act.kind: act
    for act in (
        Receive,
        Fill,
        Top,
        Rack,
        Gauge,
        Sample,
        Reading,
        Addition,
        Treat,
        Look,
        Climate,
        Shift,
        Blend,
        Bottle,
        Retire,
        Strike,
    )
}
"""Every kind of entry, by name."""

POURED_AWAY: str = Outside.POURED_AWAY.value


_FACES: dict[type[Act], list[tuple[Field[Any], Told]]] = {}  # every write asks several times


def faces(kind: type[Act]) -> list[tuple[Field[Any], Told]]:
    """List the fields that are the kind's own, each with its declaration."""
    if kind not in _FACES:
        _FACES[kind] = [(declared, face_of(declared)) for declared in fields(kind) if "told" in declared.metadata]
    return _FACES[kind]


def check_said(act: Act) -> None:
    """Refuse words that the book cannot keep: texts a terminal would not show as typed, figures that are none.

    Tags are left to the look-up: a vessel whose old tag could not be given today can still be written about. Raises
    BadInput.
    """
    check_text(act.hand, "the hand", LONGEST_TEXT)
    check_text(act.note, "the note", LONGEST_NOTE, lines=True)
    for declared, face in faces(type(act)):
        value = getattr(act, declared.name)
        if face.holds in (Holds.TEXT, Holds.CHOICE):
            check_text(value, f"'{face.name}'", face.longest or LONGEST_TEXT, lines=face.is_document)
        elif value is not None and face.holds in _MOST_WHOLE:
            _check_whole(value, face)
        elif isinstance(value, float) and (not isfinite(value) or 0 < abs(value) < LEAST_FIGURE):
            raise BadInput(f"the {face.label} cannot be '{value}'; give a number")


_MOST_WHOLE = {Quantity.VOLUME: _MOST_ML, Holds.COUNT: MOST_COUNTED}


def _check_whole(value: object, face: Told) -> None:
    most = _MOST_WHOLE[face.holds]
    if not isinstance(value, int) or not 0 <= value <= most:
        raise BadInput(f"the {face.label} cannot be {value!r} here; it is a whole number from 0 to {most}")
