"""The text of an entry, the same in every report, command and screen.

It is built from the kind's own declaration (`acts.py`), so a field of a new kind appears wherever entries do: every
field that was given is in the text, in the person's units, once. A kind's `sentence` puts fields together, a field's
`phrase` puts it into words, and what the moves show already (`moved`) is not repeated. What a terminal would not show
as it was typed, in an old entry, is shown as a mark (`plaintext.py`).
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from cooperage.book.declared.acts import KINDS
from cooperage.book.declared.counts import Counts
from cooperage.book.declared.places import Outside
from cooperage.book.entry_text import EntryText, is_blank, kind_word
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import Entry
from cooperage.plaintext import visible
from cooperage.units import DEFAULT, Units, show_when

_NEVER = datetime.max.replace(tzinfo=UTC)
_MISSING = (Outside.EVAPORATED, Outside.SOAKED)


def entry_line(entry: Entry, units: Units = DEFAULT, *, seen_from: str = "", short: bool = False) -> str:
    """Return when, what, and by whom: "2026-10-03 14:30  top B-017: 1.8 L from K-01  (Ada)"."""
    hand = f"  ({visible(entry.hand)})" if entry.hand else ""
    return f"{show_when(entry.happened_at)}  {entry_words(entry, units, seen_from=seen_from, short=short)}{hand}"


def entry_words(entry: Entry, units: Units = DEFAULT, *, seen_from: str = "", short: bool = False) -> str:
    """Return what was done and the note, without when and by whom; a struck entry begins with STRUCK.

    Seen from a vessel's own page its tag is left out. `short` is for a line with little room: volumes are rounded as on
    any screen, and the names of outside places and long texts are cut; nothing is left out.
    """
    subject = "" if entry.vessel in (None, seen_from) else f" {entry.vessel}"
    text = what_was_done(entry, units, short=short)
    text += (", " if text and entry.note else "") + (f"“{entry.note}”" if entry.note else "")
    by = "" if short else f" by {(entry.struck_by or '')[:ID_LETTERS]}"
    struck = f"STRUCK{by}: " if entry.struck_by else ""
    return visible(f"{struck}{kind_word(entry.kind)}{subject}{': ' if text else ''}{text}")


def done_words(entry: Entry, units: Units = DEFAULT) -> str:
    """Return what a hand did, to be read beside when, who and the vessel: "topped 0.75 L from K-05", "pH 3.41".

    What a topping or filling made good is left out: it is no more than what had been missing. A struck entry begins
    with STRUCK.
    """
    kind = KINDS.get(entry.kind)
    done = entry.kind if kind is None else kind.done
    seen = entry
    if kind is not None and Counts.SEEN_FULL in kind.counts_as:
        seen = replace(entry, moves=[move for move in entry.moves if move.destination not in _MISSING])
    said = EntryText(seen, units, of_visit=True).phrases()
    text = " ".join(part for part in (done, ", ".join(said)) if part)
    note = f"“{entry.note}”" if entry.note else ""
    told_with = ", ".join(part for part in (text, note) if part) or kind_word(entry.kind)
    return visible(f"{'STRUCK: ' if entry.struck_by else ''}{told_with}")


def what_was_done(entry: Entry, units: Units = DEFAULT, *, short: bool = False) -> str:
    """Return an entry's fields, moves and readings, for places that show its kind, vessel and note beside it."""
    return visible(", ".join(EntryText(entry, units, short=short).phrases()))


def value_words(kind: str, said: Mapping[str, Any], name: str, units: Units = DEFAULT) -> str:
    """Return one field's value as text; empty where it is blank."""
    value = said.get(name)
    return "" if is_blank(value) else visible(EntryText(not_yet(kind, said), units).shown(name, value))


def not_yet(kind: str, said: Mapping[str, Any], vessel: str | None = None, note: str = "") -> Entry:
    """Return an entry that is not in the book, for its words: what it moves is not known yet."""
    return Entry("", kind, _NEVER, _NEVER, "", note, vessel, dict(said), None, None)


def entry_in_full(
    entry: Entry, units: Units = DEFAULT, document: Callable[[str, Units], list[str]] | None = None
) -> list[str]:
    """Return everything, line by line: by whom, done and written when, each field, move and reading, struck or not.

    `document` words a document that is kept with the entry; without it, it stands as it was written.
    """
    writer = EntryText(entry, units)
    struck = [f"CANCELLED: struck by entry {entry.struck_by}"] if entry.struck_by else []
    lines = [
        f"{kind_word(entry.kind)} {entry.vessel or ''}".rstrip()
        + f", done {show_when(entry.happened_at)}{f' by {entry.hand}' if entry.hand else ''}",
        f"written {show_when(entry.written_at)}, id {entry.id}",
        *struck,
        *writer.fields(),
        *writer.ledger(),
        *writer.instruments(),
        *writer.documents(document),
        *([f"note: {entry.note}"] if entry.note else []),
    ]
    return [visible(line, lines=True) for line in lines]
