"""A grid of letters in the colours of the screen, and bars of eighths of a letter."""

from collections.abc import Iterable

from rich.text import Text
from textual.app import App

from cooperage.programme.page.letter_grid import LetterGrid
from cooperage.tui.shared.ink import ink

_EIGHTHS = " ▁▂▃▄▅▆▇█"


class LetterSheet(LetterGrid):
    """A grid of letters that is shown in the colours of a screen."""

    def texts(self, app: App[object], along: Iterable[tuple[int, str]]) -> list[Text]:
        """Return the sheet in its axes; `along` are columns with what stands below them, where there is room."""
        lines = []
        for line in self.lines(along):
            text = Text(no_wrap=True)
            for letters, role in line:
                text.append(letters, ink(app, role))
            lines.append(text)
        return lines


def bar_letters(value: float, foot: float, head: float, rows: int) -> list[tuple[int, str]]:
    """Return the rows of an upright bar from the foot of an axis, the highest first, with their letters.

    It is as high as its value to an eighth of a row, at least one eighth where there is any.
    """
    share = min(1.0, max(0.0, (value - foot) / (head - foot)))
    eighths = max(round(8 * rows * share), int(value > foot))
    whole, part = divmod(eighths, 8)
    letters = [(rows - 1 - nth, "█") for nth in range(whole)]
    return [*([(rows - 1 - whole, _EIGHTHS[part])] if part and whole < rows else []), *letters[::-1]]
