"""The brief's side of the blend screen: a short field for each thing that a blend can be asked for."""

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input, Label, Static

from cooperage.blending.brief.figures import figure_name, unit_words
from cooperage.blending.typed_brief import AIMS, HOW_LIMITS_ARE_TYPED, LIMITED
from cooperage.book.declared.properties import PROPERTIES
from cooperage.tui.keys import TABLE, bound
from cooperage.tui.shared.choices import Choice, FlagBox
from cooperage.units import Quantity, Units

_EXAMPLES = {
    "litres": "400 or 390-410",
    "abv": "13.4-13.6",
    "sugar_g_l": "60±2",
    "ta_g_l": "max 6",
    "va_g_l": "max 0.6",
    "free_so2_mg_l": "min 20",
    "total_so2_mg_l": "max 150",
    "score": "min 60",
    "max_stocks": "6",
    "ready": "60 %",
    "must": "B-001 B-004",
    "never": "B-002",
}
"""What might be typed in each field; it stands there in quiet ink while nothing is."""
_RULES = {"max_stocks": "most stocks", "ready": "ready at least", "must": "must draw", "never": "never draw"}
"""The rules on draws that are typed, by their words."""
_TAGS = ("must", "never")
"""The fields that tags are typed into, which may begin with any letter."""


class LimitBox(Input):
    """A field of the brief; what is typed never changes the room it takes, so no key lays the screen out.

    While nothing is typed the key of the list of keys shows that list; it is not a text. Nor does any figure begin with
    the key of the trials, which goes there from an empty field for a `figure`.
    """

    HEARS_LETTERS_ALONE: ClassVar = True
    virtual_size = Reactive(Size(0, 0), layout=False)
    cursor_blink = Reactive(False, init=False)  # to blink draws the line twice a second

    def __init__(self, *, id: str, placeholder: str, figure: bool) -> None:
        super().__init__(id=id, compact=True, placeholder=placeholder, select_on_focus=False)
        self._passed_on = {TABLE["keys"].key, *([TABLE["check"].key] if figure else [])}
        self._is_empty = True

    @on(Input.Changed)
    def _offer_again(self) -> None:
        """Offer other keys once something is typed, and once all of it is deleted."""
        if self._is_empty == bool(self.value):
            self._is_empty = not self.value
            self.refresh_bindings()

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Take every letter, but for the keys that act while nothing is typed."""
        return not self._passes_on(key) and super().check_consume_key(key, character)

    def on_key(self, event: events.Key) -> None:
        """Pass such a key to the bindings instead of typing it."""
        if self._passes_on(event.key):
            event.prevent_default()

    def _passes_on(self, key: str) -> bool:
        return not self.value and key in self._passed_on


class BriefSide(VerticalScroll, can_focus=False):
    """The fields of a brief; posts `Changed` whenever a field changes."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "next field", show=True),
        bound("down", "app.focus_next", "next field"),
        bound("up", "app.focus_previous", "previous field"),
    ]

    class Changed(Message):
        """Something in the brief was changed."""

    class Entered(Message):
        """Enter was pressed in a field."""

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
            yield from self._row(name, f"{figure_name(name)} {self._unit_of(name)}".strip())
        yield Static(HOW_LIMITS_ARE_TYPED, classes="hint", markup=False)
        with Horizontal(classes="asked"):
            yield Label("whole barrels")
            yield FlagBox("yes", id="whole")
        with Horizontal(classes="asked"):
            yield Label("part-full barrels")
            yield FlagBox("avoid", id="part_full")
        for name, label in _RULES.items():
            yield from self._row(name, label)
        yield Static("", id="kept", classes="hint", markup=False)

    def _row(self, name: str, label: str) -> ComposeResult:
        with Horizontal(classes="asked"):
            yield Label(label, markup=False)
            yield LimitBox(id=name, placeholder=self._example(name), figure=name not in _TAGS)

    def _example(self, name: str) -> str:
        example = _EXAMPLES.get(name, "")
        return f"e.g. {example.replace('.', self._units.decimal)}" if example else ""

    def _unit_of(self, name: str) -> str:
        return unit_words(name, self._units) if name in PROPERTIES else ""

    @property
    def has_volume(self) -> bool:
        """Return True once a volume is typed: till then there is nothing to solve."""
        return bool(self.query_one("#litres", Input).value.strip())

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
        self.post_message(self.Entered())
        self.screen.focus_next()
