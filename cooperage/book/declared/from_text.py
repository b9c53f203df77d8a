"""Acts from texts and back, for forms, command lines and pasted lines.

`parse_act` turns the texts of an act's fields into the act; `format_act` writes an act as texts that `parse_act`
understands; `restore_act` makes the act again from what the book kept of it.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal
from functools import partial
from typing import Any

from cooperage.book.declared.acts import KINDS, Act, Addition, faces
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.properties import property_named, with_named_unit
from cooperage.book.declared.spelling import folded
from cooperage.book.declared.substances import SUBSTANCES, substance_named
from cooperage.errors import BadInput, choose_from, did_you_mean
from cooperage.units import DEFAULT, Quantity, Units, read, read_bottles, read_spread, read_when, show_exact

Texts = Mapping[str, str]

_YES = frozenset({"yes", "y", "true", "1", "x", "on"})
_NO = frozenset({"", "no", "n", "false", "0", "off"})


class UnknownKind(BadInput):
    """A kind of entry that is not declared."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(f"'{kind}' is not a kind of entry{choose_from(kind, KINDS)}")


class BadField(BadInput):
    """One field of an act that cannot be understood; `field` is its outside name, `reason` what is wrong with it."""

    def __init__(self, field: str, reason: str) -> None:
        self.field, self.reason = field, reason
        super().__init__(f"{field}: {reason}")


def kind_named(kind: str) -> type[Act]:
    """Find a kind of entry by name; raises UnknownKind."""
    try:
        return KINDS[kind.strip().lower()]
    except KeyError:
        raise UnknownKind(kind) from None


def parse_act(kind: str, texts: Texts, now: datetime, units: Units = DEFAULT) -> Act:
    """Make an act from the texts of its fields, each by its outside name; blanks take the default.

    Raises UnknownKind, and BadField naming the field.
    """
    act = kind_named(kind)
    texts = act.parted(texts)
    when, hand, note = (texts.get(name, "").strip() for name in ("when", "hand", "note"))
    at = _read_field("when", lambda: read_when(when, now)) if when else None
    values: dict[str, Any] = {"at": at, "hand": hand, "note": note}
    values["sure"] = _flag("sure", texts.get("sure", ""))
    for declared, face in faces(act):
        text = texts.get(face.name, "").strip()
        if text:
            values[declared.name] = _read_field(face.name, partial(_value, face, text, texts, units))
        elif is_required(declared):
            raise BadField(face.name, f"is needed to {act.label}; give {_wanted(face)}")
    return act(**values)


def read_fields(kind: str, texts: Texts, units: Units = DEFAULT) -> dict[str, Any]:
    """Return what is given of an act's own fields, by their names in the code; blanks are left out. Raises BadField."""
    act = kind_named(kind)
    texts = act.parted(texts)
    return {
        declared.name: _read_field(face.name, partial(_value, face, text, texts, units))
        for declared, face in faces(act)
        if (text := texts.get(face.name, "").strip())
    }


def exact_texts(kind: str, texts: Texts, units: Units = DEFAULT) -> dict[str, str]:
    """Return the given texts of an act's own fields, each as it is understood in any units. Raises BadField."""
    values = read_fields(kind, texts, units)
    return {
        face.name: _text(face, values[declared.name], values.get("substance", ""))
        for declared, face in faces(kind_named(kind))
        if declared.name in values
    }


def _read_field(field: str, reading: Callable[[], Any]) -> Any:  # noqa: ANN401 - whatever the field holds
    try:
        return reading()
    except BadField:
        raise
    except BadInput as error:
        raise BadField(field, str(error)) from error


def _value(face: FieldSpec, text: str, texts: Texts, units: Units) -> Any:  # noqa: ANN401 - whatever the field holds
    if isinstance(face.holds, Quantity):
        return read(face.holds, text, units)
    match face.holds:
        case Holds.FLAG:
            return _flag(face.name, text)
        case Holds.COUNT:
            return int(read(Quantity.COUNT, text, units))
        case Holds.BOTTLES:
            return read_bottles(text, units)
        case Holds.CHOICE:
            return _choice(face, text)
        case Holds.AMOUNT:
            return float(read(substance_named(texts.get("substance", "")).quantity, text, units))
        case Holds.VALUE:
            return _read_value(texts, units)
        case Holds.SPREAD:
            name = texts.get("property", "")
            quantity, spread = property_named(name).quantity, with_named_unit(name, text)
            return read_spread(quantity, spread, _read_value(texts, units), units)
        case Holds.DRAWS:
            return _pairs(face, text, units)
        case _:
            return text if face.canonical is None else face.canonical(text)


def _read_value(texts: Texts, units: Units) -> float:
    name = texts.get("property", "")
    return float(read(property_named(name).quantity, with_named_unit(name, texts.get("value", "").strip()), units))


def _choice(face: FieldSpec, text: str) -> str:
    choices = face.choices() if face.choices else ()
    meant = folded(text if face.canonical is None else face.canonical(text))
    found = next((choice for choice in choices if choice.lower() == meant), None)
    if found is None:
        raise BadField(face.name, f"'{text}' is not one of {', '.join(choices)}{did_you_mean(text, choices)}")
    return found


def _flag(field: str, text: str) -> bool:
    word = text.strip().lower()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise BadField(field, f"'{text}' is neither yes nor no")


def _pairs(face: FieldSpec, text: str, units: Units) -> tuple[tuple[str, int | float], ...]:
    pairs = []
    for part in filter(None, (part.strip() for part in text.split(";"))):
        name, sign, amount = (piece.strip() for piece in part.partition("="))
        if not sign or not name:
            raise BadField(face.name, f"'{part}' is not NAME=AMOUNT; write them as B-001=120 L; B-004=60 L")
        name = name if face.canonical is None else face.canonical(name)
        quantity = Quantity.VOLUME if face.name == "draws" else substance_named(name).quantity
        value = read(quantity, amount, units)
        pairs.append((name, value if face.name == "draws" else float(value)))
    return tuple(pairs)


def _wanted(face: FieldSpec) -> str:
    if face.choices:
        return f"one of {', '.join(face.choices())}"
    return f"the {face.label} ({face.holds.value})"


def format_act(act: Act) -> dict[str, str]:
    """Write an act's own fields as texts that `parse_act` understands exactly, defaults left out."""
    texts = {}
    for declared, face in faces(type(act)):
        value = getattr(act, declared.name)
        if is_required(declared) or value != declared.default:
            texts[face.name] = _text(face, value, act.substance if isinstance(act, Addition) else "")
    return texts


def _text(face: FieldSpec, value: Any, substance: str) -> str:  # noqa: ANN401 - whatever the field holds
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if face.holds is Quantity.VOLUME:
        return show_exact(value)
    if face.holds is Holds.AMOUNT:
        return _number(substance, value)
    if face.holds is Holds.DRAWS:
        is_draws = face.name == "draws"
        return "; ".join(f"{name}={show_exact(part) if is_draws else _number(name, part)}" for name, part in value)
    return _plainly(value) if isinstance(value, float) else str(value)


def _plainly(value: float) -> str:
    """Write a float with every digit and no exponent, as a person would."""
    return f"{Decimal(repr(value)):f}"


def _number(substance: str, amount: float) -> str:
    unit = "ml" if SUBSTANCES[substance].quantity is Quantity.VOLUME else "g"
    return f"{_plainly(amount)} {unit}"


def restore_act(
    kind: str,
    values: Mapping[str, Any],
    *,
    at: datetime | None = None,
    hand: str = "",
    note: str = "",
    sure: bool = True,
) -> Act:
    """Make an act again from the fields that the book kept."""
    own: dict[str, Any] = {
        name: tuple(tuple(pair) for pair in value) if isinstance(value, list) else value
        for name, value in values.items()
    }
    return kind_named(kind)(at=at, hand=hand, note=note, sure=sure, **own)
