"""Small dialogs that return an answer, or None when they are closed without an answer."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.css.query import NoMatches
from textual.message import Message
from textual.screen import ModalScreen, Screen
from textual.strip import Strip
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import ENTERS, bound, rebind
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.ink import TROUBLE, pointer
from cooperage.tui.shared.steady import Steady
from cooperage.tui.themes import PLAIN


def show_in_dialog(dialog: Screen[Any], words: str) -> None:
    """Show a line in a dialog, where it shows messages; in one that has no place for them, over it."""
    try:
        dialog.query_one(StatusLine).show_message(words)
    except NoMatches:
        dialog.notify(words, severity="warning", markup=False)


_BREADTHS = [(0, "-narrow"), (80, "-wide")]


class Confirm(KeepsStyles[bool], ModalScreen[bool]):
    """A question answered by + or -, but not by those in a scanned tag; `minded` are the cautions of it."""

    HORIZONTAL_BREAKPOINTS = _BREADTHS
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-tall")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("no", "answer(False)"),
        bound("back", "answer(False)", "no", show=False),
        bound("down", "scroll(1)"),
        bound("up", "scroll(-1)"),
    ]

    def __init__(self, question: str, yes: str = "yes", minded: Content | None = None) -> None:
        super().__init__(classes="dialog")
        self._question, self._minded = question, minded or Content("")
        rebind(self, bound("yes", "answer(True)", yes))

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
    """The list of a dialog; Enter chooses the line, and typed letters leave the lines that have them.

    A line is `also` found by other words, by its value. Letters with spaces between are words, all of which a line must
    have, unless `is_phrase`: then they are sought as they stand.
    """

    BINDINGS: ClassVar[list[BindingType]] = [bound("enter", "select", "choose")]

    class Sought(Message):
        """Other letters have been typed; `letters` are all of them."""

        def __init__(self, letters: str) -> None:
            super().__init__()
            self.letters = letters

    letters = ""

    def __init__(self, *options: Option, also: Mapping[str, str] | None = None, is_phrase: bool = False) -> None:
        super().__init__(*options, markup=False)
        self._every, self._also, self._is_phrase = options, dict(also or {}), is_phrase

    def render_line(self, y: int) -> Strip:
        """Draw a line; in two colours the line of the pointer is reversed, which Textual's own drawing leaves out."""
        strip = super().render_line(y)
        is_here = any(each.style and each.style.meta.get("option") == self.highlighted for each in strip)
        return strip.apply_style(pointer(self.app)) if is_here and self.app.theme == PLAIN.name else strip

    def check_consume_key(self, key: str, character: str | None) -> bool:  # noqa: ARG002 - Textual's
        """Take every letter: none is a key here."""
        return character is not None and character.isprintable()

    def on_key(self, event: events.Key) -> None:
        """Seek what is typed."""
        typed = self.letters[:-1] if event.key == "backspace" else self.letters + (event.character or "")
        if not (event.key == "backspace" or (event.character is not None and event.character.isprintable())):
            return
        event.stop()
        event.prevent_default()
        self.seek(typed)
        self.post_message(self.Sought(typed))

    def seek(self, letters: str) -> None:
        """Leave the lines that have some letters, all lines where none has, and point at the one that begins with them.

        The list keeps the room it had, so that nothing around it moves.
        """
        self.letters = letters
        found = self._with(letters) or list(self._every)
        if found != list(self.options):
            self.styles.min_width, self.styles.min_height = self.outer_size
            self.clear_options()
            self.add_options(found)
        sought = letters.strip().casefold()
        prompts = [str(option.prompt).casefold() for option in found]
        begins = (at for at, each in enumerate(prompts) if each.startswith(sought))
        if sought:
            self.highlighted = next(begins, next((at for at, each in enumerate(prompts) if sought in each), 0))

    def _with(self, letters: str) -> list[Option]:
        sought = letters.strip().casefold()
        words = [sought] if self._is_phrase else sought.split()
        return [option for option in self._every if all(word in self._known_by(option) for word in words)]

    def _known_by(self, option: Option) -> str:
        return f"{option.prompt} {self._also.get(option.id or '', '')}".casefold()

    @property
    def has_what_is_sought(self) -> bool:
        """Return True if some line has the letters that were typed."""
        return not self.letters or bool(self._with(self.letters))


class Pick(KeepsStyles[str | None], ModalScreen[str | None]):
    """A choice from a list of (value, words); the cursor starts on the present value, and typed letters narrow it.

    `letters` are those that were typed before it came up; `also` has other words by which a value is found.
    Where something else may be answered, `anything` is what: then typed letters that no line has are the answer,
    figures among them where it `has_digits`.
    """

    HORIZONTAL_BREAKPOINTS = _BREADTHS
    BINDINGS: ClassVar[list[BindingType]] = [bound("back", "dismiss(None)", "close")]

    def __init__(
        self,
        title: str,
        choices: Sequence[tuple[str, str]],
        chosen: str = "",
        anything: str = "",
        *,
        has_digits: bool = False,
        letters: str = "",
        also: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(classes="dialog")
        self._has_digits, self._letters, self._also = has_digits, letters, also
        self._title, self._choices, self._chosen, self._anything = title, choices, chosen, anything

    def compose(self) -> ComposeResult:
        """Show the list with the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            lines = (Option(words, id=value) for value, words in self._choices)
            yield PickList(*lines, also=self._also, is_phrase=bool(self._anything))
            yield Steady(self._typed_words(""), markup=False, id="typed")
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin at the present value, or at what was typed."""
        values = [value for value, _ in self._choices]
        self.query_one(OptionList).highlighted = values.index(self._chosen) if self._chosen in values else 0
        if self._letters:
            self.query_one(PickList).seek(self._letters)
            self.query_one("#typed", Static).update(self._typed_words(self._letters))

    def _typed_words(self, letters: str) -> str:
        if not letters:
            return f"type to choose{f', or {self._anything}' if self._anything else ''}"
        if self.query_one(PickList).has_what_is_sought:
            return f"typed: {letters}"
        return f"{self._anything}: {letters}" if self._may_be_new(letters) else f"no line has “{letters}”"

    def _may_be_new(self, letters: str) -> bool:
        """Return True if something else may be answered: litres typed too early or a scanned tag are no name."""
        return bool(self._anything) and (self._has_digits or not any(letter.isdigit() for letter in letters))

    def take_scan(self, text: str, stood: str | None) -> Scanned:  # noqa: ARG002 - as dialogs are given it
        """Choose the line that a scanned tag names; where there is none, show so, and let the next scan begin again."""
        found = next((value for value, _ in self._choices if value.casefold() == text.strip().casefold()), None)
        if found is not None:
            self.dismiss(found)
            return Scanned.TAKEN
        if not any(character.isdigit() for character in text):
            return Scanned.LEFT  # a name that a hand types fast
        self.query_one(PickList).seek("")
        self.query_one("#typed", Static).update(f"{TROUBLE} no line has “{text}”")
        return Scanned.REFUSED

    def on_pick_list_sought(self, event: PickList.Sought) -> None:
        """Show what is typed."""
        self.query_one("#typed", Static).update(self._typed_words(event.letters))

    def on_key(self, event: events.Key) -> None:
        """Enter gives what was typed where no line has it."""
        letters = self.query_one(PickList).letters.strip()
        if event.key in ENTERS and letters and not self.query_one(PickList).has_what_is_sought:
            event.stop()
            event.prevent_default()
            if self._may_be_new(letters):
                self.dismiss(letters)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Close with the choice."""
        self.dismiss(event.option_id)


class Shown(KeepsStyles[None], ModalScreen[None]):
    """Lines under a title; a longer text scrolls."""

    HORIZONTAL_BREAKPOINTS = _BREADTHS
    DEFAULT_CSS = "Shown VerticalScroll { height: auto; max-height: 14; width: 68; margin: 1 0 0 0; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "dismiss(None)", "close"),
        bound("back", "dismiss(None)", "close", show=False),
    ]

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
