"""Text of any length to scroll through, wrapped to the room there is; other text moves nothing around it."""

import re
from collections.abc import Callable, Hashable, Sequence

from rich.text import Text
from textual.geometry import Size
from textual.widget import Widget

from cooperage.tui.shared.line_list import Lines
from cooperage.units.scales import SCALES

_HANGS = 2
_HELD = "\ue000"
"""Stands for a blank that no row ends at."""
_LABELS = {unit.written("").strip() for scale in SCALES.values() for unit in scale.units} - {""}
_BEFORE_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(map(re.escape, sorted(_LABELS)))}|[A-Z]{{3}})(?:\W|$))")
_MOST_KNOWN = 128
"""Texts about different things that are kept wrapped."""


class Wrapped(Lines):
    """Lines of text, each as long as it likes; the arrows and pages scroll. The scroll bar keeps its place."""

    DEFAULT_CSS = "Wrapped { overflow-y: scroll; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._texts: Sequence[Text] = ()
        self._rows: list[Text] = []
        self._about: Hashable = None
        self._known: dict[Hashable, tuple[Sequence[Text], list[Text]]] = {}

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
        self._about = None
        self._texts = _texts(lines)
        self.scroll_to(y=0, animate=False, force=True)
        self.lines_changed()

    def show_of(self, about: Hashable, lines: Callable[[int], Sequence[str | Text]]) -> None:
        """Show what `lines(width)` returns, from its beginning; wrapped and drawn once for each thing it is `about`.

        `about` is what the lines hang on besides the width and the theme; `forget_known` where it is that no longer.
        """
        width = self.scrollable_content_region.width
        key, before = (about, width, self.app.theme), self._rows
        if key == self._about and not self.scroll_offset.y:
            return
        if key not in self._known:
            if len(self._known) >= _MOST_KNOWN:
                self.forget_known()
            texts = _texts(lines(width))
            self._known[key] = texts, _wrapped(texts, width, self)
        self._about = key
        self._texts, self._rows = self._known[key]
        self.scroll_to(y=0, animate=False, force=True)
        self._show_rows(before)

    def forget_known(self) -> None:
        """Forget what was shown of anything: it may be other things now."""
        self._known.clear()
        self._about = None
        self.forget_drawn()

    def drawn_as(self, y: int) -> Hashable:
        """Return a row of what is shown, for that stays as it was drawn."""
        return self._about, y

    def lines_changed(self) -> None:
        """Wrap the text to the room there is; only what differs is drawn again, nothing is laid out."""
        before = self._rows
        self._rows = _wrapped(self._texts, self.scrollable_content_region.width, self)
        self._about = None
        self.forget_drawn()
        self._show_rows(before)

    def _show_rows(self, before: Sequence[Text]) -> None:
        """Draw the rows there are; of those there were `before` only what differs."""
        size = Size(self.scrollable_content_region.width, len(self._rows))
        is_same_size = size == self.virtual_size
        self.set_reactive(Widget.virtual_size, size)
        if self.is_mounted and not is_same_size:
            self._scroll_update(size)  # the bar is as long as there is text
        if self.scroll_offset.y:
            self.show_all()
            return
        for y in range(self.scrollable_content_region.height):
            if _differ(before[y : y + 1], self._rows[y : y + 1]):
                self.show_lines(y)

    @property
    def line_count(self) -> int:
        """How many lines there are, wrapped."""
        return len(self._rows)

    def line(self, y: int, width: int) -> Text:  # noqa: ARG002 - they are wrapped already
        """Return one line."""
        return self._rows[y]


def _texts(lines: Sequence[str | Text]) -> list[Text]:
    return [line if isinstance(line, Text) else Text(line) for line in lines]


def _differ(before: Sequence[Text], now: Sequence[Text]) -> bool:
    """Return True if a row, or that there is none, is drawn otherwise than before."""
    return [(row, row.style) for row in before] != [(row, row.style) for row in now]


def _wrapped(texts: Sequence[Text], width: int, widget: Widget) -> list[Text]:
    return [row for text in texts for row in rows_of(text, width, widget)]


def rows_of(text: Text, width: int, widget: Widget) -> Sequence[Text]:
    """Return a text as the rows it takes in a width; of a line that is set in, what follows hangs below its words."""
    if not text.plain or width <= 0:
        return [text]
    inset = len(text.plain) - len(text.plain.lstrip())
    if inset and len(text.plain) > width > 3 * inset:
        hung = _wrap(text[inset:], width - inset - _HANGS, widget)
        return [_set_in(row, inset + (_HANGS if nth else 0)) for nth, row in enumerate(hung)]
    wrapped = _wrap(text, width, widget)
    for row in wrapped:
        row.no_wrap = True
    return wrapped


def _wrap(text: Text, width: int, widget: Widget) -> list[Text]:
    """Return a text in rows; a figure and its unit stay in one."""
    held = text.copy()
    held.plain = _BEFORE_UNIT.sub(_HELD, text.plain)
    rows = list(held.wrap(widget.app.console, width))
    for row in rows:
        row.plain = row.plain.replace(_HELD, " ")
    return rows


def _set_in(row: Text, columns: int) -> Text:
    """Return a row set in by so many columns."""
    shown = Text(" " * columns, no_wrap=True).append_text(row)
    shown.no_wrap = True
    return shown
