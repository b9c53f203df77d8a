"""From a cell's text to a value and back: one pair of functions for every column of every file."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.places import OUTSIDE
from cooperage.book.declared.properties import property_named, with_named_unit
from cooperage.book.declared.substances import substance_named
from cooperage.errors import BadInput, choose_from
from cooperage.exchange.tables.columns import Column, Plain
from cooperage.plaintext import json_escaped, visible
from cooperage.units import Quantity, read, read_bottles, read_volume, read_when, show_exact

YES, NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")
_ID = re.compile(r"[0-9a-z-]{1,64}")
_MOST = 2**31 - 1
_NOT_IN_TAGS = re.compile(r"[;=\x00-\x1f]")


@dataclass(frozen=True, slots=True)
class Clock:
    """How dates are read: the present moment, and whole days by which all of them are shifted."""

    now: datetime
    shift: timedelta = timedelta()

    def read(self, text: str) -> datetime:
        """Return the moment typed, shifted."""
        return read_when(text, self.now) + self.shift


def read_cell(column: Column, text: str, clock: Clock) -> Any:  # noqa: ANN401 - as many types as columns
    """Return the value of a cell that is not blank. Raises BadInput without its place."""
    if column.longest is not None and len(text) > column.longest:
        raise BadInput(f"'{text[:20]}…' is longer than {column.longest} letters; shorten it")
    if isinstance(column.holds, Quantity):
        return read(column.holds, text)
    return _READERS.get(column.holds, _text)(column, text, clock)


def _text(column: Column, text: str, _clock: Clock) -> str:
    return _canonical(column, text)


def _canonical(column: Column, text: str) -> str:
    return text if column.canonical is None else column.canonical(text)


def _tag(_column: Column, text: str, _clock: Clock) -> str:
    if _NOT_IN_TAGS.search(text):
        raise BadInput(f"a tag cannot hold ; or = or a line break, as {text!r} does; write it without")
    return text


def _choice(column: Column, text: str, _clock: Clock) -> str:
    wanted = _canonical(column, text.casefold())
    if wanted in column.choices:
        return wanted
    raise BadInput(f"'{text}' is not one of the choices{choose_from(wanted, column.choices)}")


def _flag(_column: Column, text: str, _clock: Clock) -> bool:
    if text.casefold() not in YES + NO:
        raise BadInput(f"'{text}' is neither yes nor no; write one of them, or leave the cell blank for no")
    return text.casefold() in YES


def _count(_column: Column, text: str, _clock: Clock) -> int:
    return _countable(int(read(Quantity.COUNT, text)), text)


def _bottles(_column: Column, text: str, _clock: Clock) -> int:
    return _countable(read_bottles(text), text)


def _countable(count: int, text: str) -> int:
    if count > _MOST:
        raise BadInput(f"'{text}' is more than can be counted here; correct it")
    return count


def _when(_column: Column, text: str, clock: Clock) -> datetime:
    try:
        return clock.read(text)
    except OverflowError:
        raise BadInput(f"'{text}' is beyond the calendar; correct it") from None


def _day(_column: Column, text: str, clock: Clock) -> date:
    try:
        return date.fromisoformat(text) + clock.shift
    except ValueError:
        raise BadInput(f"'{text[:20]}' is no day; write it as 2026-11-27") from None
    except OverflowError:
        raise BadInput(f"'{text}' is beyond the calendar; correct it") from None


def _id(_column: Column, text: str, _clock: Clock) -> str:
    if not _ID.fullmatch(text) or text in OUTSIDE:
        raise BadInput(f"'{text[:20]}' is no id; use up to 64 small letters a to z, digits and hyphens")
    return text


def _draws(column: Column, text: str, _clock: Clock) -> tuple[tuple[str, int | float], ...]:
    """Read "B-001=120 L; B-004=60 L", or doses such as "honey=2 kg"."""
    draws: list[tuple[str, int | float]] = []
    for part in filter(None, (part.strip() for part in text.split(";"))):
        name, equals, amount = (piece.strip() for piece in part.rpartition("="))
        if not equals or not name:
            raise BadInput(f"'{part}' is no draw; write each as vessel=volume, with ; between: B-001=120 L; B-004=60 L")
        is_dose = column.fills == "doses"
        draws.append((_canonical(column, name), read(_dose(name), amount) if is_dose else read_volume(amount)))
    return tuple(draws)


def _dose(substance: str) -> Quantity:
    return substance_named(substance).quantity


_READERS: dict[Holds | Plain, Callable[[Column, str, Clock], Any]] = {
    Holds.TAG: _tag,
    Holds.CHOICE: _choice,
    Holds.FLAG: _flag,
    Holds.COUNT: _count,
    Holds.BOTTLES: _bottles,
    Holds.DRAWS: _draws,
    Plain.WHEN: _when,
    Plain.DAY: _day,
    Plain.ID: _id,
}


def resolved(column: Column, values: dict[str, Any]) -> Column:
    """Return a column whose quantity hangs on another cell (a value on its property, an amount on its substance).

    A give-or-take is a difference, so it is a plain number in the property's own unit.
    """
    if column.holds is Holds.SPREAD:
        return replace(column, holds=Quantity.NUMBER)
    if column.holds is Holds.VALUE:
        return replace(column, holds=property_named(values["property"]).quantity)
    if column.holds is Holds.AMOUNT:
        return replace(column, holds=_dose(values["substance"]))
    return column


def with_unit(column: Column, text: str, cells: Mapping[str, str]) -> str:
    """Return a value's cell with the unit that its row's property names: 22 in a row of "brix" is "22 brix".

    Raises BadInput for a give-or-take in such a row, which would be in another unit.
    """
    if column.holds not in (Holds.VALUE, Holds.SPREAD):
        return text
    typed = with_named_unit(cells.get("property", ""), text)
    if column.holds is Holds.SPREAD and typed != text:
        raise BadInput(f"'{text}' would be in degrees {cells['property']}; write the row as a gravity in SG")
    return typed


def show_cell(column: Column, value: Any) -> str:  # noqa: ANN401 - as many types as columns
    """Return the text that `read_cell` reads back to the same value; None is blank.

    Characters that no door takes today are spelt out, so that an export of an old book can always come back.
    """
    if value is None:
        return ""
    if column.holds is Quantity.VOLUME:
        return show_exact(round(value))  # an addition's amount is a number of any kind: 5000.0 for 5 L of water
    if column.holds is Holds.DRAWS:
        return "; ".join(f"{visible(name)}={_amount(column, name, amount)}" for name, amount in value)
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, float):
        return _digits(value)
    if column.fills == "plan":
        return json_escaped(str(value))
    return visible(str(value), lines=column.holds is Plain.WORDS)


def _amount(column: Column, name: str, amount: float) -> str:
    is_volume = column.fills == "draws" or _dose(name) is Quantity.VOLUME
    return show_exact(round(amount)) if is_volume else f"{_digits(amount)} g"


def _digits(value: float) -> str:
    """Return every digit of a float, without an exponent."""
    figures = format(Decimal(repr(float(value))), "f")
    return figures.removesuffix(".0")
