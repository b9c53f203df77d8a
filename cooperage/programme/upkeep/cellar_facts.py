"""The facts of the cellar as people type them, for the form and the command."""

from collections.abc import Mapping
from typing import Any

from cooperage.book import Book
from cooperage.book.declared.from_text import BadField
from cooperage.book.facts import FACTS, Facts, facts_of, read_fact, set_fact
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Units


def cellar_facts(book: Book) -> Facts:
    """Return the facts as the cellar has them."""
    with book.reading() as connection:
        return facts_of(connection)


def parse_facts(texts: Mapping[str, str], units: Units = DEFAULT) -> dict[str, Any]:
    """Return facts from texts by key, None where a blank lets the default stand; raises BadField."""
    return {key: _parse(key, text.strip(), units) for key, text in texts.items()}


def _parse(key: str, text: str, units: Units) -> Any:  # noqa: ANN401 - as many types as facts
    if not text:
        return None
    try:
        return read_fact(FACTS[key], text, units)
    except BadInput as error:
        raise BadField(key, error.words(units)) from error


def change_facts(book: Book, changes: Mapping[str, Any]) -> list[str]:
    """Give facts of the cellar, all of them or none; None lets a default stand again. Returns their keys."""
    with book.writing() as session:
        for key, value in changes.items():
            set_fact(session.connection, FACTS[key], value)
    return list(changes)
