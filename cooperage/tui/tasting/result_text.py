"""The results of a flight to read: text that scrolls, with a pointer on the lines that are about a vessel."""

from collections.abc import Callable, Hashable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.binding import BindingType
from textual.message import Message

from cooperage.tui.keys import bound
from cooperage.tui.shared.wrapped import Wrapped, rows_of
from cooperage.tui.tasting.results import PointedRow, Row


class ResultText(Wrapped):
    """Lines of text in which the arrows go from vessel to vessel, and scroll where there is none further on."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "point(-1)", "line up"),
        bound("down", "point(1)", "line down"),
        bound("enter", "open_vessel", "open"),
    ]

    class Opened(Message):
        """Enter was pressed on a vessel."""

        def __init__(self, tag: str) -> None:
            super().__init__()
            self.tag = tag

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._pointed: dict[Hashable, dict[int, str | None]] = {}
        self._vessels: dict[int, str | None] = {}
        self._at = -1

    @property
    def vessel(self) -> str | None:
        """The vessel at the pointer; None where there is none."""
        return self._vessels.get(self._at)

    def show_rows(self, about: Hashable, lines: Callable[[int], Sequence[Row]]) -> None:
        """Show what `lines(width)` returns as `show_of` does; the pointer keeps its vessel, else takes the first."""
        width = self.scrollable_content_region.width
        key, before = (about, width), self._vessels

        def texts(width: int) -> list[str | Text]:
            rows = lines(width)
            plain = [row.text if isinstance(row, PointedRow) else row for row in rows]
            self._pointed[key] = self._places(rows, plain, width)
            return plain

        pointed = self.vessel
        self.show_of(about, texts)
        self._vessels = self._pointed.get(key, {})
        if self._vessels is not before:
            self._at = next((y for y, tag in self._vessels.items() if tag == pointed), next(iter(self._vessels), -1))
        if any(self._vessels.values()) != any(before.values()):
            self.refresh_bindings()

    def _places(self, rows: Sequence[Row], texts: Sequence[str | Text], width: int) -> dict[int, str | None]:
        """Return in which line each vessel stands, once the text is wrapped."""
        places, at = {}, 0
        for row, text in zip(rows, texts, strict=True):
            if isinstance(row, PointedRow):
                places[at] = row.vessel
            at += len(rows_of(text if isinstance(text, Text) else Text(text), width, self))
        return places

    def is_current(self, y: int) -> bool:
        """The pointer is on the line, while the keys go here."""
        return y == self._at and self.has_focus

    def drawn_as(self, y: int) -> Hashable:
        """Return a row of what is shown, and whether the pointer is on it."""
        return super().drawn_as(y), self.is_current(y)

    def on_focus(self) -> None:
        """Show the pointer."""
        self.show_lines(self._at)

    def on_blur(self) -> None:
        """Take it away."""
        self.show_lines(self._at)

    def action_point(self, by: int) -> None:
        """Go to the next vessel up or down; past the last, scroll."""
        further = [y for y in self._vessels if (y - self._at) * by > 0]
        if not further:
            self.scroll_relative(y=by, animate=False)
            return
        before, self._at = self._at, min(further, key=lambda y: abs(y - self._at))
        self.show_lines(before)
        self.show_lines(self._at)
        self.show_line(self._at)

    def action_open_vessel(self) -> None:
        """Post the vessel at the pointer."""
        if self.vessel is not None:
            self.post_message(self.Opened(self.vessel))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A vessel is opened where there is one."""
        return action != "open_vessel" or any(self._vessels.values())
