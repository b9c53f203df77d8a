"""The lists of the day, and the lines about the row under the pointer: drawn once, and then only shown."""

from collections.abc import Callable, Hashable, Sequence

from rich.text import Text
from textual.geometry import Region

from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped

_AROUND = 2
"""Lines around the cursor's that stay in view."""


class DayList(LineList):
    """A list of the day; past its end the arrows go on to the next.

    `moved` is called when the cursor has moved, `viewed` when other lines are in view.
    """

    def __init__(self, moved: Callable[[], None], viewed: Callable[[], None], *, id: str) -> None:
        super().__init__(id=id)
        self._moved, self._viewed = moved, viewed

    @property
    def out_of_view(self) -> tuple[int, int]:
        """How many lines stand above and below those in view."""
        above = min(self.scroll_offset.y, self.line_count)
        return above, max(0, self.line_count - above - self.size.height)

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Call who shows what is out of view."""
        super().watch_scroll_y(old_value, new_value)
        self._viewed()

    def on_resize(self) -> None:
        """Keep the cursor's line in view."""
        super().on_resize()
        self.show_line(self.cursor)
        self._viewed()

    def show_line(self, y: int) -> None:
        """Scroll to a line, with as many around it as a low list has room for."""
        around = min(_AROUND, max(0, self.size.height - 1) // 2)
        self.scroll_to_region(Region(0, max(0, y - around), 1, 2 * around + 1), animate=False, force=True)

    def on_line_list_moved(self) -> None:
        """Call who waits for it."""
        self._moved()

    def action_move(self, lines: int) -> None:
        """Move the cursor, from an end to the list beside it."""
        at = self.cursor
        super().action_move(lines)
        if at == self.cursor and abs(lines) == 1:
            others = [each for each in self.screen.query(DayList) if each.line_count and each is not self]
            for other in others[:1]:
                other.cursor = 0 if lines > 0 else other.line_count - 1
                self.screen.set_focus(other)


def _with_more(lines: list[Text], height: int) -> list[Text]:
    """Return lines so that the last in view shows if there are more."""
    if not 0 < height < len(lines):
        return lines
    last = lines[height - 1].copy()
    last.right_crop(1)
    return [*lines[: height - 1], last.append("…")]


class PointedLines(Wrapped, can_focus=False):
    """Lines about what is under the pointer; the last in view shows if there are more."""

    DEFAULT_CSS = "PointedLines { overflow-y: hidden; }"

    def show(
        self, about: Hashable, make: Callable[[], Sequence[Text]], make_short: Callable[[], Sequence[Text]]
    ) -> None:
        """Show the lines about something, short ones where they find no room; made where they were not before."""
        height = self.scrollable_content_region.height

        def wrapped(lines: Sequence[Text], room: int) -> list[Text]:
            rows = (line.wrap(self.app.console, room) if line.plain else [line] for line in lines)
            return [part for parts in rows for part in parts]

        def lines(width: int) -> list[Text]:
            room = width or self.app.size.width
            found = wrapped(make(), room)
            if 0 < height < len(found):
                short = wrapped(make_short(), room)
                found = short if len(short) <= height else found
            return _with_more(found, height)

        self.show_of((about, height), lines)

    def render(self) -> Text:
        """Return all of it as one text."""
        return Text("\n").join(self._rows)
