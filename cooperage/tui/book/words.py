"""Entries of the book in lines, and what its check found."""

from collections.abc import Iterator

from cooperage.book.laws import Finding
from cooperage.book.log import Entry
from cooperage.book.words import entry_words
from cooperage.units import Units, counted, show_when

_LINE = "{:<16}  {:<8} {}"
BOOK_HEAD = _LINE.format("when", "by", "what")


def book_line(entry: Entry, units: Units) -> str:
    """Return an entry in one line: when, by whom, what."""
    return _LINE.format(show_when(entry.happened_at), entry.hand[:8], entry_words(entry, units, short=True))


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
