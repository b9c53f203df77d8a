"""Text that a terminal and a page show as it was typed: what is refused at the door, and how old text is shown.

A control character moves the cursor, rings the bell or renames the window; a character that turns the direction of
writing shows another text than the one that is kept; an invisible one makes two tags that look alike. The joiners
U+200C and U+200D are let through: Persian, Sinhala and many others are misspelt without them, a terminal draws
nothing for them, and vessel tags and codes, where looking alike would matter, have a rule of their own.
"""

import re

from cooperage.errors import BadInput

_REFUSED = (
    "\x00-\x1f\x7f-\x9f"  # C0, DEL and C1 (general category Cc)
    "\u00ad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e"  # format characters (Cf), all but the joiners
    "\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"  # with the line and paragraph separators
    "\U000110bd\U000110cd\U00013430-\U0001343f\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f"
    "\ud800-\udfff"  # halves of a pair, which no UTF-8 holds
    "\ufdd0-\ufdef" + "".join(chr((plane << 16) + last) for plane in range(17) for last in (0xFFFE, 0xFFFF))
)
_ANY = re.compile(f"[{_REFUSED}]")
_ANY_BUT_NEWLINE = re.compile(f"(?!\n)[{_REFUSED}]")
_NEVER_KEPT = re.compile("[\x00\ud800-\udfff]")  # what UTF-8 cannot write, and what PostgreSQL cannot
_C0_NAMES = (
    "NUL SOH STX ETX EOT ENQ ACK BEL BS TAB LF VT FF CR SO SI",
    "DLE DC1 DC2 DC3 DC4 NAK SYN ETB CAN EM SUB ESC FS GS RS US",
)
_SHOWN_BEFORE = 12


class NotPlain(BadInput):
    """A text holds a character that a terminal or a page would not show as it was typed."""

    def __init__(self, what: str, text: str, at: int) -> None:
        self.what, self.text, self.at = what, text, at
        place = f"after '{visible(text[max(0, at - _SHOWN_BEFORE) : at])}'" if at else "at its beginning"
        super().__init__(f"{what} holds {_named(text[at])} {place}; type it without")


def refuse_controls(text: str, what: str, *, lines: bool = False) -> str:
    """Return `text` as it is, or raise NotPlain; `what` names it in the message ("the note").

    Only with `lines` may it hold line feeds.
    """
    found = (_ANY_BUT_NEWLINE if lines else _ANY).search(text)
    if found is not None:
        raise NotPlain(what, text, found.start())
    return text


def visible(text: str, *, lines: bool = False) -> str:
    r"""Return `text` with all that `refuse_controls` refuses put as a mark, such as `\x1b` or `<U+202E>`."""
    return (_ANY_BUT_NEWLINE if lines else _ANY).sub(_mark, text)


def can_be_kept(text: str) -> bool:
    """Return True if every database could keep a text at all: so it may be looked up there, however old the row."""
    return _NEVER_KEPT.search(text) is None


def json_escaped(written: str) -> str:
    r"""Return JSON text with the characters in it that would reach a terminal raw put as `\uXXXX`: still the same JSON.

    JSON itself escapes those below U+0020, but leaves DEL, C1 and what turns the direction of writing as they are.
    """
    return _ANY_BUT_NEWLINE.sub(_unit_escapes, written)


def _mark(found: re.Match[str]) -> str:
    code = ord(found.group())
    return f"\\x{code:02x}" if code < 0x100 else f"<U+{code:04X}>"


def _unit_escapes(found: re.Match[str]) -> str:
    units = found.group().encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))


def _named(character: str) -> str:
    code = ord(character)
    number = f"U+{code:04X}"
    if character == "\n":
        return f"a line break ({number})"
    if code < 0xA0:
        name = " ".join(_C0_NAMES).split()[code] if code < 0x20 else "DEL" if code == 0x7F else ""
        return f"a control character ({name}, {number})" if name else f"a control character ({number})"
    if 0xD800 <= code < 0xE000:
        return f"half of a character ({number})"
    return f"an invisible character ({number})"
