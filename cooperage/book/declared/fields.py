"""The declaration of one field of an act. Forms, commands, CSV columns and help are built from it."""

from collections.abc import Callable
from dataclasses import MISSING, Field, dataclass, field, replace
from enum import StrEnum
from typing import Any, cast

from cooperage.units import Quantity


class Holds(StrEnum):
    """What a field holds when it is no measured quantity."""

    TAG = "vessel"
    PLACE = "vessel, or an outside place"
    LOT = "lot"
    TEXT = "text"
    FLAG = "yes or no"
    CHOICE = "one of a list"
    DRAWS = "vessel=volume; vessel=volume; ..."
    ENTRY = "entry id, or 'last'"
    AMOUNT = "in the substance's unit"
    VALUE = "in the property's unit"
    SPREAD = "in the same unit"
    COUNT = "whole number"
    BOTTLES = "bottles, such as 48 or 4x12"


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """One field as users see it: its outside name, its label, and the kind of value.

    An entry's words put `phrase` around the value at {} (by default the label stands before it), and `phrase_of_one`
    around a 1 where that reads otherwise. `named` gives a
    choice's name for people, `canonical` the stored word for a synonym of it. What is `moved` is shown by the entry's
    moves; a document is too long for a line.
    """

    name: str
    label: str
    holds: Quantity | Holds
    argument: bool
    choices: Callable[[], tuple[str, ...]] | None
    usual_up_to: float | None
    phrase: str = ""
    named: Callable[[str], str] | None = None
    moved: bool = False
    is_document: bool = False
    longest: int | None = None
    canonical: Callable[[str], str] | None = None
    phrase_of_one: str = ""

    def phrased(self, value: object, shown: str) -> str:
        """Return a value, as it is `shown`, with its words around it."""
        phrase = (self.phrase_of_one if value == 1 else "") or self.phrase or f"{self.label} {{}}"
        return phrase.format(shown)


def field_spec(
    label: str,
    holds: Quantity | Holds,
    *,
    name: str = "",
    argument: bool = False,
    choices: Callable[[], tuple[str, ...]] | None = None,
    usual_up_to: float | None = None,
    phrase: str = "",
    named: Callable[[str], str] | None = None,
    moved: bool = False,
    is_document: bool = False,
    longest: int | None = None,
    canonical: Callable[[str], str] | None = None,
    phrase_of_one: str = "",
    default: object = MISSING,
) -> Any:  # noqa: ANN401 - like dataclasses.field, it stands in for a value of the field's own type
    """Declare a field of an act; one without a default is required, an `argument` is given by position."""
    face = FieldSpec(
        name,
        label,
        holds,
        argument,
        choices,
        usual_up_to,
        phrase,
        named,
        moved,
        is_document,
        longest,
        canonical,
        phrase_of_one,
    )
    if default is MISSING:
        return field(metadata={"spec": face})
    return field(default=default, metadata={"spec": face})


def face_of(declared: "Field[Any]") -> FieldSpec:
    """Return a field's declaration, its outside name filled in."""
    face = cast(FieldSpec, declared.metadata["spec"])
    return face if face.name else replace(face, name=declared.name)


def is_required(declared: "Field[Any]") -> bool:
    """Return True if the field must be given."""
    return declared.default is MISSING
