"""What goes wrong with files: each line names the file, the line and the column, and what to do."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from cooperage.errors import AskedBack, BadInput, CooperageError, Refused
from cooperage.plaintext import visible
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


_MOST_NAMED, _MOST_FOUND = 8, 500


class ManyProblems(BadInput):
    """Several things that are wrong with files, by file and line; the first few are named, a line each."""

    has_lines = True

    def __init__(self, problems: Sequence[CooperageError]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.words(DEFAULT))

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return how many there are, and the first of them in the person's units."""
        count, shown = len(self.problems), self.problems[:_MOST_NAMED]
        many = f"more than {_MOST_FOUND}" if count > _MOST_FOUND else str(count)
        more = [f"and {count - len(shown)} more"] if count > len(shown) else []
        return "\n".join(
            [f"{many} problems; nothing was imported", *(visible(each.words(units)) for each in shown), *more]
        )


class ManyRefused(ManyProblems):
    """Several rows, each of them understood, that are against a rule of the book."""

    exit_status = Refused.exit_status


class Problems:
    """Collects what is wrong with files, so that a person sees all of it at once."""

    def __init__(self) -> None:
        self.found: list[CooperageError] = []

    @contextmanager
    def noting(self) -> Iterator[None]:
        """Note what is raised instead of raising it; of very many, raise those found so far."""
        try:
            yield
        except CooperageError as error:
            self.note(error)

    def note(self, error: CooperageError) -> None:
        """Note one; raises ManyProblems where there are very many."""
        self.found.append(error)
        if len(self.found) > _MOST_FOUND:
            self.raise_found()

    def raise_found(self) -> None:
        """Raise what was found: one as it is, several as one error in the order of their lines; nothing for none."""
        if len(self.found) == 1:
            raise self.found[0]
        if self.found:
            files = list(dict.fromkeys(_place(each)[0] for each in self.found))
            in_order = sorted(self.found, key=lambda each: (files.index(_place(each)[0]), _place(each)[1]))
            is_refused = all(each.exit_status == Refused.exit_status for each in self.found)
            raise (ManyRefused if is_refused else ManyProblems)(in_order)


def _place(error: CooperageError) -> tuple[str, int]:
    """Return the file and the line that an error names, as far as it names them."""
    return getattr(error, "file", ""), getattr(error, "line", 1)


class InTheWay(Refused):
    """Something that is there already and would be overwritten."""


class NotCopied(Refused):
    """A copy that does not hold what it was copied from."""
