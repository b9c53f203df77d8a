"""Carrying a vessel to another position: who stands there already, and who lies on it."""

from collections.abc import Sequence
from dataclasses import replace

from cooperage.book import Book, Cellar, Standing, Written
from cooperage.book.declared import acts
from cooperage.book.store.registry import Position
from cooperage.errors import AskedBack


class PlaceTaken(AskedBack):
    """A position where, by the book, another vessel stands; `also` is what else is asked of the same move."""

    def __init__(self, tag: str, there: str, also: str = "") -> None:
        self.tag, self.there = tag, there
        taken = f"{there} stands there by the book; {tag} would share its place until {there} is moved"
        super().__init__(f"{taken}. {also}" if also else taken)


class LiesUnder(AskedBack):
    """A vessel is lifted out from under others that, by the book, lie on it."""

    def __init__(self, tag: str, above: Sequence[str]) -> None:
        self.tag, self.above = tag, tuple(above)
        lie, is_lifted = ("lies", "Is it") if len(above) == 1 else ("lie", "Are they")
        super().__init__(f"{' and '.join(above)} {lie} on {tag}. {is_lifted} lifted first?")


def stands_at(cellar: Cellar, position: Position) -> list[Standing]:
    """List the vessels in a bay and tier of a row, in walking order; none where the bay is not known.

    A position without a tier is the floor, tier 1.
    """
    if position[2] is None:
        return []
    wanted = _place(position)
    return [s for s in cellar.in_walking_order() if not s.is_retired and _place(s.position) == wanted]


def lie_on(cellar: Cellar, tag: str) -> list[Standing]:
    """List the vessels on the tier above a vessel in its bay; none where its bay is not known."""
    room, row, bay, tier = cellar[tag].position
    return stands_at(cellar, (room, row, bay, (tier or 1) + 1))


def _place(position: Position) -> tuple[str, str, int | None, int]:
    room, row, bay, tier = position
    return (room or "").casefold(), (row or "").casefold(), bay, tier or 1


def shift(book: Book, cellar: Cellar, act: acts.Shift, *, sure: bool = False) -> Written:
    """Write a shift. Raises PlaceTaken or LiesUnder, unless sure, and what the book refuses."""
    act = replace(act, sure=act.sure or sure)
    ask_of_shift(cellar, act)
    return book.write(act)


def ask_of_shift(cellar: Cellar, act: acts.Shift) -> None:
    """Ask back a shift to where another vessel stands, or from under one. Raises PlaceTaken, LiesUnder, unless sure."""
    for asked in asked_of_shifts(cellar, [act]):
        raise asked


def asked_of_shifts(cellar: Cellar, shifts: Sequence[acts.Shift]) -> list[AskedBack]:
    """List what is asked back of shifts that happen together, one for each that wants a look.

    That is a place that another vessel has or gets, and others that lie on what is lifted. Those that go away
    themselves leave their places free and lie on nothing; a shift that is sure is not asked back.
    """
    going: dict[str, Position] = {cellar[act.vessel].tag: (act.room, act.row, act.bay, act.tier) for act in shifts}
    asked: list[AskedBack] = []
    for act in shifts:
        tag = cellar[act.vessel].tag
        there = [s.tag for s in stands_at(cellar, going[tag]) if s.tag not in going]
        if act.bay is not None:
            there += [other for other, to in going.items() if other != tag and _place(to) == _place(going[tag])]
        above = [s.tag for s in lie_on(cellar, tag) if s.tag not in going]
        is_moved = _place(cellar[tag].position) != _place(going[tag])
        under = [LiesUnder(tag, above)] if above and is_moved else []
        if not act.sure:
            asked += [PlaceTaken(tag, there[0], str(*under))] if there else under
    return asked
