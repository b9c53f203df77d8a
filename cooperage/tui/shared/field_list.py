"""The fields of a form in one widget: each a line with its label, its answer and its unit; one of them is in hand.

A form that mounted a label, a box and a hint for every field took longer to open than a dozen keys, and Tab restyled
half of it. Here only the answer in hand is edited, by what a box does; the others are text.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, ClassVar

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import BindingType
from textual.geometry import Offset, Region, Size
from textual.message import Message
from textual.reactive import Reactive, reactive
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Input
from textual.widgets.input import Selection

from cooperage.book import Cellar
from cooperage.book.declared.fields import Holds
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.desk import Desk
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.fields import LABEL, AskedField, FieldRow
from cooperage.tui.shared.ink import ink

_YES_OR_NO = {"y": "yes", "n": ""}


class FieldList(Input):
    """Asks several fields, one line each; what is typed goes into the one in hand.

    Tab and the arrows go from field to field. `box` is the width of an answer.
    """

    DEFAULT_CSS = """
    FieldList { height: auto; border: none; padding: 0; background: $board; overflow-x: hidden; overflow-y: auto;
        scrollbar-size-vertical: 1; }
    FieldList:focus { border: none; background-tint: $board 0%; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "choose", "choose"),
        bound("mark", "choose", "choose", show=False),
        bound("mark", "turn", "yes or no"),
        bound("next", "step(1)", "next field", show=True),
        bound("down", "step(1)", "next field"),
        bound("previous", "step(-1)", "previous field"),
        bound("up", "step(-1)", "previous field"),
    ]
    HEARS_LETTERS_ALONE: ClassVar = True
    value: Reactive[str] = reactive("", init=False, repaint=False)
    selection: Reactive[Selection] = reactive(Selection.cursor(0), init=False, repaint=False)
    _suggestion = reactive("", init=False, repaint=False)
    _cursor_visible = reactive(True, init=False, repaint=False)
    virtual_size = Reactive(Size(0, 0), layout=False)

    class Answered(Message):
        """Another answer stands in a field."""

        def __init__(self, row: FieldRow) -> None:
            super().__init__()
            self.row = row

    class Moved(Message):
        """Another field is in hand."""

    def __init__(
        self, asked: Iterable[tuple[AskedField, str]], cellar: Cellar, *, box: int = 30, id: str = "fields"
    ) -> None:
        super().__init__(id=id, validate_on=())
        self.cursor_blink = False  # a box that blinks is drawn twice a second
        self._initial_value = False
        self._box, self._left = box, 0
        self.rows: list[FieldRow] = []
        self.label = LABEL
        self._fill(asked, cellar)

    def ask(self, asked: Iterable[tuple[AskedField, str]], cellar: Cellar) -> None:
        """Ask other fields, with the first of them in hand."""
        self._fill(asked, cellar)
        self.scroll_to(y=0, animate=False, force=True)
        self.lines_changed()

    def _fill(self, asked: Iterable[tuple[AskedField, str]], cellar: Cellar) -> None:
        self.rows = [FieldRow(self, field, text, cellar) for field, text in asked]
        self.label = max(LABEL, *(cell_len(row.field.label) + 1 for row in self.rows))
        self.here = self.rows[0]
        self._take_up()

    @property
    def by_name(self) -> Mapping[str, FieldRow]:
        """The rows by the outside names of their fields."""
        return {row.field.name: row for row in self.rows}

    @property
    def shown(self) -> Sequence[FieldRow]:
        """The rows that are shown."""
        return [row for row in self.rows if row.display]

    # --- which field is in hand -------------------------------------------------------------------------------------

    def take(self, row: FieldRow) -> None:
        """Take a field in hand, with its answer selected."""
        before, self.here = self.here, row
        self._take_up()
        for each in {before, row}:
            self.row_changed(each)
        self._show_here()
        if before.kind != row.kind or before.field.holds != row.field.holds:
            self.refresh_bindings()
        if before is not row:
            self.post_message(self.Moved())

    def _take_up(self) -> None:
        """Let the box hold the answer in hand."""
        text = self.here.typed if self.here.kind == "text" else ""
        self.set_reactive(FieldList.value, text)
        self.set_reactive(FieldList.selection, Selection(0, len(text)))
        self.set_reactive(FieldList._suggestion, "")
        self._left = 0

    def _show_here(self) -> None:
        if self.is_mounted:
            self._keep_in_view()
            self.scroll_to_region(Region(0, self._top(self.here), 1, self.here.height(self._width)), animate=False)
            self.app.cursor_position = self.cursor_screen_offset

    def action_step(self, by: int) -> None:
        """Take the next field in hand, or the one before; past an end, what else takes keys, or the other end."""
        shown = self.shown
        to = shown.index(self.here) + by
        if not 0 <= to < len(shown) and len(self.screen.focus_chain) > 1:
            walk(self.screen, by)
        else:
            self.take(shown[to % len(shown)])

    def enter(self, by: int) -> None:
        """Take the first field in hand, or coming from behind the last."""
        self.take(self.shown[0 if by > 0 else -1])

    # --- answering --------------------------------------------------------------------------------------------------

    def answered(self, row: FieldRow) -> None:
        """Show another answer, and post that it changed."""
        if row is self.here and row.kind == "text" and row.typed != self.value:
            self.set_reactive(FieldList.value, row.typed)
            self.set_reactive(FieldList.selection, Selection.cursor(len(row.typed)))
            self._keep_in_view()
        self.row_changed(row)
        self.post_message(self.Answered(row))

    def _watch_value(self, value: str) -> None:
        if self.here.kind == "text":
            self._suggestion = self.here.whole(value)
            self.here.typed = value
            self.answered(self.here)
        self.selection = self.selection  # it may be longer than what is left

    def _watch_selection(self, selection: Selection) -> None:  # noqa: ARG002 - Textual's
        self.app.clear_selection()
        self._keep_in_view()
        self.app.cursor_position = self.cursor_screen_offset
        self.row_changed(self.here)

    def watch__suggestion(self) -> None:
        """Show what is proposed."""
        self.row_changed(self.here)

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Take letters where text is asked for."""
        return self.here.kind == "text" and super().check_consume_key(key, character)

    async def _on_key(self, event: events.Key) -> None:
        if self.here.kind == "text":
            return
        event.prevent_default()  # what a box does with letters
        if event.is_printable and event.character and event.character != " ":
            event.stop()
            self._typed_at_choice(event.character)

    def _typed_at_choice(self, letter: str) -> None:
        """Narrow the list of a choice by a letter that is typed there; answer yes or no by its first."""
        row = self.here
        if row.kind == "choice":
            self.action_choose(letter)
        elif letter.casefold() in _YES_OR_NO:
            row.complain("")
            row.set_text(_YES_OR_NO[letter.casefold()])
        else:
            row.complain(f"answer y or n; {pressed('mark')} turns it")

    def _on_paste(self, event: events.Paste) -> None:
        if self.here.kind != "text":
            event.prevent_default()

    def action_choose(self, letters: str = "") -> None:
        """Open the list of what may be chosen, narrowed by letters that were typed."""
        row = self.here

        def chosen(value: str | None) -> None:
            if value is not None:
                row.set_text(value)

        self.app.push_screen(Pick(row.field.label, row.answers, row.typed, letters=letters), chosen)

    def action_turn(self) -> None:
        """Turn yes into no."""
        self.here.complain("")
        self.here.set_text("" if self.here.text else "yes")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Offer a list where one is to choose from, and to turn what is yes or no."""
        return {"choose": "choice", "turn": "flag"}.get(action, self.here.kind) == self.here.kind

    # --- the mouse --------------------------------------------------------------------------------------------------

    async def _on_mouse_down(self, event: events.MouseDown) -> None:
        row = self._row_at(event.get_content_offset_capture(self).y)
        if row is not None and row is not self.here:
            self.take(row)
        if row is None or row.kind != "text":
            event.prevent_default()

    async def _on_click(self, event: events.Click) -> None:
        if self._row_at(event.get_content_offset_capture(self).y) is self.here:
            if self.here.kind == "choice":
                self.action_choose()
            elif self.here.kind == "flag":
                self.action_turn()

    def _cell_offset_to_index(self, offset: int) -> int:
        return super()._cell_offset_to_index(max(0, offset - self.label + cell_len(self.value[: self._left])))

    def _row_at(self, y: int) -> FieldRow | None:
        at = y + self.scroll_offset.y
        return next((row for row in self.shown if 0 <= at - self._top(row) < row.height(self._width)), None)

    # --- drawing ----------------------------------------------------------------------------------------------------

    @property
    def _width(self) -> int:
        return self.scrollable_content_region.width or 76

    def _top(self, row: FieldRow) -> int:
        above = self.shown
        return sum(each.height(self._width) for each in above[: above.index(row)]) if row in above else 0

    def _keep_in_view(self) -> None:
        """Show the part of a long answer where the cursor stands."""
        room = self.here.box(self._box, self._width) - 1
        self._left = min(self._left, self.cursor_position)
        while cell_len(self.value[self._left : self.cursor_position]) > room:
            self._left += 1

    @property
    def cursor_screen_offset(self) -> Offset:
        """Where the cursor stands on the screen."""
        x, y, _, _ = self.content_region
        at = cell_len(self.value[self._left : self.cursor_position])
        return Offset(x + self.label + at, y + self._top(self.here) - self.scroll_offset.y)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 - Textual's
        """Return how many lines the fields take."""
        return sum(row.height(width) for row in self.shown)

    def row_changed(self, row: FieldRow) -> None:
        """Draw one field again, and nothing else."""
        if self.is_mounted and row.display:
            top = self._top(row) - self.scroll_offset.y
            self.refresh(Region(0, top, self.size.width, row.height(self._width)))

    def lines_changed(self) -> None:
        """Draw all fields again; one may take more lines than before."""
        self._measure()
        self.clear_cached_dimensions()
        self.refresh(layout=True)

    def _measure(self) -> None:
        lines = self.get_content_height(self.size, self.app.size, self._width)
        self.set_reactive(Widget.virtual_size, Size(self._width, lines))

    def on_resize(self) -> None:
        """Keep to the new width."""
        self._measure()
        self._refresh_scrollbars()
        self._show_here()

    def on_focus(self) -> None:
        """Show where typing goes."""
        self.row_changed(self.here)

    def on_blur(self) -> None:
        """Take the sign of it away."""
        self.row_changed(self.here)

    def render_line(self, y: int) -> Strip:
        """Draw the line that is `y` lines below the top of the view."""
        width, at = self._width, y + self.scroll_offset.y
        for row in self.shown:
            if at < (height := row.height(width)):
                strip = Strip(self._line(row, at, width).render(self.app.console, end=""))
                return strip.adjust_cell_length(width).apply_style(self.rich_style)
            at -= height
        return Strip.blank(width, self.rich_style)

    def _line(self, row: FieldRow, at: int, width: int) -> Text:
        """Return a line of a row: its label and answer, or what was not understood."""
        line = Text(no_wrap=True, end="")
        if at:
            return line.append(" " * self.label + row.complaint_lines(width)[at - 1], ink(self.app, "ember"))
        line.append(row.field.label, Style(bold=True, underline=True) if row is self.here else None)
        line.append(" " * (self.label - line.cell_len))
        line.append_text(self._answer(row, row.box(self._box, width)))
        hint = row.hint_in(width)
        return line.append(f" {hint}" * bool(hint), ink(self.app, "quiet"))

    def _answer(self, row: FieldRow, room: int) -> Text:
        is_in_hand = row is self.here and self.has_focus
        plate = Style() if row.kind == "flag" else Style(bgcolor=self.app.theme_variables["lift"])
        if row.kind != "text":
            return _fitted(Text(row.words), room, plate + Style(reverse=is_in_hand or None))
        text = Text(row.typed) if row.typed else Text(row.example, ink(self.app, "quiet"))
        if is_in_hand:
            text = self._edited(text)[self._left :]
        return _fitted(text, room, plate, is_cut=not is_in_hand)

    def _edited(self, text: Text) -> Text:
        """Show what is proposed, what is selected, and the cursor."""
        if len(self._suggestion) > len(self.value) > 0:
            text.append(self._suggestion[len(self.value) :], ink(self.app, "quiet"))
        elif self.cursor_at_end or not self.value:
            text.append(" ")
        if not self.selection.is_empty:
            text.stylize(self.get_component_rich_style("input--selection"), *sorted(self.selection))
        at = self.cursor_position
        text.stylize(self.get_component_rich_style("input--cursor"), at, at + 1)
        return text


def _fitted(text: Text, room: int, style: Style, *, is_cut: bool = True) -> Text:
    """Return a text as wide as its room, on its plate; what is cut off is marked unless one can go there."""
    text.no_wrap, text.end = True, ""
    text.truncate(room, overflow="ellipsis" if is_cut else "crop", pad=True)
    text.stylize_before(style)
    return text


def walk(screen: Screen[Any], by: int) -> None:
    """Move the focus of a form one on or back; a list of fields is entered at the end that comes first."""
    entered = screen.focus_next() if by > 0 else screen.focus_previous()
    if isinstance(entered, FieldList):
        entered.enter(by)


def scanned_into(screen: Screen[Any], desk: Desk, text: str) -> Scanned:
    """Put a scanned tag into the field in hand if it asks for one, and go on; else refuse it there."""
    fields = screen.focused
    if not isinstance(fields, FieldList) or not desk.is_like_a_tag(text):
        return Scanned.LEFT
    row = fields.here
    if row.field.holds not in (Holds.TAG, Holds.PLACE, Holds.LOT):
        row.complain(f"{text} was scanned; {row.field.label} is asked for here")
        return Scanned.REFUSED
    row.set_text(text)
    if text not in desk.cellar and text not in desk.cellar.lots:
        row.complain(f"there is no {text} in the book")
        return Scanned.REFUSED
    row.complain("")
    fields.action_step(1)
    return Scanned.TAKEN
