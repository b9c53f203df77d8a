"""Rows of `vocabulary.csv`: the attributes and tasting words that the cellar changed or used, both ways."""

from collections.abc import Iterator

from sqlalchemy import Connection, select

from cooperage.book import Writing
from cooperage.book.declared.spelling import folded
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import TERM
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import VOCABULARY
from cooperage.exchange.tables.sheets import Row
from cooperage.tasting.flights.starter import INTENSITY
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, Term, checked_term, keep_term, vocabulary_in

_BETWEEN = "; "


class Terms:
    """The vocabulary of the book and that of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {term.id: term for term in vocabulary_in(session.connection)}
        self._kept = set(session.connection.execute(select(TERM.c.id)).scalars())

    def add(self, row: Row) -> bool:
        """Write a term; return whether it was new, or changes one that is shipped. Raises BadCell, AlreadyThere."""
        term = self._read(row)
        named = [
            each
            for each in self._there.values()
            if each.kind == term.kind and each.id != term.id and folded(each.name) == folded(term.name)
        ]
        if named and "id" not in row.cells:
            return False
        if named or (term.id in self._kept and self._there[term.id] != term):
            raise AlreadyThere(term.kind, term.name)
        if term.id in self._kept:
            return False
        keep_term(self._session.connection, term)
        self._there[term.id] = term
        self._kept.add(term.id)
        return True

    def _read(self, row: Row) -> Term:
        values = row.values(VOCABULARY, self._clock)
        values["id"] = values.get("id") or self._session.new_id()
        values["formerly"] = tuple(filter(None, values.get("formerly", "").split(_BETWEEN)))
        if values["kind"] == ATTRIBUTE:
            values = {"part": "palate", "scale": INTENSITY} | values
        return checked_term(Term(**values))


def show_terms(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every term that stands in the book, by column name."""
    for row in connection.execute(select(TERM).order_by(TERM.c.kind, TERM.c.name)).mappings():
        values = dict(row) | {"is_fault": bool(row["is_fault"]), "formerly": _BETWEEN.join(row["formerly"])}
        yield {column.name: show_cell(column, values[column.fills]) for column in VOCABULARY}
