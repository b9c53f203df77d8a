"""The flight under the cursor as text: wrapped and drawn once, so that walking the list draws nothing twice."""

from collections.abc import Callable, Hashable, Sequence

from rich.text import Text
from textual.strip import Strip

from cooperage.tui.shared.wrapped import Wrapped


class FlightView(Wrapped):
    """What is known of a flight, from its beginning; what was shown once is kept as it was drawn."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._kept: dict[Hashable, tuple[Sequence[Text], list[Text], dict[int, Strip]]] = {}
        self._strips: dict[int, Strip] = {}

    def show_of(self, about: Hashable, lines: Callable[[int], Sequence[str | Text]]) -> None:
        """Show what `lines(width)` returns; `about` is what that hangs on besides the width and the theme."""
        width = self.scrollable_content_region.width
        key = (about, width, self.app.theme)
        if key in self._kept:
            self._texts, self._rows, self._strips = self._kept[key]
            self.scroll_to(y=0, animate=False, force=True)
            self.rows_changed()
            return
        self._strips = {}
        self.show_text(*lines(width))
        self._kept[key] = self._texts, self._rows, self._strips

    def lines_changed(self) -> None:
        """Wrap the text again; what was drawn of it holds no more."""
        self._strips.clear()
        super().lines_changed()

    def render_line(self, y: int) -> Strip:
        """Draw a line, or show it as it was drawn."""
        index = y + self.scroll_offset.y
        if index not in self._strips:
            self._strips[index] = super().render_line(y)
        return self._strips[index]
