"""Entries of the book in lines, and one entry in full."""

from collections.abc import Iterator, Mapping

from cooperage.book import Cellar
from cooperage.book.check import Finding
from cooperage.book.journal import Move, Observed
from cooperage.book.log import Entry
from cooperage.book.places import OUTSIDE
from cooperage.book.properties import PROPERTIES
from cooperage.tui.telling import entry_words
from cooperage.units import Quantity, Units, show, show_exact, show_when

_LINE = "{:<16}  {:<8} {}"
BOOK_HEAD = _LINE.format("when", "hand", "what")

_OUTSIDE = {place.value: told.label for place, told in OUTSIDE.items()}


def book_line(entry: Entry, units: Units) -> str:
    """Tell an entry in one line: when, by whom, what; a struck one says so first."""
    return _LINE.format(show_when(entry.happened_at), entry.hand[:8], entry_words(entry, units))


def entry_in_full(entry: Entry, cellar: Cellar, units: Units) -> list[str]:
    """Tell everything an entry says: what moved, what was read, by whom, done and written when, struck or not."""
    return list(_in_full(entry, cellar, units))


def _in_full(entry: Entry, cellar: Cellar, units: Units) -> Iterator[str]:
    yield (
        f"{entry.kind} {entry.vessel or ''}".rstrip()
        + f", done {show_when(entry.happened_at)} by {entry.hand or 'nobody named'}"
    )
    yield f"written {show_when(entry.written_at)}, id {entry.id}"
    if entry.struck_by:
        yield f"STRUCK by entry {entry.struck_by}: it counts no more"
    if entry.strikes:
        yield f"strikes entry {entry.strikes}, by its reverse:"
    lots = {lot.id: code for code, lot in cellar.lots.items()}
    yield from (_move(move, lots, units) for move in entry.moves)
    yield from (_reading(read, units) for read in entry.readings)
    if not entry.moves and not entry.readings:
        yield entry_words(entry, units)
    if entry.note:
        yield f"note: {entry.note}"


def _move(move: Move, lots: Mapping[str, str], units: Units) -> str:
    what = lots.get(move.lot or "", "") or (move.substance or "")
    of = f" of {what}" if what else ""
    source, destination = (_OUTSIDE.get(place, place) for place in (move.source, move.destination))
    return f"  {show_exact(move.ml, units):>10}{of}  {source} → {destination}"


def _reading(read: Observed, units: Units) -> str:
    declared = PROPERTIES[read.property]
    value = show(declared.quantity, read.value, units)
    sure = (
        show(declared.quantity, read.uncertainty, units, digits=3) if declared.quantity is not Quantity.VOLUME else ""
    )
    how = f", {read.method}" if read.method else ""
    return f"  {read.vessel}: {declared.label} {value}, give or take {sure}{how}"


def law_lines(findings: list[Finding]) -> list[str]:
    """Tell what each law found."""
    broken = sum(bool(finding.broken) for finding in findings)
    head = (
        f"All {len(findings)} laws of the book hold." if not broken else f"{broken} of {len(findings)} laws are BROKEN:"
    )
    return [head, *(line for finding in findings for line in _law(finding))]


def _law(finding: Finding) -> Iterator[str]:
    yield f"{'BROKEN' if finding.broken else 'holds '}  {finding.counted:>7} looked at  {finding.law}"
    yield from (f"        {line}" for line in finding.broken)
