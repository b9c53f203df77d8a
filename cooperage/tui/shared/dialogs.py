"""Small dialogs that return an answer, or None when they are closed without an answer."""

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from cooperage.tui.shared.bars import KeyBar


class Confirm(ModalScreen[bool]):
    """A question answered with yes or no; `minded` are the cautions that belong to it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n,escape", "answer(False)", "no"),
        Binding("down", "scroll(1)", "down", show=False),
        Binding("up", "scroll(-1)", "up", show=False),
    ]

    def __init__(self, question: str, yes: str = "yes", minded: Content | None = None) -> None:
        super().__init__(classes="dialog")
        self._question, self._minded = question, minded or Content("")
        self._bindings.bind("y", "answer(True)", yes)

    def compose(self) -> ComposeResult:
        """Show the question and the keys that answer it."""
        with Vertical(classes="box"):
            with VerticalScroll(id="asked-of-you", can_focus=False):
                yield Static(self._question, markup=False, id="question")
                if self._minded:
                    yield Static(self._minded, id="question-minded")
            yield KeyBar()

    def action_scroll(self, lines: int) -> None:
        """Show what does not fit."""
        self.query_one("#asked-of-you").scroll_relative(y=lines, animate=False)

    def action_answer(self, yes: bool) -> None:
        """Close with the answer."""
        self.dismiss(yes)


class PickList(OptionList):
    """The list of a dialog; Enter chooses the line."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "select", "choose")]


class Pick(ModalScreen[str | None]):
    """A choice from a list of (value, words); the cursor starts on the present value."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "close"),
    ]

    def __init__(self, title: str, choices: Sequence[tuple[str, str]], chosen: str = "") -> None:
        super().__init__(classes="dialog")
        self._title, self._choices, self._chosen = title, choices, chosen

    def compose(self) -> ComposeResult:
        """Show the list with the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield PickList(*(Option(words, id=value) for value, words in self._choices), markup=False)
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin at the present value."""
        values = [value for value, _ in self._choices]
        self.query_one(OptionList).highlighted = values.index(self._chosen) if self._chosen in values else 0

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Close with the choice."""
        self.dismiss(event.option_id)


class Shown(ModalScreen[None]):
    """Lines under a title; a longer text scrolls."""

    DEFAULT_CSS = "Shown VerticalScroll { height: auto; max-height: 14; width: 68; margin: 1 0 0 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,escape", "dismiss(None)", "close")]

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__(classes="dialog")
        self._title, self._lines = title, lines

    def compose(self) -> ComposeResult:
        """Show the lines with the key that closes them."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            with VerticalScroll():
                yield Static("\n".join(self._lines), markup=False)
            yield KeyBar()
