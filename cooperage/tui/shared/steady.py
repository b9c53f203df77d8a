"""Text that changes without moving what stands around it."""

from collections.abc import Hashable

from rich.text import Text
from textual.content import Content
from textual.css.scalar import Scalar
from textual.visual import VisualType
from textual.widget import Widget
from textual.widgets import Static

from cooperage.tui.kept_rows import KeptRows


class Steady(KeptRows, Static):
    """Text that lays the screen out again only where it takes another number of lines than before.

    To lay out a screen takes longer than all else that a key causes. The text is as wide as its room, never wider. What
    was shown before is kept as it was drawn, while the colours and the room stay.
    """

    _mark: Hashable = ""
    """What is shown is known by this."""

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Show other text; what is shown already is not drawn again."""
        mark = _known_by(content)
        if mark != self._mark:
            self._mark = mark
            super().update(content, layout=False)
            self.clear_cached_dimensions()
        if layout and self._wanted_height() != self.size.height:
            self.refresh(layout=True)

    def drawn_row(self, y: int) -> Hashable:
        """Return a row of what is shown."""
        return self._mark, y

    def _wanted_height(self) -> int:
        """Return how many lines the text takes, by its own styles; its present height where those fix it."""
        height, room = self.styles.height, self.parent
        if height is None or not height.is_auto or not self.content_size.width or not isinstance(room, Widget):
            return self.size.height if height is not None and not height.is_auto else -1
        wanted = self.get_content_height(room.size, self.app.size, self.content_size.width) + self.gutter.height
        return _clamped(wanted, self.styles.min_height, self.styles.max_height, room, self)


def _known_by(content: VisualType) -> Hashable:
    """Return what a text is known by, with all its styles; what is no text is like nothing else."""
    match content:
        case str():
            return content
        case Content():
            return content.plain, tuple(content.spans)
        case Text():
            return content.plain, tuple(content.spans), content.style, content.justify, content.overflow
    return object()


def _clamped(wanted: int, least: Scalar | None, most: Scalar | None, room: Widget, text: Widget) -> int:
    if most is not None:
        wanted = min(wanted, round(most.resolve(room.content_size, text.app.size)))
    if least is not None:
        wanted = max(wanted, round(least.resolve(room.content_size, text.app.size)))
    return wanted
