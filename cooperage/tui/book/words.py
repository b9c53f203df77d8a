"""Entries of the book in lines, and what its check found."""

from collections.abc import Iterator

from cooperage.book.laws import Finding
from cooperage.book.log import Entry
from cooperage.book.words import entry_words
from cooperage.units import Units, show_when

_LINE = "{:<16}  {:<8} {}"
BOOK_HEAD = _LINE.format("when", "hand", "what")


def book_line(entry: Entry, units: Units) -> str:
    """Tell an entry in one line: when, by whom, what; a struck one says so first."""
    return _LINE.format(show_when(entry.happened_at), entry.hand[:8], entry_words(entry, units, short=True))


def law_lines(findings: list[Finding]) -> list[str]:
    """Tell what each law found."""
    broken = sum(bool(finding.broken) for finding in findings)
    head = (
        f"All {len(findings)} laws of the book hold."
        if not broken
        else f"{broken} of {len(findings)} laws {'is' if broken == 1 else 'are'} BROKEN:"
    )
    return [head, *(line for finding in findings for line in _law(finding))]


def _law(finding: Finding) -> Iterator[str]:
    yield f"{'BROKEN' if finding.broken else 'holds '}  {finding.counted:>7} looked at  {finding.law}"
    yield from (f"        {line}" for line in finding.broken)
