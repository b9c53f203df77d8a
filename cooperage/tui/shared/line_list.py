"""Lists of any length: only the lines in view are drawn."""

from collections.abc import Callable, Hashable, Iterable
from typing import ClassVar, Protocol, Self, runtime_checkable

from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.widgets import Static

from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.kept_rows import KeptRows
from cooperage.tui.keys import bound
from cooperage.tui.shared.ink import pointer

_WIDEST_COPY = 400


@runtime_checkable
class HasCopy(Protocol):
    """What has something under its cursor to copy."""

    @property
    def copied(self) -> str:
        """The text that is copied."""


class Lines(KeptRows, ScrollView, can_focus=True):
    """A scrolling column of one-line texts, drawn when they come into view and kept as drawn until they change."""

    DEFAULT_CSS = "Lines { overflow-x: hidden; overflow-y: auto; scrollbar-size-vertical: 1; }"

    @property
    def line_count(self) -> int:
        """How many lines there are."""
        return 0

    def line(self, y: int, width: int) -> Text:  # noqa: ARG002 - what subclasses need
        """Return one line."""
        return Text("")

    def is_current(self, y: int) -> bool:  # noqa: ARG002 - what subclasses need
        """Return True if the pointer is on the line."""
        return False

    def lines_changed(self) -> None:
        """Draw everything again."""
        self._take_length(Size(self.scrollable_content_region.width, self.line_count))
        self.refresh()

    def _take_length(self, length: Size) -> None:
        """Take another length; where it changes no room, the screen is laid out only where a scroll bar comes or goes.

        Textual would lay it out for every length, and once more for the bar.
        """
        if self.styles.auto_dimensions:
            self.virtual_size = length
        elif length != self.virtual_size:
            self.set_reactive(Lines.virtual_size, length)
            self._scroll_update(length)

    # --- what was drawn ---------------------------------------------------------------------------------------------

    def drawn_as(self, y: int) -> Hashable:
        """Return what a line as it is drawn now is known by; its text stays the same until it is refreshed."""
        return y, self.is_current(y)

    def refresh(self, *regions: Region, repaint: bool = True, layout: bool = False, recompose: bool = False) -> Self:
        """Draw again; all lines afresh unless `regions` are given, which are shown as they were drawn."""
        if not regions:
            self.forget_drawn()
        return super().refresh(*regions, repaint=repaint, layout=layout, recompose=recompose)

    def refresh_lines(self, y_start: int, line_count: int = 1) -> None:
        """Draw some lines afresh."""
        self.forget_drawn()
        self.show_lines(y_start, line_count)

    def refresh_line(self, y: int) -> None:
        """Draw a line afresh."""
        self.refresh_lines(y)

    def show_lines(self, y: int, line_count: int = 1) -> None:
        """Show some lines as they are drawn now, where `drawn_as` differs: their text has not changed."""
        self.refresh(Region(0, y - self.scroll_offset.y, max(self.virtual_size.width, self.size.width), line_count))

    def show_all(self) -> None:
        """Show all lines likewise."""
        self.refresh(self.size.region)

    def drawn_row(self, y: int) -> Hashable:
        """Return how a row of the widget is drawn: as a line, or as what is around them."""
        row = y - self.styles.gutter.top
        index = row + self.scroll_offset.y
        is_line = 0 <= row < self.size.height and index < self.line_count
        return ("line", self.drawn_as(index)) if is_line else ("row", y)

    def on_resize(self) -> None:
        """Keep to the new width."""
        self.lines_changed()

    def render_line(self, y: int) -> Strip:
        """Draw the line that is `y` lines below the top of the view."""
        index, width = y + self.scroll_offset.y, self.scrollable_content_region.width
        if index >= self.line_count:
            return Strip.blank(width, self.rich_style)
        text = self.line(index, width)
        if not text.spans and text.style:  # Rich draws a text of one style only without it
            text.stylize(text.style)
        strip = Strip(text.render(self.app.console, end="")).adjust_cell_length(width)
        under = self.rich_style + self.current_style if self.is_current(index) else self.rich_style
        return strip.apply_style(under)

    @property
    def current_style(self) -> Style:
        """What is laid under the pointer's line; quieter where the keys go elsewhere."""
        return pointer(self.app, has_keys=self.has_focus or not self.can_focus)

    def post_straight(self, message: Message) -> None:
        """Post a message straight to the nearest that handles it: on its way it would wake each room between."""
        handling = (node for node in self.ancestors_with_self if hasattr(node, message.handler_name))
        if (node := next(handling, None)) is not None:
            node.post_message(message)

    def show_line(self, y: int) -> None:
        """Scroll to a line, with two lines of context around it."""
        self.scroll_to_region(Region(0, max(0, y - 2), 1, 5), animate=False, force=True)


class LineList(Lines):
    """A list to walk with the arrows; Enter opens a line."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "move(-1)", "line up"),
        bound("down", "move(1)", "line down"),
        bound("page up", "page(-1)"),
        bound("page down", "page(1)"),
        bound("first", "move(-1000000)"),
        bound("last", "move(1000000)"),
        bound("enter", "take", "open"),
    ]
    cursor = reactive(0, repaint=False)

    class Moved(Message, bubble=False):
        """The cursor stands on another line."""

        def __init__(self, lines: "LineList", index: int) -> None:
            super().__init__()
            self.lines, self.index = lines, index

        @property
        def control(self) -> "LineList":
            """The list."""
            return self.lines

    class Taken(Moved, bubble=True):
        """Enter was pressed on a line, or it was clicked twice."""

    def __init__(self, *, id: str | None = None, can_focus: bool = True, takes: bool = True) -> None:
        super().__init__(id=id)
        self.can_focus = can_focus
        for aside in ("left", "right"):  # Textual's own, which never moves here, would keep a screen's from the bar
            self._bindings.key_to_bindings.pop(aside, None)
        self._takes = takes
        self._count = 0
        self._draw: Callable[[int, int], Text] = lambda _index, _width: Text("")
        self._drawn: dict[tuple[int, int], Text] = {}

    def set_lines(self, count: int, draw: Callable[[int, int], Text]) -> None:
        """Show `count` lines; `draw(index, width)` is called for a line when it comes into view."""
        is_as_long = count == self._count
        self._count, self._draw = count, draw
        self.cursor = min(self.cursor, max(0, count - 1))
        self.forget_drawn()
        if is_as_long:
            self._refresh_what_differs()
        else:
            self.lines_changed()

    def _refresh_what_differs(self) -> None:
        """Draw only the lines whose text differs: drawing a line takes longer than making its text."""
        width, height = self.scrollable_content_region.size
        first = self.scroll_offset.y
        for y in range(first, min(first + height, self._count)):
            before, now = self._drawn.get((y, width)), self._draw(y, width)
            if before is None or (before, before.style) != (now, now.style):
                self.refresh_line(y)

    @property
    def copied(self) -> str:
        """The line under the cursor, in full."""
        return self._draw(self.cursor, _WIDEST_COPY).plain.strip() if self._count else ""

    @property
    def line_count(self) -> int:
        """How many lines there are."""
        return self._count

    def line(self, y: int, width: int) -> Text:
        """Draw one line, and remember it."""
        drawn = self._drawn[y, width] = self._draw(y, width)
        return drawn

    def lines_changed(self) -> None:
        """Draw everything again."""
        self._drawn.clear()
        super().lines_changed()

    def is_current(self, y: int) -> bool:
        """The pointer is on the cursor's line."""
        return y == self.cursor

    def validate_cursor(self, cursor: int) -> int:
        """Keep the cursor on the list."""
        return max(0, min(cursor, self._count - 1))

    def watch_cursor(self, before: int, cursor: int) -> None:
        """Scroll to the cursor's line and post `Moved`."""
        self.show_lines(before)
        self.show_lines(cursor)
        self.show_line(cursor)
        self.post_straight(self.Moved(self, cursor))

    def action_move(self, lines: int) -> None:
        """Move the cursor."""
        self.cursor += lines

    def action_page(self, pages: int) -> None:
        """Move the cursor by what is in view."""
        self.cursor += pages * max(1, self.scrollable_content_region.height - 1)

    def action_take(self) -> None:
        """Post `Taken` for the cursor's line."""
        if self._count:
            self.post_message(self.Taken(self, self.cursor))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Offer Enter only where a line can be opened."""
        return self._takes or action != "take"

    def on_click(self, event: events.Click) -> None:
        """Put the cursor on the clicked line; a second click opens it."""
        index = event.y + self.scroll_offset.y
        if index < self._count:
            self.cursor = index
            if event.chain == 2:
                self.action_take()


class ColumnList(LineList):
    """A list in columns under their titles, laid out for the room there is; `head` selects what shows the titles."""

    def __init__(self, head: str, *, id: str, takes: bool = True) -> None:
        super().__init__(id=id, takes=takes)
        self._head = head
        self._columns, self._rows = ListedColumns(()), tuple[Row, ...]()
        self._inked: Callable[[int, Text], Text] = lambda _index, text: text

    def set_rows(
        self, columns: ListedColumns, rows: Iterable[Row], inked: Callable[[int, Text], Text] | None = None
    ) -> None:
        """Show rows; `inked(index, text)` colours one when it comes into view."""
        self._columns, self._rows = columns, tuple(rows)
        self._inked = inked or (lambda _index, text: text)
        self._lay_out()

    def _lay_out(self) -> None:
        rows, inked = self._rows, self._inked
        bar = self.styles.scrollbar_size_vertical if len(rows) > self.size.height else 0  # it may not stand there yet
        fitted = self._columns.fitted(rows, self.size.width - bar)
        self.screen.query_one(self._head, Static).update(fitted.head(), layout=False)
        self.set_lines(len(rows), lambda at, _width: inked(at, Text(fitted.line(rows[at]), no_wrap=True)))

    def on_resize(self) -> None:
        """Lay the columns out for the new width."""
        self._lay_out()
