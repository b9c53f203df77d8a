"""What makes barrels alike before a trial begins: blocks by row, past life, age, size; and what is tasted together."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from cooperage.book import Standing
from cooperage.book.declared.spelling import folded
from cooperage.errors import BadInput, choose_from
from cooperage.units import DEFAULT, Quantity, Units, show

ALL_IN_ONE = "all"
"""The one block of a trial without blocks."""
UNKNOWN = "unknown"


class NotABlocking(BadInput):
    """A word for blocks, or for treatments, that names nothing of a barrel."""

    def __init__(self, name: str) -> None:
        super().__init__(f"'{name}' is nothing that barrels differ in{choose_from(name, BLOCKINGS)}")


def _of_barrel(name: str) -> Callable[[Standing, Units], str | None]:
    def read(standing: Standing, _units: Units) -> str | None:
        found = getattr(standing.vessel.barrel, name, None)
        return None if found is None else str(found)

    return read


def _past(standing: Standing, _units: Units) -> str | None:
    barrel = standing.vessel.barrel
    if barrel is None or barrel.past_kind is None:
        return None
    return "new" if barrel.past_kind == "none" else barrel.past_kind


def _fills(standing: Standing, _units: Units) -> str | None:
    return None if standing.fill_number is None else f"fill {standing.fill_number}"


def _placed(at: int, label: str) -> Callable[[Standing, Units], str | None]:
    def read(standing: Standing, _units: Units) -> str | None:
        found = standing.position[at]
        return None if found is None else f"{label}{found}"

    return read


BLOCKINGS: Mapping[str, Callable[[Standing, Units], str | None]] = {
    "room": _placed(0, ""),
    "row": _placed(1, "row "),
    "tier": _placed(3, "tier "),
    "past": _past,
    "fills": _fills,
    "year": _of_barrel("year"),
    "size": lambda standing, units: show(Quantity.VOLUME, standing.vessel.capacity_ml, units),
    "wood": _of_barrel("wood"),
    "forest": _of_barrel("forest"),
    "toast": _of_barrel("toast_staves"),
    "cooper": _of_barrel("cooper"),
    "lot": lambda standing, _: next(iter(standing.lots), None),
}
"""What of a barrel can set blocks apart, or be a treatment itself, by the word for it; None is unknown."""


def kind_of(standing: Standing, name: str, units: Units = DEFAULT) -> str:
    """Return what a barrel is by one of these words, "unknown" where it is not written; raises NotABlocking."""
    if folded(name) not in BLOCKINGS:
        raise NotABlocking(name)
    return BLOCKINGS[folded(name)](standing, units) or UNKNOWN


def block_of(standing: Standing, names: Sequence[str], units: Units = DEFAULT) -> str:
    """Return the block of a barrel: what it is by all of these words together; raises NotABlocking."""
    return ", ".join(kind_of(standing, name, units) for name in names) or ALL_IN_ONE


def parted(blocks: Sequence[str], glasses: int) -> list[tuple[str, ...]]:
    """Part blocks into sittings of so many glasses at most; a block is tasted whole, however large it is.

    `blocks` names the block of each barrel. Treatments are compared within blocks, so nothing is lost by it.
    """
    parts: list[tuple[str, ...]] = []
    left = 0
    for block, size in Counter(blocks).items():
        if parts and size <= left:
            parts[-1] += (block,)
            left -= size
        else:
            parts.append((block,))
            left = glasses - size
    return parts
