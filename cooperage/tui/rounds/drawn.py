"""The list of stops and the card of the one at hand, as they are drawn: on a key only the lines that differ."""

from collections.abc import Hashable
from typing import ClassVar

from rich.style import Style
from textual.binding import BindingType
from textual.content import Content
from textual.geometry import Region
from textual.strip import Strip
from textual.visual import Visual
from textual.widget import Widget

from cooperage.tui.kept_rows import KeptRows
from cooperage.tui.keys import bound, rebind
from cooperage.tui.shared.ink import pointer
from cooperage.tui.shared.line_list import LineList


class StopList(LineList):
    """The stops in walking order, walked with the arrows when it has the keys itself; Enter goes back to the line."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        rebind(self, bound("enter", "take", "to the line"))

    @property
    def current_style(self) -> Style:
        """Nothing quieter while the cursor is in the line: what is typed there is about this stop."""
        return pointer(self.app)


_MOST_KEPT = 128


class CardLines(KeptRows, Widget):
    """Shows a card, line by line; cards that were drawn are kept while the colours and the width stay."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._card = Content("")
        self._drawn: dict[object, tuple[Content, list[Strip]]] = {}  # the card too, for its id must not be another's

    def show_card(self, card: Content) -> None:
        """Show a card; what is the same in both is not drawn again."""
        if card is self._card:
            return
        before, self._card = self._strips, card
        now, width = self._strips, self.content_size.width
        differ = [y for y in range(max(len(before), len(now))) if before[y : y + 1] != now[y : y + 1]]
        if differ:
            self.refresh(Region(0, differ[0], width, 1 + differ[-1] - differ[0]))

    def drawn_row(self, y: int) -> Hashable:
        """Return a row of the card."""
        return id(self._card), y

    def render(self) -> Content:
        """Return the card as it stands."""
        return self._card

    @property
    def _strips(self) -> list[Strip]:
        width, theme = self.content_size.width, self.app.theme
        if not width:
            return []
        key = id(self._card), width, theme
        if key not in self._drawn:
            if len(self._drawn) >= _MOST_KEPT:
                self._drawn.clear()
                self.forget_drawn()
            height = self._card.get_height({}, width)
            strips = Visual.to_strips(self, self._card, width, height, self.visual_style, pad=True)
            self._drawn[key] = self._card, strips
        return self._drawn[key][1]

    def render_line(self, y: int) -> Strip:
        """Return one line of the card."""
        strips = self._strips
        return strips[y] if y < len(strips) else Strip.blank(self.content_size.width, self.rich_style)
