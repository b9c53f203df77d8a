"""Acts that belong together: all of them are written, or none, and what the book asks back is asked all at once."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from cooperage.book import Act, Book, Writing, Written
from cooperage.book.errors import Implausible
from cooperage.units import Units

_TOLD = 4


class AskedTogether(Implausible):
    """Several acts that the book asks back about; one yes answers for all."""

    def __init__(self, questions: Sequence[Implausible]) -> None:
        self.questions = tuple(questions)
        super().__init__("")

    def question(self, units: Units) -> str:
        """Tell what is implausible, the first few in full."""
        told = [question.question(units) for question in self.questions[:_TOLD]]
        more = len(self.questions) - len(told)
        return "; ".join([*told, *([f"and {more} more like that"] if more else [])])


def write_together(
    book: Book,
    wanted: Iterable[Act],
    *,
    sure: bool = False,
    doubts: Sequence[Implausible] = (),
    also: Callable[[Writing], None] | None = None,
) -> list[Written]:
    """Write acts in one transaction, in order, and `also` what else belongs to them: all of it, or nothing.

    `doubts` are asked back together with what the book itself asks back, unless it is `sure`. Raises AskedTogether, and
    what `Book.write` raises.
    """
    written: list[Written] = []
    asked = [] if sure else list(doubts)
    with book.writing() as session:
        for act in wanted:
            try:
                written.append(session.write(replace(act, sure=act.sure or sure)))
            except Implausible as question:
                asked.append(question)
        if asked:
            raise AskedTogether(asked)
        if also is not None:
            also(session)
    return written
