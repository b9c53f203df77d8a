"""Rows of a widget that stay as they were drawn: to draw a row takes most of the time of a key, to show it none."""

from collections.abc import Hashable
from typing import TYPE_CHECKING

from textual.geometry import Region
from textual.strip import Strip

if TYPE_CHECKING:
    from textual.widget import Widget as Drawn
else:
    Drawn = object

_MOST_KEPT = 512


class KeptRows(Drawn):
    """A widget that draws each row once for what `drawn_row` returns for it, while its room and the colours stay."""

    _kept: dict[Hashable, Strip] | None = None
    _kept_for: Hashable = ()

    def drawn_row(self, y: int) -> Hashable:
        """Return what a row as it is to be drawn now is known by among all that were drawn there before."""
        raise NotImplementedError

    def forget_drawn(self) -> None:
        """Forget how rows were drawn: what `drawn_row` returns is no longer all that matters."""
        self._kept = None

    def notify_style_update(self) -> None:
        """Forget what was drawn in other styles."""
        self.forget_drawn()
        super().notify_style_update()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Draw the rows that were not drawn yet."""
        look = (crop.column_span, self.size, self.has_focus, self.app.theme)
        if self._kept is None or look != self._kept_for or len(self._kept) > _MOST_KEPT:
            self._kept, self._kept_for = {}, look
        kept, names = self._kept, [self.drawn_row(y) for y in crop.line_range]
        if missing := [nth for nth, name in enumerate(names) if name not in kept]:
            first, last = missing[0], missing[-1]
            strips = super().render_lines(Region(crop.x, crop.y + first, crop.width, 1 + last - first))
            kept.update((names[nth], strips[nth - first]) for nth in missing)
        return [kept[name] for name in names]
