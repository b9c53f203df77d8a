"""The brief's side of the blend screen: a short field for each thing that a blend can be asked for."""

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input, Label, Static

from cooperage.blending.brief.figures import label_of, unit_words
from cooperage.blending.typed_brief import AIMS, HOW_LIMITS_ARE_TYPED, LIMITED
from cooperage.book.declared.properties import PROPERTIES
from cooperage.tui.keys import bound
from cooperage.tui.shared.choices import Choice, FlagBox
from cooperage.units import Quantity, Units

_HINTS = {"litres": "400 or 390-410", "max_stocks": "any", "must": "B-001 B-004", "never": "B-002"}


class LimitBox(Input):
    """A field of the brief; what is typed never changes the room it takes, so no key lays the screen out."""

    virtual_size = Reactive(Size(0, 0), layout=False)


class BriefSide(VerticalScroll, can_focus=False):
    """The fields of a brief; posts `Changed` whenever a field changes."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next field", show=True),
        bound("down", "app.focus_next", "next field"),
        bound("up", "app.focus_previous", "previous field"),
    ]

    class Changed(Message):
        """Something in the brief was changed."""

    def __init__(self, units: Units, as_toml: Callable[[], str]) -> None:
        super().__init__(id="brief")
        self._units, self._as_toml = units, as_toml

    def compose(self) -> ComposeResult:
        """Stack the fields."""
        yield Static("Brief", id="brief-title", classes="title", markup=False)
        yield from self._row("litres", self._units.usual(Quantity.VOLUME).called)
        with Horizontal(classes="asked"):
            yield Label("aim")
            yield Choice("What matters most", AIMS, id="objective")
        for name in LIMITED:
            yield from self._row(name, label_of(name))
        yield Static(HOW_LIMITS_ARE_TYPED, classes="hint", markup=False)
        with Horizontal(classes="asked"):
            yield Label("whole barrels")
            yield FlagBox("yes", id="whole")
        with Horizontal(classes="asked"):
            yield Label("part-full barrels")
            yield FlagBox("avoid", id="part_full")
        for name, label in (("max_stocks", "most stocks"), ("must", "must draw"), ("never", "never draw")):
            yield from self._row(name, label)
        yield Static("", id="kept", classes="hint", markup=False)

    def _row(self, name: str, label: str) -> ComposeResult:
        with Horizontal(classes="asked"):
            yield Label(label, markup=False)
            yield LimitBox(
                id=name, compact=True, placeholder=_HINTS.get(name) or self._unit_of(name), select_on_focus=False
            )

    def _unit_of(self, name: str) -> str:
        return unit_words(name, self._units) if name in PROPERTIES else ""

    @property
    def texts(self) -> dict[str, str]:
        """What stands in each field."""
        typed = {str(box.id): box.value for box in self.query(Input)}
        is_whole = "yes" if self._flag("whole").value else "no"
        part_full = "avoid" if self._flag("part_full").value else "any"
        return typed | {"objective": self.query_one(Choice).value, "whole": is_whole, "part_full": part_full}

    def _flag(self, name: str) -> FlagBox:
        return self.query_one(f"#{name}", FlagBox)

    @property
    def copied(self) -> str:
        """The brief as it would stand in a file; nothing while it is not understood."""
        return self._as_toml()

    def set_texts(self, texts: Mapping[str, str]) -> None:
        """Fill the fields in; those that are not named become blank."""
        for box in self.query(Input):
            box.value = texts.get(str(box.id), "")
        self._set(self.query_one(Choice), texts.get("objective", "") or AIMS[0][0])
        self._set(self._flag("whole"), texts.get("whole", "") == "yes")
        self._set(self._flag("part_full"), texts.get("part_full", "") != "any")

    @staticmethod
    def _set(box: Any, value: str | bool) -> None:  # noqa: ANN401 - either kind of box
        """Answer a box, if that is another answer: to draw it lays the screen out."""
        if box.value != value:
            box.set_value(value)

    def on_mount(self) -> None:
        """Begin with what a cellar asks by itself."""
        self._set(self._flag("part_full"), True)

    def set_title(self, title: str, kept: str = "") -> None:
        """Name the brief, and show what it holds beside the fields."""
        self.query_one("#brief-title", Static).update(title)
        self.query_one("#kept", Static).update(kept)

    def begin(self) -> None:
        """Move the focus to the volume."""
        self.query_one("#litres").focus()

    @on(Input.Changed)
    @on(Choice.Changed)
    @on(FlagBox.Changed)
    def _changed(self) -> None:
        self.post_message(self.Changed())

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.screen.focus_next()
