"""Letters set in rows above an axis, each with the role of its colour: what charts are drawn on, in any place."""

from collections.abc import Iterable, Sequence

from cooperage.programme.page.ticks import even_rows

GUTTER = 8
"""Columns left of what is drawn: the values of the axis, and the axis."""

Letter = tuple[str, str]
"""A letter, or letters, and the role of their colour."""


class LetterGrid:
    """Letters in rows, the highest first, above an axis; set one over the other.

    Of the rows given so many are used that the labels have even distances.
    """

    def __init__(self, columns: int, rows: int, ticks: Sequence[tuple[float, str]]) -> None:
        self.columns, self.rows = columns, even_rows(rows, len(ticks))
        self._low, self._high = ticks[0][0], ticks[-1][0]
        self._letters: list[list[Letter]] = [[(" ", "ink")] * columns for _ in range(self.rows)]
        self._labels = {self.row(value): words for value, words in ticks}

    def row(self, value: float) -> int:
        """Return the row in which a value lies, the first or the last if it is beyond them."""
        share = (value - self._low) / (self._high - self._low)
        return min(self.rows - 1, max(0, round((1 - share) * (self.rows - 1))))

    def set(self, column: int, row: int, letter: str, role: str) -> None:
        """Set a letter; beyond the sheet nothing is set."""
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self._letters[row][column] = (letter, role)

    def put(self, column: int, row: int, words: str, role: str) -> None:
        """Set words, from a column on."""
        for nth, letter in enumerate(words):
            self.set(column + nth, row, letter, role)

    def lines(self, along: Iterable[tuple[int, str]]) -> list[list[Letter]]:
        """Return the rows in their axes, each in runs of one role.

        `along` are columns with what stands below them, where there is room.
        """
        lines = []
        for nth, letters in enumerate(self._letters):
            axis = "┤" if nth in self._labels else "│"
            lines.append([(f"{self._labels.get(nth, ''):>{GUTTER - 2}} ", "quiet"), (axis, "rule"), *runs(letters)])
        lines.append([(" " * (GUTTER - 1), "ink"), ("└" + "─" * self.columns, "rule")])
        lines.append([(" " * GUTTER + _spread(along, self.columns), "quiet")])
        return lines


def runs(letters: Sequence[Letter]) -> Iterable[tuple[str, str]]:
    """Yield letters of one role after the other as one text, with the role."""
    run, role = "", ""
    for letter, its in letters:
        if its != role and run:
            yield run, role
            run = ""
        run, role = run + letter, its
    if run:
        yield run, role


def _spread(along: Iterable[tuple[int, str]], columns: int) -> str:
    """Set words at their columns; what would touch the words before, or reach beyond the end, is left out."""
    line = ""
    for column, words in along:
        if (not line or column >= len(line) + 2) and column + len(words) <= columns:
            line = f"{line:<{column}}{words}"
    return line
