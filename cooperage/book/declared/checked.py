"""What is done to every act before it is written: its values checked, its synonyms replaced by the stored words."""

from collections.abc import Callable
from dataclasses import replace
from math import isfinite
from typing import Any

from cooperage.book.declared.act import Act, faces
from cooperage.book.declared.allowed import LEAST_FIGURE, LONGEST_NOTE, LONGEST_TEXT, MOST_COUNTED, check_text
from cooperage.book.declared.fields import FieldSpec, Holds
from cooperage.errors import BadInput
from cooperage.units import Quantity

_MOST_ML = 10**12


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


_MOST_WHOLE = {Quantity.VOLUME: _MOST_ML, Holds.COUNT: MOST_COUNTED, Holds.BOTTLES: MOST_COUNTED}


def _check_whole(value: object, face: FieldSpec) -> None:
    most = _MOST_WHOLE[face.holds]
    if not isinstance(value, int) or not 0 <= value <= most:
        raise BadInput(f"the {face.label} cannot be {value!r} here; it is a whole number from 0 to {most}")
