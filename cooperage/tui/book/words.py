"""Visits and entries of the book in lines, and what its check found."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from rich.style import Style
from rich.text import Text

from cooperage.blending.pour.kept_plan import plan_words
from cooperage.book.laws import Finding
from cooperage.book.words import done_words, entry_in_full
from cooperage.plaintext import visible
from cooperage.programme.visits import visit_acts, visit_words
from cooperage.tui.book.rows import BookRow
from cooperage.tui.keys import pressed
from cooperage.units import Units, counted, show_clock, show_moment

_WHEN = 12
_SHORTEST_HAND, _LONGEST_HAND, _LONGEST_TAG = 4, 12, 12
FOLDED, UNFOLDED, PART, ALONE = "▸ ", "▾ ", "  · ", "  "
"""What stands before the words of a row: more to unfold, unfolded, one entry of those, or a single one."""


@dataclass(frozen=True, slots=True)
class BookLines:
    """How the rows of the book are written: in whose units, seen when, and how wide the columns are."""

    units: Units
    now: datetime
    hand: int = _SHORTEST_HAND
    tag: int = 6

    @classmethod
    def wide_enough(cls, units: Units, now: datetime, rows: Iterable[BookRow]) -> "BookLines":
        """Return columns in which every hand and tag stands in full, or as far as a narrow screen has room."""
        entries = [entry for row in rows for entry in row.visit.entries]
        hand = max((len(entry.hand) for entry in entries), default=0)
        tag = max((len(entry.vessel or "") for entry in entries), default=0)
        return cls(
            units, now, max(_SHORTEST_HAND, min(hand, _LONGEST_HAND)), max(len("vessel"), min(tag, _LONGEST_TAG))
        )

    def head(self) -> str:
        """Return the heading of the columns."""
        return self._columns("when", "by", "vessel") + ALONE + "what"

    def line(self, row: BookRow, width: int, quiet: Style) -> Text:
        """Return a row: when, by whom, where, what; the quiet columns in quiet ink, what is struck struck through."""
        visit = row.visit
        if row.is_part and row.entry is not None:
            at, mark, words = f"{'':6} {show_clock(row.entry.happened_at)}", PART, done_words(row.entry, self.units)
            columns = self._columns(at, "", "")
            is_struck = bool(row.entry.struck_by)
        else:
            columns = self._columns(show_moment(visit.at, self.now), visible(visit.hand), visit.vessel or "")
            mark = UNFOLDED if row.is_unfolded else FOLDED if row.can_unfold else ALONE
            room = width - len(columns) - len(mark)
            words = visit_words(visit, self.units, seen_from=visit.vessel or "", room=room)
            is_struck = visit.is_struck
        text = Text(columns + mark, style=quiet if is_struck else "", no_wrap=True)
        if not is_struck:
            text.stylize(quiet, 0, _WHEN + 2 + self.hand)
        text.append(words)
        text.truncate(width, overflow="ellipsis")
        return text

    def _columns(self, when: str, hand: str, tag: str) -> str:
        hand, tag = hand[: self.hand], tag[: self.tag]
        return f"{when:<{_WHEN}}  {hand:<{self.hand}}  {tag:<{self.tag}}  "


def in_full(row: BookRow, units: Units, now: datetime) -> list[str]:
    """Return all about an entry; of a visit of several, each act in a line, and how to see each in full."""
    if row.entry is not None:
        return entry_in_full(row.entry, units, plan_words)
    visit = row.visit
    by = f" by {visible(visit.hand)}" if visit.hand else ""
    much = counted(len(visit.entries), "entry", "entries")
    how = "each in a row below" if row.is_unfolded else f"{pressed('right')} shows each in a row of its own"
    return [f"{visit.vessel}, {show_moment(visit.at, now).strip()}{by}: {much}; {how}", *visit_acts(visit, units)]


def law_lines(findings: list[Finding]) -> list[str]:
    """Return what each check found."""
    broken = sum(bool(finding.broken) for finding in findings)
    head = (
        f"The book is in order: {counted(len(findings), 'check')} passed."
        if not broken
        else f"{broken} of {counted(len(findings), 'check')} FAILED:"
    )
    return [head, *(line for finding in findings for line in _law(finding))]


def _law(finding: Finding) -> Iterator[str]:
    yield f"{'FAILED' if finding.broken else 'ok    '}  {finding.counted:>7} checked  {finding.law}"
    yield from (f"        {line}" for line in finding.broken)
