"""What is drawn for a change: the lines it touches, of the widgets that are seen there.

Textual asks every widget in view for all its lines whatever is to be drawn, which takes most of the time of a key that
moves a pointer by one line.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import Any, TypeVar

from textual._compositor import ChopsUpdate, Compositor, ReflowResult
from textual.app import App
from textual.events import ScreenResume
from textual.geometry import Region, Size
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

T = TypeVar("T")

_Line = dict[int, Strip | None]
"""What is drawn of a line, by the column where each piece begins; None where nothing is yet."""

_Wanted = tuple[tuple[int, int], Sequence[int]]
"""Columns, from and to, and lines."""


class LeanCompositor(Compositor):
    """Draws as Textual does, front to back, and asks no widget for a line that is not wanted or is covered."""

    _columns: Mapping[int, tuple[int, int]] | None = None
    """For a change, the columns from and to that it touches of each line: beside them nothing is drawn."""

    def reflow(self, parent: Widget, size: Size) -> ReflowResult:
        """Lay out, and let each widget know its size: from Textual it asks to be laid out again for that."""
        found = super().reflow(parent, size)
        for widget, at in self.layers:
            widget._size_updated(at.region.size, at.virtual_size, at.container_size, layout=False)
        return found

    def render_partial_update(self) -> ChopsUpdate | None:
        """Return what has changed."""
        columns: dict[int, tuple[int, int]] = {}
        for region in self._dirty_regions:
            for y in region.line_range:
                begin, end = columns.get(y, region.column_span)
                columns[y] = min(begin, region.x), max(end, region.right)
        self._columns = columns
        try:
            return super().render_partial_update()
        finally:
            self._columns = None

    def _render_chops(self, crop: Region, is_rendered_line: Callable[[int], bool]) -> Sequence[Mapping[int, Strip]]:
        lines: list[_Line] = [dict.fromkeys(cuts[:-1]) for cuts in self.cuts]
        wanted = [y for y in crop.line_range if is_rendered_line(y)]
        for widget, (region, clip) in self.visible_widgets.items():
            seen = region.intersection(clip)
            if part := seen.intersection(crop):
                inside = [y for y in wanted if part.y <= y < part.bottom]
                self._draw(widget, region, seen, (part.column_span, inside), lines)
        return lines  # type: ignore[return-value] # whole where it was wanted

    def _draw(self, widget: Widget, region: Region, seen: Region, wanted: _Wanted, lines: list[_Line]) -> None:
        """Draw the lines of a widget where pieces of what is wanted have been drawn by nothing before it."""
        columns, inside = wanted
        touched = dict.fromkeys(inside, columns) if self._columns is None else self._columns
        left, right = seen.column_span
        cuts = {y: [cut for cut in self.cuts[y] if left <= cut <= right] for y in inside}
        open_at = [y for y, at in cuts.items() if _is_open(lines[y], at, touched[y])]
        if not open_at:
            return
        first, last = open_at[0], open_at[-1]
        strips = widget.render_lines(Region(seen.x - region.x, first - region.y, seen.width, last - first + 1))
        for y in open_at:
            pieces = strips[y - first].divide([cut - left for cut in cuts[y][1:]])
            for cut, piece in zip(cuts[y], pieces, strict=False):
                if lines[y][cut] is None:
                    lines[y][cut] = piece


def _is_open(line: _Line, cuts: Sequence[int], columns: tuple[int, int]) -> bool:
    """Return True if a piece between cuts that lies in some columns has been drawn by nothing yet."""
    begin, end = columns
    return any(line[cut] is None for cut, after in pairwise(cuts) if cut < end and after > begin)


def begin_leanly(screen: Screen[Any], app: App[Any]) -> None:
    """Let a screen that is not up yet draw only what is wanted of it, and be styled once.

    Textual styles it again for how wide the terminal is, and reads all style sheets again for it.
    """
    screen._compositor = LeanCompositor()
    wide = screen._get_breakpoint_classes(app.size.width, screen.HORIZONTAL_BREAKPOINTS or [])
    screen.update_classes(dict.fromkeys(wide, True), update=False)
    if all(app.stylesheet.has_source(str(path), "") for path in screen.css_path):
        screen._css_update_count = app._css_update_count


def lay_out_at_rest(screen: Screen[Any], app: App[Any]) -> None:
    """Lay out and draw a screen that is mounted but not up: its first visit then shows what has not changed since.

    Scroll bars, which Textual styles when the focus first moves and lays the screen out again for, are styled before.
    """
    app.stylesheet.update(screen)
    screen._refresh_layout(app.size)
    screen._compositor.render_full_update()


class KeepsStyles(Screen[T]):
    """A screen that comes up in the styles it has: Textual takes all of them again, though no sheet has changed."""

    def _on_screen_resume(self, event: ScreenResume) -> None:
        event.refresh_styles = self._css_update_count != self.app._css_update_count
