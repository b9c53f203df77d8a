"""What was found as lines of a list: cells, what a line is about, and what Enter and the keys of a trace mean on it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.trace import share_words
from cooperage.programme.batches.words import mass_words
from cooperage.programme.recall.asked import FORWARD
from cooperage.programme.recall.claims import LabelClaims
from cooperage.programme.recall.found import Recall, RecallRow
from cooperage.programme.recall.words import (
    claim_lines,
    dose_words,
    honey_words,
    kind_words,
    litres_words,
    place_words,
    row_words,
    stop_words,
    way_words,
)
from cooperage.tui.columns import ListedColumns
from cooperage.tui.keys import pressed
from cooperage.units import Quantity, Units, counted, show, show_day

WHOLE = "all of it"
_SHORT_NAME = 14
"""ListedColumns that a name is cut down to at most, before what it is to what is traced is left out."""


@dataclass(frozen=True, slots=True)
class ListedLine:
    """A line: its cells, the sentence for it, and what it leads to.

    `kind` is "vessel", "bottling", "lot", "entry", "hand", "subject" (what is traced itself), or "" for what leads
    nowhere; `code` names it.
    """

    cells: tuple[str, ...]
    words: str
    kind: str = ""
    code: str = ""


@dataclass(frozen=True, slots=True)
class ListedTable:
    """Lines under the titles of their columns."""

    columns: ListedColumns
    lines: Sequence[ListedLine]


NO_LINES = ListedTable(ListedColumns(()), ())


def table_of(found: Recall, units: Units) -> ListedTable:
    """Return the rows: what is traced, then a line a place."""
    is_forward = any(row.share_there is not None for row in found.rows)
    titles = ("", "what", "volume", "share", "share there" if is_forward else "days there", "day", "by")
    head = ("", WHOLE, litres_words(found.ml, units), "", "", "", "")
    lines = [ListedLine(head, whole_words(found, units), "subject"), *_lines(found, units)]
    yields = ((6, 0), (5, 0), (4, 0), (1, _SHORT_NAME), (0, 0))
    return ListedTable(ListedColumns(titles, yields, frozenset((2, 3, 4))), lines)


def _lines(found: Recall, units: Units) -> Iterator[ListedLine]:
    """Yield the rows, the honeys of lots after the lots."""
    yield from (_row_line(row, found, units) for row in found.of("lot"))
    for each in found.honeys:
        mass = "" if each.grams is None else mass_words(round(each.grams), units)
        share = share_words(each.fraction, units, digits=2)
        cells = ("honey", f"{each.called}, {each.lot}", litres_words(each.ml, units), share, mass, "", each.hand)
        yield ListedLine(cells, f"honey {honey_words(each, units)}", "lot", each.lot)
    yield from (_row_line(row, found, units) for row in found.rows if row.kind != "lot")


def _row_line(row: RecallRow, found: Recall, units: Units) -> ListedLine:
    there = row.days if row.share_there is None else row.share_there
    beside = "" if there is None else _days_or_share(row.days, row.share_there, units)
    cells = (
        kind_words(row, found),
        place_words(row),
        litres_words(row.ml, units),
        share_words(row.fraction, units, digits=2),
        beside,
        day_words(row.first, row.last),
        hands_words(row.hands),
    )
    kind = {"passed": "vessel", "lost": ""}.get(row.kind, row.kind)
    return ListedLine(cells, row_words(row, found, units), kind, row.place)


def _days_or_share(days: float | None, share: float | None, units: Units) -> str:
    return show(Quantity.DAYS, days, units) if share is None else share_words(share, units)


def whole_words(found: Recall, units: Units) -> str:
    """Return what is traced, which way, how much it is, and how many places it joins."""
    if found.direction == FORWARD:
        then = stop_words(found, units)
    else:
        then = "" if found.ml else f"it is empty now; {pressed('trace on')} shows what was in it"
    return f"{found.title}, {way_words(found)}: {counted_words(found, units)}{f'. {then}' if then else ''}"


def counted_words(found: Recall, units: Units) -> str:
    """Return how much is traced, and how many places it joins."""
    parts = [
        counted(len(found.of("bottling")), "bottling") if found.of("bottling") else "",
        counted(len(found.of("vessel")), "vessel") if found.of("vessel") else "",
        counted(len(found.of("lot")), "lot") if found.of("lot") else "",
        counted(len(found.hands), "hand"),
    ]
    return f"{litres_words(found.ml, units)}; {', '.join(part for part in parts if part)}"


def day_words(first: datetime | None, last: datetime | None) -> str:
    """Return the first and the last day, once where they are the same."""
    days = dict.fromkeys(show_day(each) for each in (first, last) if each is not None)
    return " to ".join(days)


def hands_words(hands: Sequence[str]) -> str:
    """Return the hands in a row."""
    return ", ".join(hand for hand in hands if hand)


def added_of(found: Recall, units: Units) -> ListedTable:
    """Return the additions on the way, each with the part of it that is in what is traced."""
    lines = []
    for dose in found.doses:
        substance = SUBSTANCES[dose.substance]
        amount = show(substance.quantity, dose.amount, units)
        part = share_words(dose.fraction, units)
        cells = (show_day(dose.at), dose.vessel, amount, substance.label, part, dose.hand)
        lines.append(ListedLine(cells, dose_words(dose, units), "entry", dose.entry))
    titles = ("day", "to", "amount", "of", "part in this", "by")
    return ListedTable(ListedColumns(titles, ((0, 0), (5, 0)), frozenset((2, 4))), lines)


def hands_of(found: Recall) -> ListedTable:
    """Return the hands that moved it, each with the places that it came to by them."""
    lines = []
    for hand in found.hands:
        rows = [row for row in found.rows if hand in row.hands]
        places = ", ".join(place_words(row) for row in rows)
        doses = sum(dose.hand == hand for dose in found.doses)
        counts = [counted(len(rows), "place"), counted(doses, "addition") if doses else ""]
        cells = (hand, ", ".join(each for each in counts if each), places)
        words = f"{hand}: {cells[1]}: {places or 'in between'}"
        lines.append(ListedLine(cells, words, "hand", hand))
    return ListedTable(ListedColumns(("by", "", "places")), lines)


def claims_of(claims: LabelClaims, units: Units) -> ListedTable:
    """Return what stands behind a label, a line each."""
    lines = [ListedLine((line.rstrip(),), line.strip()) for line in claim_lines(claims, units)]
    return ListedTable(ListedColumns(("",)), lines)
