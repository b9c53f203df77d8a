"""A vessel's visits, each in a line; Right unfolds the one under the cursor, Left folds it.

The first line is the heading; with the cursor on it, Left and Right go to the neighbours of the vessel instead.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from textwrap import wrap

from rich.text import Text

from cooperage.book.log import Entry
from cooperage.book.words import done_words
from cooperage.programme.visits import Visit, visit_words, visits
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.units import Units, show_date

_DATE = 11
_LONGEST_HAND = 10
_MORE, _STRUCK = " →", "STRUCK: "
_HINTS = ("   ← → neighbours; below, → unfolds a visit and ← folds it", "   ← → neighbours; below, → unfolds", "")


@dataclass(frozen=True, slots=True)
class _Row:
    """A line below the heading: a visit, or a row of the words of one entry of the visit above it."""

    visit: int
    entry: Entry | None = None
    words: str = ""


class History(LineList):
    """The visits of a vessel, newest first."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, takes=False)
        self._visits: Sequence[Visit] = ()
        self._open: set[str] = set()
        self._rows: list[_Row] = []
        self._tag, self._at, self._units = "", datetime.min, Units()
        self._hand = 0
        self._texts: dict[tuple[int, int], Text] = {}

    def show(self, entries: Sequence[Entry], tag: str, at: datetime, units: Units) -> None:
        """Show a vessel's entries, newest first, as they are to be read at a moment; another vessel's from its head."""
        if tag != self._tag:
            self.cursor = 0
            self._open.clear()
        before = self._at_hand
        self._tag, self._at, self._units = tag, at, units
        self._visits = visits(entries)
        self._hand = min(_LONGEST_HAND, max((len(visit.hand) for visit in self._visits), default=0))
        self._lay()
        if before is not None:  # what was written since stands above it
            self.cursor = next(
                (nth for nth, row in enumerate(self._rows, 1) if self._named(row) == before), self.cursor
            )

    @property
    def _at_hand(self) -> tuple[str, str, str] | None:
        """What the cursor is on, whatever comes to stand above it."""
        row = self._here
        return None if row is None else self._named(row)

    def _named(self, row: _Row) -> tuple[str, str, str]:
        return _key(self._visits[row.visit]), "" if row.entry is None else row.entry.id, row.words.removeprefix(_STRUCK)

    def _lay(self) -> None:
        """Set all lines: a visit, and below it what was done on it where it is unfolded."""
        self._texts.clear()
        self._rows = []
        for nth, visit in enumerate(self._visits):
            self._rows.append(_Row(nth))
            if _key(visit) in self._open:
                self._rows += [_Row(nth, entry, row) for entry in _done(visit) for row in self._in_full(entry)]
        self.set_lines(len(self._rows) + 1, self._line)

    def wait(self) -> None:
        """Show that the visits are on their way."""
        self._visits, self._rows, self._tag = (), [], ""
        self._texts.clear()
        self.cursor = 0
        self.set_lines(1, lambda _index, _width: Text("Visits: calculating", ink(self.app, "quiet")))

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """Keep to oneself that the cursor moved: nothing else on the page follows it."""
        event.stop()

    # --- unfolding ------------------------------------------------------------------------------------------------

    @property
    def _here(self) -> _Row | None:
        return self._rows[self.cursor - 1] if 0 < self.cursor <= len(self._rows) else None

    @property
    def is_at_head(self) -> bool:
        """True while the cursor is on the heading."""
        return self._here is None

    @property
    def entry_in_hand(self) -> Entry | None:
        """The entry under the cursor; None on the heading, and on a visit of several entries."""
        row = self._here
        if row is None or row.entry is not None:
            return None if row is None else row.entry
        there = self._visits[row.visit].entries
        return there[0] if len(there) == 1 else None

    def unfold(self) -> None:
        """Show every entry of the visit under the cursor, in full."""
        row = self._here
        if row is None or _key(self._visits[row.visit]) in self._open:
            return
        self._open.add(_key(self._visits[row.visit]))
        self._lay()

    def fold(self) -> None:
        """Show the visit under the cursor in one line again."""
        row = self._here
        if row is None or _key(self._visits[row.visit]) not in self._open:
            return
        self._open.discard(_key(self._visits[row.visit]))
        self._lay()
        self.cursor = 1 + next(nth for nth, each in enumerate(self._rows) if each.visit == row.visit)

    # --- drawing ----------------------------------------------------------------------------------------------------

    def _line(self, index: int, width: int) -> Text:
        if (index, width) not in self._texts:
            self._texts[index, width] = self._head(width) if index == 0 else self._written(self._rows[index - 1], width)
        return self._texts[index, width].copy()

    def _head(self, width: int) -> Text:
        text = Text(no_wrap=True).append(f"Visits {len(self._visits)}", ink(self.app, "ink", bold=True))
        hint = next(each for each in _HINTS if text.cell_len + len(each) <= width or not each)
        return text.append(hint, ink(self.app, "quiet"))

    def _written(self, row: _Row, width: int) -> Text:
        visit, app = self._visits[row.visit], self.app
        role = "quiet" if visit.is_struck or (row.entry is not None and row.entry.struck_by) else "ink"
        if row.entry is not None:
            return Text(f"{'':<{self._indent}}{row.words}", ink(app, role), no_wrap=True)
        text = Text(no_wrap=True).append(f"{show_date(visit.at, self._at):<{_DATE}} ", ink(app, role))
        text.append(f"{visit.hand[: self._hand]:<{self._hand}}  ", ink(app, "quiet"))
        words = visit_words(visit, self._units, seen_from=self._tag, room=width - text.cell_len)
        return text.append(_whole(words, width - text.cell_len), ink(app, role))

    @property
    def _indent(self) -> int:
        return _DATE + self._hand + 5

    def _in_full(self, entry: Entry) -> list[str]:
        """Return an entry in as many rows as it takes."""
        tag = "" if entry.vessel in (None, self._tag) else f"{entry.vessel}: "
        width = max(20, self.scrollable_content_region.width - self._indent)
        return wrap(f"{tag}{done_words(entry, self._units)}", width, subsequent_indent="  ")


def _key(visit: Visit) -> str:
    """Return what a visit goes by: its first entry, to which nothing later makes a difference."""
    return min((entry.happened_at, entry.id) for entry in visit.entries)[1]


def _whole(words: str, width: int) -> str:
    """Return words in a row; where they are too long, as many whole ones as there is room for, and that there are more.

    The arrow is the key that unfolds them.
    """
    return words if len(words) <= width else f"{wrap(words, max(1, width - len(_MORE)))[0]}{_MORE}"


def _done(visit: Visit) -> list[Entry]:
    """Return the entries of a visit in the order they were done, without strikes of what stands beside them."""
    here = {entry.id for entry in visit.entries}
    done = sorted(visit.entries, key=lambda entry: (entry.happened_at, entry.id))
    return [entry for entry in done if entry.strikes not in here]
