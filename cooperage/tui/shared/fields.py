"""The fields of a form: what each asks for, and the row that asks it."""

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.suggester import SuggestFromList
from textual.widgets import Input, Label, Static

from cooperage.book import Cellar
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.choices import Choice, FlagBox
from cooperage.tui.shared.desk import Desk
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
    """A field as a form asks for it; `choices` are (value, words), `usual` is what a blank means, as text."""

    name: str
    label: str
    holds: Quantity | Holds
    needed: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    usual: str = ""
    example: str = ""


NOTE = AskedField("note", "note", Holds.TEXT, example=_EXAMPLES["note"])
COMMON_FIELDS = (
    AskedField("when", "when", Holds.TEXT, usual=f"now; or such as {WHENS[1]}"),
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


def example_of(holds: Quantity | Holds, units: Units) -> str:
    """Return an example in the person's unit of what a field holds; where there is none, a description."""
    if not isinstance(holds, Quantity):
        return "12" if holds is Holds.COUNT else holds.value
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


class FieldInput(Input):
    """A typed answer; Enter writes the form, or goes to the next field that is needed."""

    BINDINGS: ClassVar[list[BindingType]] = [bound("enter", "screen.write", "write")]


class FieldRow(Vertical):
    """A label, a place to answer, the unit; and under them why an answer was not understood."""

    def __init__(self, field: AskedField, text: str, cellar: Cellar) -> None:
        super().__init__()
        self.field = field
        self._control = _control(field, text, cellar)

    def compose(self) -> ComposeResult:
        """Put the answer beside its label."""
        with Horizontal(classes="asked"):
            yield Label(self.field.label, classes="label")
            yield self._control
            yield Label("", classes="hint", markup=False)
        yield Static("", classes="complaint", markup=False)

    def on_descendant_focus(self) -> None:
        """Mark the row that has the focus."""
        self.add_class("-here")

    def on_descendant_blur(self) -> None:
        """Take the mark away."""
        self.remove_class("-here")

    @property
    def text(self) -> str:
        """The answer, as a text that `parse_act` understands."""
        match self._control:
            case FlagBox(value=value):
                return "yes" if value else ""
            case Choice(value=value):
                return value
            case Input(value=value):
                return value.strip()
        return ""

    def set_text(self, text: str) -> None:
        """Put text in."""
        match self._control:
            case FlagBox():
                self._control.set_value(text == "yes")
            case Choice():
                self._control.set_value(text)
            case Input():
                self._control.value = text

    def show_unit(self, unit: str) -> None:
        """Show the unit of a bare number, and whether an answer is needed."""
        self.query_one(".hint", Label).update(", ".join(part for part in (unit, "needed" * self.field.needed) if part))

    def complain(self, why: str) -> None:
        """Show why the answer was not understood; an empty text takes the words away."""
        self.query_one(".complaint", Static).update(on_screen(why))
        self.set_class(bool(why), "-complained")
        if why and isinstance(self._control, Input):
            self._control.select_all()  # what is typed or scanned next takes its place

    @property
    def is_focused(self) -> bool:
        """Return True if this row has the focus, even under a dialog."""
        return self.screen.focused is self._control

    def take_focus(self) -> None:
        """Move the focus here."""
        self.screen.set_focus(self._control)


def _control(field: AskedField, text: str, cellar: Cellar) -> FlagBox | Choice | Input:
    if field.holds is Holds.FLAG:
        box = FlagBox("yes", id=f"field-{field.name}")
        box.value = text == "yes"
        return box
    if field.choices:
        blank = "choose" if field.needed else "default" if field.name == "cause" else "unspecified"
        chosen = Choice(field.label, [("", blank), *field.choices], id=f"field-{field.name}")
        chosen.value = text
        return chosen
    names = _names(field, cellar)
    suggester = SuggestFromList(names, case_sensitive=False) if names else None
    return FieldInput(
        text,
        placeholder=field.usual or f"such as {names[0] if names else field.example}",
        suggester=suggester,
        compact=True,
    )


def _names(field: AskedField, cellar: Cellar) -> list[str]:
    if field.holds is Holds.LOT:
        return list(cellar.lots)
    if field.holds in (Holds.TAG, Holds.PLACE):
        return [s.tag for s in cellar if not s.is_retired] + ["poured away"] * (field.holds is Holds.PLACE)
    return []


def scanned_into(screen: Screen[Any], desk: Desk, text: str) -> Scanned:
    """Put a scanned tag into the row that has the focus if it asks for one, and go on; else refuse it there."""
    row = next((row for row in screen.query(FieldRow) if row.is_focused), None)
    if row is None or not desk.is_like_a_tag(text):
        return Scanned.LEFT
    if row.field.holds not in (Holds.TAG, Holds.PLACE, Holds.LOT):
        row.complain(f"{text} was scanned; {row.field.label} is asked for here")
        return Scanned.REFUSED
    row.set_text(text)
    if text not in desk.cellar and text not in desk.cellar.lots:
        row.complain(f"there is no {text} in the book")
        return Scanned.REFUSED
    row.complain("")
    screen.focus_next()
    return Scanned.TAKEN
