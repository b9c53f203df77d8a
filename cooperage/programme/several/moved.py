"""What an act comes to once it is written or rehearsed: what it moves, in litres, and the words for it."""

from collections.abc import Mapping

from cooperage.book import Act, Written
from cooperage.book.declared.acts import KINDS, faces, figure_of
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.places import OUTSIDE_IDS
from cooperage.book.replay.events import Move
from cooperage.book.words import value_words
from cooperage.book.writing.write import words_of
from cooperage.units import DEFAULT, Quantity, Units, show


def main_ml(written: Written) -> int | None:
    """Return what an entry moves for its own sake [ml]: between vessels, or else the first; None for no move."""
    between = [move for move in written.moves if not _ends_outside(move)]
    chosen = between or list(written.moves)
    return chosen[0].ml if chosen else None


def expected_words(written: Written, units: Units = DEFAULT) -> str:
    """Return what an act comes to, to be held against what came: an amount that is added, else what is moved."""
    figure, said = figure_of(KINDS[written.act.kind]), words_of(written.act)
    if figure is not None and figure.holds is Holds.AMOUNT:
        return value_words(written.act.kind, said, figure.name, units)
    ml = main_ml(written)
    return "" if ml is None else show(Quantity.VOLUME, ml, units)


def figures_words(written: Mapping[str, Written], units: Units = DEFAULT) -> str:
    """Return what is moved in all, and of each where there are several: "45.0 L (B-1 25.0, B-2 20.0)"."""
    moved = {tag: ml for tag, each in written.items() if (ml := main_ml(each)) is not None}
    if not moved:
        return ""
    whole = show(Quantity.VOLUME, sum(moved.values()), units)
    each = ", ".join(f"{tag} {show(Quantity.VOLUME, ml, units, with_unit=False)}" for tag, ml in moved.items())
    return whole if len(moved) == 1 else f"{whole} ({each})"


def own_figure(act: Act, written: Written | None = None, units: Units = DEFAULT) -> str:
    """Return the figure that a vessel has of its own in an act on several: litres moved, an amount, a value."""
    kind, said = KINDS[act.kind], words_of(act)
    found = [(declared.name, face) for declared, face in faces(kind) if face == figure_of(kind)]
    if not found or found[0][1].choices:
        return ""
    name, face = found[0]
    ml = None if written is None else main_ml(written)
    if face.holds is Quantity.VOLUME and face.moved and ml is not None:
        return show(Quantity.VOLUME, ml, units)
    return "" if said.get(name) is None else value_words(kind.kind, said, name, units)


def _ends_outside(move: Move) -> bool:
    return move.source in OUTSIDE_IDS or move.destination in OUTSIDE_IDS
