"""Several acts written as one, and struck as one."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from cooperage.book import Book, Writing, Written
from cooperage.book.declared import acts
from cooperage.book.log import written_together
from cooperage.programme.several.proposed import Meant
from cooperage.programme.together import write_as_one


def write_several(
    book: Book, meant: Meant, *, sure: bool = False, before: Callable[[], None] | None = None
) -> list[Written]:
    """Write what is meant in one transaction, or nothing; `before` is called once the book takes it, before it holds.

    Raises what `write_as_one` does.
    """

    def also(_session: Writing, _written: Sequence[Written]) -> None:
        if before is not None:
            before()

    return write_as_one(book, meant.acts, sure=sure, doubts=meant.doubts, also=also)


def strike_together(book: Book, strike: acts.Strike) -> list[Written]:
    """Strike an entry and all that was written as one act with it and still stands, the last one first.

    An entry that was written by itself is struck alone. Raises what a strike does.
    """
    with book.writing() as session:
        found = session.find_entry(strike.entry)
        ids = written_together(session.connection, found.id)
        if not ids:
            return [session.write(replace(strike, entry=found.id))]
        return [session.write(replace(strike, entry=entry_id)) for entry_id in ids]
