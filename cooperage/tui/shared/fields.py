"""The fields of a form: what each asks for, and what may be answered."""

import textwrap
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass
from typing import Any, Protocol

from rich.cells import cell_len

from cooperage.book import Cellar
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.tui.on_screen import on_screen
from cooperage.units import WHENS, Quantity, Units, show_exact

_EXAMPLES: Mapping[str, str] = {
    "hand": "your name",
    "note": "any words",
    "room": "North",
    "row": "A",
    "bay": "4",
    "tier": "2",
    "reason": "staves spent",
    "how": "hydrometer, lab",
    "smell": "sound, vinegar",
    "code": "SALT-26",
}
"""What may stand in a field of text or of a bare number, by the field's outside name."""


@dataclass(frozen=True, slots=True)
class AskedField:
    """A field as a form asks for it; `choices` are (value, words), `usual` is what a blank means, as text.

    `names` may stand in it, and are proposed by their beginnings; `several` of them with commas between.
    """

    name: str
    label: str
    holds: Quantity | Holds
    needed: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    usual: str = ""
    example: str = ""
    names: tuple[str, ...] = ()
    several: bool = False


NOTE = AskedField("note", "note", Holds.TEXT, example=_EXAMPLES["note"])
COMMON_FIELDS = (
    AskedField("when", "when", Holds.TEXT, usual=f"now; e.g. {WHENS[1]}"),
    AskedField("hand", "by", Holds.TEXT, example=_EXAMPLES["hand"]),
    NOTE,
)
"""What every act has beside its own fields."""


def field_of(declared: "Field[Any]", face: FieldSpec, units: Units) -> AskedField:
    """Return how a form asks for a declared field."""
    named = face.named or str
    choices = tuple((choice, named(choice)) for choice in face.choices()) if face.choices else ()
    usual = "" if declared.default is MISSING else _default(face, declared.default, units)
    example = _EXAMPLES.get(face.name) or example_of(face.holds, units)
    return AskedField(face.name, face.label, face.holds, is_required(declared), choices, usual, example)


def _default(face: FieldSpec, default: Any, units: Units) -> str:  # noqa: ANN401 - whatever the field holds
    return show_exact(default, units) if face.holds is Quantity.VOLUME and default else ""


_COUNTED = {Holds.COUNT: "12", Holds.BOTTLES: "48 or 4x12"}


def example_of(holds: Quantity | Holds, units: Units) -> str:
    """Return an example in the person's unit of what a field holds; where there is none, a description."""
    if not isinstance(holds, Quantity):
        return _COUNTED.get(holds, holds.value)
    unit = units.usual(holds)
    return unit.written(unit.example.replace(".", units.decimal))


def asked(holds: Quantity | Holds, texts: Mapping[str, str], units: Units) -> str:
    """Name the unit in which a bare number is meant in this field, as far as is known yet."""
    quantity: Quantity | None = holds if isinstance(holds, Quantity) else None
    if holds in (Holds.VALUE, Holds.SPREAD) and texts.get("property") in PROPERTIES:
        quantity = PROPERTIES[texts["property"]].quantity
    if holds is Holds.AMOUNT and texts.get("substance") in SUBSTANCES:
        quantity = SUBSTANCES[texts["substance"]].quantity
    return "" if quantity is None else units.usual(quantity).called


def answers(field: AskedField) -> list[tuple[str, str]]:
    """Return what a choice may be, as (value, words); a blank is among them."""
    if field.choices and field.choices[0][0] == "":
        return list(field.choices)
    blank = "choose" if field.needed else "default" if field.name == "cause" else "unspecified"
    return [("", blank), *field.choices]


def names_for(field: AskedField, cellar: Cellar) -> list[str]:
    """Return the names that may stand in a field, for the rest of one to be proposed as it is typed."""
    if field.names:
        return list(field.names)
    if field.holds is Holds.LOT:
        return list(cellar.lots)
    if field.holds in (Holds.TAG, Holds.PLACE):
        return [s.tag for s in cellar if not s.is_retired] + ["poured away"] * (field.holds is Holds.PLACE)
    return []


class Rows(Protocol):
    """What shows rows, and has one of them in hand."""

    here: "FieldRow"
    label: int

    @property
    def screen(self) -> Any:  # noqa: ANN401 - Textual's
        """The screen they stand on."""

    def take(self, row: "FieldRow") -> None:
        """Take a row in hand."""

    def answered(self, row: "FieldRow") -> None:
        """Show another answer, and post that it changed."""

    def row_changed(self, row: "FieldRow") -> None:
        """Draw a row again."""

    def lines_changed(self) -> None:
        """Draw all rows again, one of which may take more lines or none."""

    def select_all(self) -> None:
        """Select what is typed in the row in hand."""


LABEL = 24
"""Fewest columns of the labels."""
_LEAST_BOX = 12


def _example(field: AskedField, names: list[str]) -> str:
    """Return what stands quietly in an empty answer: an example, never to be taken for a value, or what it is."""
    example = names[0] if names else field.example
    is_description = isinstance(field.holds, Holds) and example == field.holds.value
    return example if is_description else f"e.g. {example}"


class FieldRow:
    """A field in a list: what is answered, the unit, and under them why an answer was not understood."""

    def __init__(self, rows: Rows, field: AskedField, text: str, cellar: Cellar) -> None:
        self._rows, self.field, self.typed = rows, field, text
        self.kind = "flag" if field.holds is Holds.FLAG else "choice" if field.choices else "text"
        self.answers = answers(field) if self.kind == "choice" else []
        self.names = names_for(field, cellar) if self.kind == "text" else []
        self.example = field.usual or _example(field, self.names)
        self.hint = "needed" * field.needed
        self.complaint = ""
        self._display = True

    @property
    def text(self) -> str:
        """The answer, as a text that `parse_act` understands."""
        return self.typed.strip()

    def set_text(self, text: str) -> None:
        """Put an answer in."""
        self.typed = text
        self._rows.answered(self)

    def whole(self, typed: str) -> str:
        """Return what is typed with the name that is begun in it completed; empty where no name is."""
        before, comma, last = typed.rpartition(",") if self.field.several else ("", "", typed)
        begun = last.lstrip()
        name = next((n for n in self.names if begun and n.casefold().startswith(begun.casefold())), "")
        return f"{before}{comma}{last[: len(last) - len(begun)]}{name}" if name else ""

    def show_unit(self, unit: str) -> None:
        """Show the unit of a bare number, and whether an answer is needed."""
        hint = ", ".join(part for part in (unit, "needed" * self.field.needed) if part)
        if hint != self.hint:
            self.hint = hint
            self._rows.row_changed(self)

    def complain(self, why: str) -> None:
        """Show why the answer was not understood; an empty text takes the words away."""
        why = on_screen(why)
        if why != self.complaint:
            self.complaint = why
            self._rows.lines_changed()
        if why and self.is_in_hand:
            self._rows.select_all()  # what is typed or scanned next takes its place

    @property
    def display(self) -> bool:
        """Whether it is asked at all."""
        return self._display

    @display.setter
    def display(self, is_shown: bool) -> None:
        if is_shown != self._display:
            self._display = is_shown
            self._rows.lines_changed()

    @property
    def is_in_hand(self) -> bool:
        """Return True if what is typed goes here, once the list has the focus."""
        return self._rows.here is self

    @property
    def is_focused(self) -> bool:
        """Return True if this row has the focus, even under a dialog."""
        return self.is_in_hand and self._rows.screen.focused is self._rows

    def take_focus(self) -> None:
        """Move the focus here."""
        self._rows.take(self)
        self._rows.screen.set_focus(self._rows)

    # --- how it is shown --------------------------------------------------------------------------------------------

    @property
    def words(self) -> str:
        """The words for what is chosen; what is typed, as it is."""
        if self.kind == "flag":
            return f"[{'x' if self.text else ' '}] yes"
        if self.kind == "text":
            return self.typed
        known = dict(self.answers)
        return f"▾ {', '.join(known.get(part, part) for part in self.typed.split(', '))}"

    @property
    def _wide(self) -> int:
        """How many columns what stands in the answer takes: what was typed, else the example."""
        return cell_len(self.words or self.example)

    def box(self, usual: int, width: int) -> int:
        """Return how many of `width` columns the answer takes: as usual, more for a long one, less beside a unit."""
        wanted = max(usual, self._wide)
        hint = self.hint_in(width)
        return max(_LEAST_BOX, min(wanted, width - self._rows.label - (cell_len(hint) + 1 if hint else 0)))

    def hint_in(self, width: int) -> str:
        """Return the unit and whether an answer is needed, which give way to a long answer in `width` columns.

        Where an answer would have too little room, the unit stands alone.
        """
        room = width - self._rows.label
        if self.hint and room - 1 - cell_len(self.hint) < self._wide <= room:
            return ""
        return self.hint if _LEAST_BOX + 1 + cell_len(self.hint) <= room else self.hint.partition(", ")[0]

    def height(self, width: int) -> int:
        """Return how many lines of `width` columns it takes."""
        return 1 + len(self.complaint_lines(width))

    def complaint_lines(self, width: int) -> list[str]:
        """Return why the answer was not understood, in lines that begin under the answer."""
        return textwrap.wrap(self.complaint, max(_LEAST_BOX, width - self._rows.label)) if self.complaint else []
