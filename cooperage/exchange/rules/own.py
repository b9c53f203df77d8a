"""Rows of `rules.csv`, the cellar's own values of rules and the profile it works by, both ways."""

from collections.abc import Iterator

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import RULES
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.rules.kept import (
    PROFILE,
    NoSource,
    OwnRule,
    insert_own_rule,
    own_rules,
    profile_named,
    read_value,
    template_of,
)


class OwnRules:
    """The rules in the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in own_rules(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a rule; return whether it was new. Raises BadCell, BadInput, AlreadyThere."""
        made = self._read(row)
        there = self._there.get(made.id)
        if there is not None:
            if there != made:
                raise AlreadyThere("rule", f"{there.profile} {there.name}")
            return False
        insert_own_rule(self._session.connection, made)
        self._there[made.id] = made
        return True

    def _read(self, row: Row) -> OwnRule:
        values = row.values(RULES, self._clock)
        profile, name, value = profile_named(values["profile"]), values["name"], values.get("value")
        if name != PROFILE:
            figure = template_of(profile, name)
            name, value = figure.name, None if value is None else read_value(figure, value)
            if value is not None and not values.get("source", "").strip():
                raise NoSource
        return OwnRule(
            id=values.get("id") or self._session.new_id(),
            profile=profile,
            name=name,
            value=value,
            since=values["since"],
            source=values.get("source", ""),
            note=values.get("note", ""),
            hand=values.get("hand", ""),
            written_at=values.get("written_at") or self._session.now,
        )


def show_own_rules(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every rule that the cellar entered, oldest first."""
    for each in own_rules(connection):
        yield {column.name: show_cell(column, getattr(each, column.fills)) for column in RULES}
