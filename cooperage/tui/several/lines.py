"""The vessels of a form, a line each: what is typed for it, else what is proposed, or why it is left out."""

from typing import ClassVar

from rich.text import Text
from textual import events
from textual.binding import BindingType
from textual.message import Message

from cooperage.programme.several.sheet import ActLine, ActSheet
from cooperage.tui.keys import bound
from cooperage.tui.shared.field_list import walk
from cooperage.tui.shared.line_list import LineList

_TAG, _FIGURE = 9, 14
_CURSOR = "▏"


class VesselLines(LineList):
    """A line a vessel; what is typed goes into the line under the cursor, and wins over what is proposed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "screen.write", "write"),
        bound("no", "leave_out", "leave out"),
    ]

    HEARS_LETTERS_ALONE: ClassVar = True

    class Changed(Message):
        """Something was typed, or a vessel was left out or taken in again."""

    def __init__(self, tags: list[str], typed: dict[str, str], *, takes_figures: bool) -> None:
        super().__init__(id="vessels")
        self.tags, self.typed = tags, typed
        self.out: set[str] = set()
        self._takes_figures = takes_figures
        self._sheet = ActSheet()

    def on_mount(self) -> None:
        """Show the tags before anything is worked out."""
        self.show_sheet(self._sheet)

    def list_others(self, tags: list[str]) -> None:
        """List other vessels; what is typed for those that were listed before waits for their return."""
        if tags != self.tags:
            self.tags = tags
            self.show_sheet(ActSheet())

    def show_sheet(self, sheet: ActSheet) -> None:
        """Show what is worked out for each."""
        self._sheet = sheet
        found = {line.tag: line for line in sheet.lines}
        self.set_lines(len(self.tags), lambda index, width: self._line(self.tags[index], found, width))

    def _line(self, tag: str, found: dict[str, ActLine], width: int) -> Text:
        line = found.get(tag, ActLine(tag))
        is_here = self.has_focus and tag == self.current and self._takes_figures
        figure = f"{self.typed[tag]}{_CURSOR * is_here}" if self.typed.get(tag) else line.figure
        left_out = "left out" if tag in self.out else line.left_out
        mark = "▲" if line.refused else "-" if left_out else " "
        after = line.refused or left_out or ("typed" if self.typed.get(tag) else "")
        text = f"{mark} {tag:<{_TAG}} {'' if left_out else figure:>{_FIGURE}}  {after}"
        return Text(text if len(text) <= width else f"{text[: width - 1]}…", no_wrap=True)

    @property
    def current(self) -> str:
        """The tag under the cursor."""
        return self.tags[self.cursor] if self.cursor < len(self.tags) else ""

    def go_to(self, tag: str) -> bool:
        """Put the cursor on a vessel, if it is on the list."""
        if tag in self.tags:
            self.cursor = self.tags.index(tag)
        return tag in self.tags

    # --- typing -----------------------------------------------------------------------------------------------------

    def check_consume_key(self, key: str, character: str | None) -> bool:  # noqa: ARG002 - Textual's
        """Take what makes a figure; the minus leaves a vessel out."""
        return self._takes_figures and character is not None and character.isprintable() and character != "-"

    def on_key(self, event: events.Key) -> None:
        """Put a letter behind what is typed in the line, or take the last one away."""
        typed = self.typed.get(self.current, "")
        if event.key == "backspace":
            self._type(typed[:-1])
        elif self.check_consume_key(event.key, event.character):
            self.out.discard(self.current)
            self._type(typed + (event.character or ""))
        else:
            return
        event.stop()
        event.prevent_default()

    def on_paste(self, event: events.Paste) -> None:
        """Put what was pasted behind what is typed."""
        event.stop()
        if self._takes_figures:
            self._type(self.typed.get(self.current, "") + " ".join(event.text.split()))

    def _type(self, text: str) -> None:
        if not self.tags:
            return
        self.typed[self.current] = text
        self.refresh_line(self.cursor)
        self.post_message(self.Changed())

    def action_leave_out(self) -> None:
        """Leave the vessel out, or take it in again."""
        self.out ^= {self.current}
        self.typed.pop(self.current, None)
        self.post_message(self.Changed())

    def action_move(self, lines: int) -> None:
        """Move the cursor; past an end, to the field there."""
        at = self.cursor
        super().action_move(lines)
        if at == self.cursor and abs(lines) == 1:
            walk(self.screen, lines)

    def on_focus(self) -> None:
        """Show where typing goes."""
        self.refresh()

    def on_blur(self) -> None:
        """Take the sign of it away."""
        self.refresh()
