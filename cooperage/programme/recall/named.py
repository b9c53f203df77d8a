"""Whether a code names something that can be traced, found by an index: before a trace is begun."""

from cooperage.book import Book
from cooperage.book.store.registry import Registry
from cooperage.book.tracing.subject import subject_of


def check_named(book: Book, code: str) -> None:
    """Do nothing where a code can be traced; raises NothingToTrace, NoSuchEntry, StruckNotTraced."""
    with book.reading() as connection:
        subject_of(connection, Registry(connection), code)
