"""Text of any length to scroll through, wrapped to the room there is; other text moves nothing around it."""

from collections.abc import Sequence

from rich.text import Text
from textual.geometry import Size
from textual.widget import Widget

from cooperage.tui.shared.line_list import Lines


class Wrapped(Lines):
    """Lines of text, each as long as it likes; the arrows and pages scroll. The scroll bar keeps its place."""

    DEFAULT_CSS = "Wrapped { overflow-y: scroll; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._texts: Sequence[Text] = ()
        self._rows: list[Text] = []

    @property
    def plain(self) -> str:
        """The text as it is, unwrapped."""
        return "\n".join(text.plain for text in self._texts)

    @property
    def copied(self) -> str:
        """All of it."""
        return self.plain

    def show_text(self, *lines: str | Text) -> None:
        """Show other text, from its beginning."""
        self._texts = [line if isinstance(line, Text) else Text(line) for line in lines]
        self.scroll_to(y=0, animate=False, force=True)
        self.lines_changed()

    def lines_changed(self) -> None:
        """Wrap the text to the room there is; only what differs is drawn again, nothing is laid out."""
        width, before = self.scrollable_content_region.width, self._rows
        self._rows = [row for text in self._texts for row in _wrapped(text, width, self)]
        self.rows_changed(before)

    def rows_changed(self, before: Sequence[Text] | None = None) -> None:
        """Draw the rows there are; of those there were `before` only what differs, without these all of them."""
        size = Size(self.scrollable_content_region.width, len(self._rows))
        is_same_size = size == self.virtual_size
        self.set_reactive(Widget.virtual_size, size)
        if self.is_mounted and not is_same_size:
            self._refresh_scrollbars()
        if before is None or self.scroll_offset.y:
            self.refresh()
            return
        for y in range(self.scrollable_content_region.height):
            if _differ(before[y : y + 1], self._rows[y : y + 1]):
                self.refresh_line(y)

    @property
    def line_count(self) -> int:
        """How many lines there are, wrapped."""
        return len(self._rows)

    def line(self, y: int, width: int) -> Text:  # noqa: ARG002 - they are wrapped already
        """Return one line."""
        return self._rows[y]


def _differ(before: Sequence[Text], now: Sequence[Text]) -> bool:
    """Return True if a row, or that there is none, is drawn otherwise than before."""
    return [(row, row.style) for row in before] != [(row, row.style) for row in now]


def _wrapped(text: Text, width: int, widget: Widget) -> Sequence[Text]:
    if not text.plain or width <= 0:
        return [text]
    wrapped = list(text.wrap(widget.app.console, width))
    for row in wrapped:
        row.no_wrap = True
    return wrapped
