"""The stock of bottles in lines, and the moves of one bottling."""

from collections import defaultdict
from collections.abc import Sequence

from cooperage.book.bottles import BottleHolding, BottleMove, place_words
from cooperage.tui.columns import ListedColumns, Row
from cooperage.units import Quantity, Units, counted, show, show_when

NONE_YET = "Nothing was bottled yet."
STOCK = ListedColumns(
    ("bottling", "bottle", "where", "who has them", "bottles", "volume"),
    ((3, 15), (5, 0), (3, 8), (2, 8), (1, 0)),
    frozenset((1, 4, 5)),
)
"""The list of the stock; how many there are stays in sight as long as it may."""


def stock_cells(held: BottleHolding, units: Units) -> Row:
    """Return the bottles of a bottling in one place and with one holder as a row of `STOCK`."""
    volume = show(Quantity.VOLUME, held.bottles * held.bottle_ml, units)
    return held.code, f"{held.bottle_ml} mL", place_words(held.place), held.holder, str(held.bottles), volume


def stock_sum(held: Sequence[BottleHolding], units: Units) -> str:
    """Return how many bottles are in the cellar's own hands, and what they hold."""
    here = [each for each in held if each.is_in_store]
    volume = show(Quantity.VOLUME, sum(each.bottles * each.bottle_ml for each in here), units)
    return f"{counted(sum(each.bottles for each in here), 'bottle')} in stock, {volume}" if held else ""


def move_lines(moves: Sequence[BottleMove]) -> dict[str, list[str]]:
    """Return how the bottles of each bottling got where they are, by its code, the newest first."""
    lines: dict[str, list[str]] = defaultdict(list)
    for move in reversed(moves):
        who = f", {move.to}" if move.to else ""
        paper = f", document {move.document}" if move.document else ""
        by = f"  by {move.hand}" if move.hand else ""
        went = f"{place_words(move.source)} → {place_words(move.destination)}"
        lines[move.code].append(f"{show_when(move.at)}  {counted(move.bottles, 'bottle')}  {went}{who}{paper}{by}")
    return lines
