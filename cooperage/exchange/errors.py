"""What goes wrong with files: each line names the file, the line and the column, and what to do."""

from typing import Any

from cooperage.errors import AskedBack, BadInput, CooperageError, Refused
from cooperage.units import DEFAULT


class FileUnusable(BadInput):
    """A file or folder that cannot be read or written as a whole."""


class BadHeader(BadInput):
    """A header row that lacks a column, names one twice, or names one that is not known."""

    def __init__(self, file: str, why: str) -> None:
        self.file = file
        super().__init__(f"{file} line 1: {why}")


class Placed(CooperageError):
    """An error at a place in a file; `cause` is what was wrong there, in the person's units."""

    def __init__(self, file: str, line: int, column: str | None, cause: CooperageError) -> None:
        self.file, self.line, self.column, self.cause = file, line, column, cause
        super().__init__(self.words(DEFAULT))

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the place, and the cause in the person's units."""
        return self._at(self.cause.words(units))

    def _at(self, problem: str) -> str:
        where = f"{self.file} line {self.line}"
        return f"{where}, column {self.column}: {problem}" if self.column else f"{where}: {problem}"


class BadCell(Placed, BadInput):
    """A cell, or a row, that cannot be understood."""


class RefusedRow(Placed, Refused):
    """A row that is understood, and against a rule of the book."""


class AskedRow(RefusedRow, AskedBack):
    """A row that is possible but implausible; it goes through with yes in its column `sure`."""

    cause: AskedBack

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the place and the question, and how a file answers it."""
        question = self.cause.question(units).rstrip(".")
        return self._at(
            f"{question}{'' if question.endswith('?') else '.'} If this is right, write yes in the column sure."
        )


def placed(file: str, line: int, cause: CooperageError, column: str | None = None) -> Placed:
    """Give an error its place, and keep its family."""
    if isinstance(cause, AskedBack):
        return AskedRow(file, line, column, cause)
    kind = RefusedRow if isinstance(cause, Refused) else BadCell
    return kind(file, line, column, cause)


class InTheWay(Refused):
    """Something that is there already and would be overwritten."""


class NotCopied(Refused):
    """A copy that does not hold what it was copied from."""
