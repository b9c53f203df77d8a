"""Rows of `facts.csv` and the facts of the cellar they are, both ways."""

from collections.abc import Iterator

from sqlalchemy import Connection

from cooperage.book.facts import FACTS, facts_of, read_fact, set_fact, show_fact, write_fact
from cooperage.errors import Refused
from cooperage.exchange.tables.cells import Clock
from cooperage.exchange.tables.columns import FACTS_OF_CELLAR
from cooperage.exchange.tables.sheets import Row


class FactDiffers(Refused):
    """A fact that the cellar has given already, and otherwise."""

    def __init__(self, key: str, there: str) -> None:
        self.key, self.there = key, there
        super().__init__(f"the cellar's {key} is {there} already; change it with `cooperage cellar`, or leave this out")


def add_fact(connection: Connection, row: Row, clock: Clock) -> bool:
    """Give the cellar the fact of a row; return whether it was new. Raises BadCell, FactDiffers."""
    values = row.values(FACTS_OF_CELLAR, clock)
    fact = FACTS[values["key"]]
    value, there = read_fact(fact, values["value"]), facts_of(connection)
    if fact.key in there.given:
        if there.values[fact.key] != value:
            raise FactDiffers(fact.key, show_fact(fact, there.values[fact.key]))
        return False
    set_fact(connection, fact, value)
    return True


def show_facts(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every fact that the cellar has given, by column name."""
    facts = facts_of(connection)
    for fact in FACTS.values():
        if fact.key in facts.given:
            yield {"fact": fact.key, "value": write_fact(fact, facts.values[fact.key])}
