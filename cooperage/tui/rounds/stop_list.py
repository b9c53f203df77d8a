"""The list of stops: quiet while the line has the cursor, walked with the arrows when it has the keys itself."""

from typing import ClassVar

from rich.style import Style
from textual.binding import BindingType

from cooperage.tui.keys import bound, rebind
from cooperage.tui.shared.ink import pointer
from cooperage.tui.shared.line_list import LineList


class StopList(LineList):
    """The stops in walking order; Enter goes back to the line."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        rebind(self, bound("enter", "take", "to the line"))

    @property
    def current_style(self) -> Style:
        """Nothing quieter while the cursor is in the line: what is typed there is about this stop."""
        return pointer(self.app)
