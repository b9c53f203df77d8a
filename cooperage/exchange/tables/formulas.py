"""Text that a spreadsheet would run as a formula: marked in every file that goes out, and read back as it was.

The convention is that of OWASP, "CSV Injection" (cited from memory): a single quotation mark goes before a cell that
begins with = + - @, a tab, a carriage return or a line feed, or with the full-width forms of the four signs. Plain
numbers begin with a sign by right and are left alone.

So that any text comes back, a mark also goes before a text that looks marked already: marking adds one quotation mark
where the text is any number of them and then such a letter, and reading takes one away.
"""

import re

_LIVE = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_MARKED = re.compile(r"'+[=+\-@\t\r\n＝＋－＠]")
_NUMBER = re.compile(r"[+-][0-9]+([.,][0-9]+)?")


def marked(text: str) -> str:
    """Return the text as a file holds it: no spreadsheet takes it for a formula."""
    return f"'{text}" if _LIVE.match(text) and not _NUMBER.fullmatch(text) else text


def unmarked(text: str) -> str:
    """Return the text that was marked; one without a mark as it is."""
    return text[1:] if _MARKED.match(text) else text
