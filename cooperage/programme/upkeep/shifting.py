"""Carrying a vessel to another position: who stands there already."""

from collections.abc import Sequence
from dataclasses import replace

from cooperage.book import Book, Cellar, Standing, Written
from cooperage.book.declared import acts
from cooperage.book.store.registry import Position
from cooperage.errors import AskedBack


class PlaceTaken(AskedBack):
    """A position where, by the book, another vessel stands."""

    def __init__(self, tag: str, there: str) -> None:
        self.tag, self.there = tag, there
        super().__init__(f"{there} stands there by the book; {tag} would share its place until {there} is shifted")


def stands_at(cellar: Cellar, position: Position) -> list[Standing]:
    """List the vessels in a bay and tier of a row, in walking order; none where the bay is not known.

    A position without a tier is the floor, tier 1.
    """
    if position[2] is None:
        return []
    wanted = _place(position)
    return [s for s in cellar.in_walking_order() if not s.is_retired and _place(s.position) == wanted]


def _place(position: Position) -> tuple[str, str, int | None, int]:
    room, row, bay, tier = position
    return (room or "").casefold(), (row or "").casefold(), bay, tier or 1


def shift(book: Book, cellar: Cellar, act: acts.Shift, *, sure: bool = False) -> Written:
    """Write a shift. Raises PlaceTaken, unless sure, and what the book refuses."""
    act = replace(act, sure=act.sure or sure)
    ask_if_taken(cellar, act)
    return book.write(act)


def ask_if_taken(cellar: Cellar, act: acts.Shift) -> None:
    """Ask back a shift to where another vessel stands. Raises PlaceTaken, unless the act is sure."""
    for taken in places_taken(cellar, [act]):
        raise taken


def places_taken(cellar: Cellar, shifts: Sequence[acts.Shift]) -> list[PlaceTaken]:
    """List what is asked back of shifts that happen together, one for each place that another vessel has or gets.

    Those that go away themselves leave their places free; a shift that is sure is not asked back.
    """
    going: dict[str, Position] = {cellar[act.vessel].tag: (act.room, act.row, act.bay, act.tier) for act in shifts}
    taken = []
    for act in shifts:
        tag = cellar[act.vessel].tag
        there = [s.tag for s in stands_at(cellar, going[tag]) if s.tag not in going]
        if act.bay is not None:
            there += [other for other, to in going.items() if other != tag and _place(to) == _place(going[tag])]
        if there and not act.sure:
            taken.append(PlaceTaken(tag, there[0]))
    return taken
