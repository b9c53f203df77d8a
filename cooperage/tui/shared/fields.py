"""The fields of a form: what each asks for, and the row that asks it."""

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.suggester import SuggestFromList
from textual.widgets import Input, Label, Static

from cooperage.book import Cellar
from cooperage.book.declared.fields import FieldSpec, Holds, is_required
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES, TREATMENTS
from cooperage.tui.shared.choices import Choice, FlagBox
from cooperage.units import Quantity, Units, show_exact

_LABELS: Mapping[str, Mapping[str, str]] = {
    "property": {name: declared.label for name, declared in PROPERTIES.items()},
    "substance": {name: declared.label for name, declared in SUBSTANCES.items()},
    "treatment": {name: declared.label for name, declared in TREATMENTS.items()},
}


@dataclass(frozen=True, slots=True)
class AskedField:
    """One field as a form asks for it; `usual` is what a blank means, in words."""

    name: str
    label: str
    holds: Quantity | Holds
    needed: bool = False
    choices: tuple[str, ...] = ()
    usual: str = ""


COMMON_FIELDS = (
    AskedField("when", "when", Holds.TEXT, usual="just now"),
    AskedField("hand", "hand", Holds.TEXT),
    AskedField("note", "note", Holds.TEXT),
)
"""What every act has beside its own fields; 'sure' is asked only when the book asks back."""


def field_of(declared: "Field[Any]", face: FieldSpec, units: Units) -> AskedField:
    """Return how a form asks for a declared field."""
    choices = face.choices() if face.choices else ()
    usual = "" if declared.default is MISSING else _default(face, declared.default, units)
    return AskedField(face.name, face.label, face.holds, is_required(declared), choices, usual)


def _default(face: FieldSpec, default: Any, units: Units) -> str:  # noqa: ANN401 - whatever the field holds
    return show_exact(default, units) if face.holds is Quantity.VOLUME and default else ""


def asked(holds: Quantity | Holds, texts: Mapping[str, str], units: Units) -> str:
    """Name the unit in which a bare number is meant in this field, as far as is known yet."""
    quantity: Quantity | None = holds if isinstance(holds, Quantity) else None
    if holds in (Holds.VALUE, Holds.SPREAD) and texts.get("property") in PROPERTIES:
        quantity = PROPERTIES[texts["property"]].quantity
    if holds is Holds.AMOUNT and texts.get("substance") in SUBSTANCES:
        quantity = SUBSTANCES[texts["substance"]].quantity
    return "" if quantity is None else units.usual(quantity).called


class FieldInput(Input):
    """A typed answer; Enter writes the form, or goes to what it still needs."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "screen.write", "write")]


class FieldRow(Vertical):
    """A label, a place to answer, the unit; and under them, when it was not understood, why."""

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
        """Mark the row one types in."""
        self.add_class("-here")

    def on_descendant_blur(self) -> None:
        """Take the mark away."""
        self.remove_class("-here")

    @property
    def text(self) -> str:
        """What stands in it, as text that `receive` understands."""
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
        """Say what a bare number means, and whether an answer is needed."""
        self.query_one(".hint", Label).update(", ".join(part for part in (unit, "needed" * self.field.needed) if part))

    def complain(self, why: str) -> None:
        """Say why the answer was not understood; empty takes the words away."""
        self.query_one(".complaint", Static).update(why)
        self.set_class(bool(why), "-complained")

    @property
    def is_focused(self) -> bool:
        """Say whether one types here now, be it under a dialog."""
        return self.screen.focused is self._control

    def take_focus(self) -> None:
        """Type here next."""
        self.screen.set_focus(self._control)


def _control(field: AskedField, text: str, cellar: Cellar) -> FlagBox | Choice | Input:
    if field.holds is Holds.FLAG:
        box = FlagBox("yes", id=f"field-{field.name}")
        box.value = text == "yes"
        return box
    if field.choices:
        labels = _LABELS.get(field.name, {})
        options = [("", "choose" if field.needed else "as usual" if field.name == "cause" else "not said")]
        options += [(choice, labels.get(choice, choice)) for choice in field.choices]
        chosen = Choice(field.label, options, id=f"field-{field.name}")
        chosen.value = text
        return chosen
    names = _names(field, cellar)
    suggester = SuggestFromList(names, case_sensitive=False) if names else None
    return FieldInput(text, placeholder=field.usual, suggester=suggester, compact=True)


def _names(field: AskedField, cellar: Cellar) -> list[str]:
    if field.holds is Holds.LOT:
        return list(cellar.lots)
    if field.holds in (Holds.TAG, Holds.PLACE):
        return [s.tag for s in cellar if not s.is_retired] + ["poured away"] * (field.holds is Holds.PLACE)
    return []
