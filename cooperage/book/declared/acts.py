"""What was done in the cellar: one small frozen value per kind of entry.

An act is all that a screen, a command or an import has to make; `book.write` does the rest. Each field declares
how it is asked for, so forms, command options and CSV columns always agree. Volumes are integer millilitres; tags
are as written on the vessel.
"""

from collections.abc import Callable
from dataclasses import Field, dataclass, fields, replace
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
from cooperage.book.declared.fields import FieldSpec, Holds, face_of, field_spec
from cooperage.book.declared.looks import BUNGS, LEVELS, canonical_smells
from cooperage.book.declared.places import GAP_CAUSES, OUTSIDE, Outside, canonical_destination
from cooperage.book.declared.properties import PROPERTIES, canonical_property
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS, canonical_substance, canonical_treatment
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
    """The fields of every act: when it was done (None: just now), by whom, a note, and 'sure' to skip questions.

    `sentence` puts fields of the kind together in an entry's words: "{amount} of {substance}".
    `expected` is what its vessel was expected to hold just before [ml, at least and at most], as the caller
    calculated it: a volume that agrees with it is not asked back.
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
    lot: str = field_spec("lot", Holds.LOT, argument=True, moved=True)
    vessel: str = field_spec("into", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill(Act):
    """A barrel is filled from another vessel; without a volume, to the bung."""

    kind = "fill"
    label = "fill"
    vessel: str = field_spec("barrel", Holds.TAG, argument=True)
    source: str = field_spec("from", Holds.TAG, name="from", moved=True)
    volume: int | None = field_spec("volume", Quantity.VOLUME, argument=True, moved=True, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Top(Act):
    """A vessel is topped, to the bung by default.

    Topping to the bung also records how much was missing; that volume is written off as evaporated (or soaked, in new
    wood) unless --cause names another place.
    """

    kind = "top"
    label = "top"
    vessel: str = field_spec("barrel", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, usual_up_to=4999, moved=True)
    source: str = field_spec("from", Holds.TAG, name="from", moved=True)
    not_full: bool = field_spec("not filled to the bung", Holds.FLAG, name="not-full", default=False)
    cause: str = field_spec(
        "loss recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack(Act):
    """Mead moves from one vessel to another (or is poured away), leaving lees behind; without a volume, all of it."""

    kind = "rack"
    label = "rack"
    vessel: str = field_spec("out of", Holds.TAG, argument=True)
    destination: str = field_spec("to", Holds.PLACE, name="to", moved=True, canonical=canonical_destination)
    volume: int | None = field_spec("volume", Quantity.VOLUME, argument=True, moved=True, default=None)
    lees: int = field_spec("lees", Quantity.VOLUME, moved=True, default=0)
    empties: bool = field_spec("leaves the vessel empty", Holds.FLAG, default=False)
    cause: str = field_spec(
        "remainder recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Act):
    """A volume measured by dip, sight glass or scale; its difference from the calculated one is put down to a cause."""

    kind = "gauge"
    label = "dip or gauge"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    volume: int | None = field_spec("volume found", Quantity.VOLUME, argument=True, phrase="{} found", default=None)
    headspace: float | None = field_spec("headspace", Quantity.LENGTH, default=None)
    cause: str = field_spec(
        "difference recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Act):
    """A sample is pulled."""

    kind = "sample"
    label = "pull a sample"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    volume: int = field_spec("volume", Quantity.VOLUME, argument=True, usual_up_to=1500, moved=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Act):
    """A reading of an instrument: value, uncertainty and method."""

    kind = "reading"
    label = "add a reading"
    sentence = "{property} {value}"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    property: str = field_spec(
        "property",
        Holds.CHOICE,
        choices=lambda: tuple(PROPERTIES),
        argument=True,
        named=_property,
        canonical=canonical_property,
    )
    value: float = field_spec("value", Holds.VALUE, argument=True)
    uncertainty: float | None = field_spec(
        "± (uncertainty)", Holds.SPREAD, name="give-or-take", phrase="give or take {}", default=None
    )
    method: str = field_spec("method, such as hydrometer or lab", Holds.TEXT, name="how", phrase="{}", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Addition(Act):
    """Something is added to a vessel: sulphite, acid, honey, water, spirit, a fining."""

    kind = "addition"
    label = "add a substance"
    sentence = "{amount} of {substance}"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    substance: str = field_spec(
        "substance",
        Holds.CHOICE,
        choices=lambda: tuple(SUBSTANCES),
        argument=True,
        named=_substance,
        canonical=canonical_substance,
    )
    amount: float = field_spec("amount", Holds.AMOUNT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Treat(Act):
    """Barrel work that moves no mead: rinse, steam, sniff, stir, repair."""

    kind = "treat"
    label = "note barrel work"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    treatment: str = field_spec(
        "treatment",
        Holds.CHOICE,
        choices=lambda: tuple(TREATMENTS),
        argument=True,
        phrase="{}",
        named=_treatment,
        canonical=canonical_treatment,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Act):
    """What was seen and smelled (sound, vinegar, solvent, egg, mould, horse, flat)."""

    kind = "look"
    label = "note what was seen"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    level: str = field_spec("level", Holds.CHOICE, choices=lambda: LEVELS, default="")
    bung: str = field_spec("bung", Holds.CHOICE, choices=lambda: BUNGS, default="")
    smell: str = field_spec("smells", Holds.TEXT, phrase="smells of {}", canonical=canonical_smells, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate(Act):
    """A room's air, as its thermometer and hygrometer show it."""

    kind = "climate"
    label = "note a room's climate"
    sentence = "{room} {temperature}, {humidity}"
    room: str = field_spec("room", Holds.TEXT, argument=True)
    temperature: float = field_spec("temperature", Quantity.TEMPERATURE, argument=True)
    humidity: float = field_spec("relative humidity", Quantity.PERCENT, argument=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift(Act):
    """A vessel is moved to another position."""

    kind = "shift"
    label = "move"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    room: str = field_spec("room", Holds.TEXT, phrase="to room {}")
    row: str = field_spec("row", Holds.TEXT, default="")
    bay: int | None = field_spec("bay", Holds.COUNT, default=None)
    tier: int | None = field_spec("tier", Holds.COUNT, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend(Act):
    """Draws from several vessels meet in one, and the mixed volume is a little less than their sum.

    --doses are substances with their amounts; --plan stores the brief and the solved plan with the entry.
    """

    kind = "blend"
    label = "pour a blend"
    vessel: str = field_spec("into", Holds.TAG, argument=True)
    draws: tuple[tuple[str, int], ...] = field_spec("draws", Holds.DRAWS, argument=True, moved=True)
    doses: tuple[tuple[str, float], ...] = field_spec(
        "doses", Holds.DRAWS, phrase="{}", canonical=canonical_substance, default=()
    )
    plan: str = field_spec("brief and plan", Holds.TEXT, is_document=True, longest=LONGEST_NOTE, default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle(Act):
    """A vessel is bottled; --loss is what stayed in the line and the filter."""

    kind = "bottle"
    label = "bottle"
    sentence = "{bottles} bottles of {bottle} as {code}"
    vessel: str = field_spec("out of", Holds.TAG, argument=True)
    code: str = field_spec("bottling", Holds.TEXT, argument=True, longest=LONGEST_CODE)
    bottles: int = field_spec("bottles", Holds.COUNT, argument=True)
    bottle: int = field_spec("bottle holds", Quantity.VOLUME, default=750)
    loss: int = field_spec("lost on the line", Quantity.VOLUME, moved=True, default=0)
    empties: bool = field_spec("leaves the vessel empty", Holds.FLAG, default=False)
    cause: str = field_spec(
        "remainder recorded as", Holds.CHOICE, choices=lambda: GAP_CAUSES, named=_outside, moved=True, default=""
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Retire(Act):
    """A vessel is retired; its tag is not reused."""

    kind = "retire"
    label = "retire"
    vessel: str = field_spec("vessel", Holds.TAG, argument=True)
    reason: str = field_spec("reason", Holds.TEXT, phrase="{}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Act):
    """An entry is cancelled (struck) by writing its reverse, dated when the cancelled entry was."""

    kind = "strike"
    label = "strike"
    entry: str = field_spec("entry", Holds.ENTRY, argument=True, phrase="cancels {}")


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


_FACES: dict[type[Act], list[tuple[Field[Any], FieldSpec]]] = {}  # every write needs it several times


def faces(kind: type[Act]) -> list[tuple[Field[Any], FieldSpec]]:
    """List the fields that are the kind's own, each with its declaration."""
    if kind not in _FACES:
        _FACES[kind] = [(declared, face_of(declared)) for declared in fields(kind) if "spec" in declared.metadata]
    return _FACES[kind]


def check_fields(act: Act) -> None:
    """Refuse values that the book cannot keep: texts a terminal would not show as typed, figures that are none.

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


def with_canonical_names(act: Act) -> Act:
    """Return an act with the stored word for each synonym in it: "KMBS" becomes "metabisulphite"."""
    changed: dict[str, Any] = {}
    for declared, face in faces(type(act)):
        value = getattr(act, declared.name)
        if face.canonical is None or not value:
            continue
        kept = _canonical(face.canonical, value)
        if kept != value:
            changed[declared.name] = kept
    return replace(act, **changed) if changed else act


def _canonical(canonical: Callable[[str], str], value: Any) -> Any:  # noqa: ANN401 - a name, or (name, amount) pairs
    return canonical(value) if isinstance(value, str) else tuple((canonical(name), amount) for name, amount in value)


_MOST_WHOLE = {Quantity.VOLUME: _MOST_ML, Holds.COUNT: MOST_COUNTED}


def _check_whole(value: object, face: FieldSpec) -> None:
    most = _MOST_WHOLE[face.holds]
    if not isinstance(value, int) or not 0 <= value <= most:
        raise BadInput(f"the {face.label} cannot be {value!r} here; it is a whole number from 0 to {most}")
