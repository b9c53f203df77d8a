"""What is asked for something that is no entry, declared once for the form and the command, and read from texts."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from cooperage.book.declared.allowed import NotAllowed
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Quantity, Units, read

Wanted = TypeVar("Wanted")


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing asked: the field it fills, its name outside, its label and help, what it holds and takes.

    `of_wood` is asked of barrels alone; `several` may stand in it, with semicolons between; `example` is what may stand
    there.
    """

    field: str
    name: str
    label: str
    about: str
    metavar: str
    holds: Quantity | Holds = Holds.TEXT
    choices: tuple[str, ...] = ()
    needed: bool = False
    of_wood: bool = False
    example: str = ""
    several: bool = False


def value_of(
    asked: Asked,
    texts: Mapping[str, str],
    units: Units = DEFAULT,
    reads: Callable[[str], Any] | None = None,
) -> Any:  # noqa: ANN401 - as many types as fields
    """Return what is asked from texts by outside name; None for a blank. `reads` reads what has a form of its own.

    Raises BadField, for what is needed and blank too.
    """
    text = texts.get(asked.name, "").strip()
    if not text:
        if asked.needed:
            raise BadField(asked.name, f"{asked.label} is needed")
        return None
    try:
        return reads(text) if reads is not None else _plain_value(asked, text, units)
    except BadInput as error:
        raise BadField(asked.name, error.words(units)) from error


def _plain_value(asked: Asked, text: str, units: Units) -> Any:  # noqa: ANN401 - as many types as fields
    if not isinstance(asked.holds, Quantity):
        return text.lower() if asked.choices else text
    value = read(asked.holds, text, units)
    return value if asked.holds is Quantity.VOLUME else int(value) if asked.holds is Quantity.COUNT else float(value)


def allowed_of(asked: Sequence[Asked], check: Callable[[Wanted], Wanted], wanted: Wanted) -> Wanted:
    """Return what the book keeps of it; what it does not take is a BadField where that was asked."""
    try:
        return check(wanted)
    except NotAllowed as error:
        name = next((each.name for each in asked if each.field == error.field), None)
        if name is None:
            raise
        raise BadField(name, str(error)) from error
