"""The rows above the line: what Enter would write, what was written, what is asked back."""

from collections.abc import Sequence

from textual.content import Content

from cooperage.errors import CooperageError
from cooperage.tui.shared.bars import StatusLine

_TALL = 24


class AnswerRows(StatusLine):
    """Two rows, three from 24 lines on; more only where what would be written takes more, for none of it is cut."""

    def show_rows(self, rows: Sequence[Content]) -> None:
        """Show some rows; the screen is laid out again only when they need more room than there is, or no longer do."""
        words = Content("\n").join([row for row in rows if row])
        self.set_class(False, "refused")
        height = max(self._usual, self.rows_of(words)) if words else self._usual
        if height != self.size.height:
            self.styles.height = height
        if words != self.content:
            self.update(words, layout=False)

    @property
    def _usual(self) -> int:
        return 3 if self.screen.size.height >= _TALL else 2

    def rows_of(self, words: Content) -> int:
        """Return how many rows some words take."""
        return words.get_height({}, max(1, self.content_size.width or self.screen.size.width - 2))

    def show_message(self, words: str) -> None:
        """Show a message."""
        self.show_rows([Content(words)])

    def refuse(self, error: CooperageError, words: str) -> None:
        """Show what was not done and why."""
        self.show_rows([refusal(error, words)])


def refusal(error: CooperageError, words: str) -> Content:
    """Return what was not done and why, after a mark and a word, since colour alone is not enough."""
    before = "▲ Refused: " if error.exit_status == 1 else "▲ "
    return Content.styled(f"{before}{words}", "bold $ember")
