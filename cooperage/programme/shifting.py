"""Carrying a vessel to another position: who stands there already, and what to mind when lifting."""

from dataclasses import replace

from cooperage.book import Book, Cellar, Standing, Written, acts
from cooperage.book.registry import Position
from cooperage.errors import AskedBack
from cooperage.units import DEFAULT, Quantity, Units, show


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
    tag = cellar[act.vessel].tag
    others = [s.tag for s in stands_at(cellar, (act.room, act.row, act.bay, act.tier)) if s.tag != tag]
    if others and not (sure or act.sure):
        raise PlaceTaken(tag, others[0])
    return book.write(replace(act, sure=act.sure or sure))


_GEAR = (
    "Use gear rated for the load, block it against rolling, strap what is stacked, keep everybody from under it, and "
    "follow your local rules."
)


def lifting_caution(standing: Standing, units: Units = DEFAULT) -> str:
    """Return what to mind when this vessel is lifted and stacked (common practice, no source)."""
    if standing.ml == 0:
        return f"{standing.tag} is empty and still heavy enough to crush. {_GEAR}"
    held = show(Quantity.VOLUME, standing.ml, units)
    return f"{standing.tag} holds {held}, far too heavy for hands. {_GEAR}"
