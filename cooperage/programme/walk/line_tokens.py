"""A line typed at a stop as words, the signs that part it, and notes in quotes, each with its place in the line."""

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Token:
    """One word of the line, a sign that parts ("," or ";"), or a quoted note; `place` is where it stands."""

    text: str
    place: tuple[int, int]
    is_sign: bool = False
    is_note: bool = False


_TOKEN = re.compile(
    r"“(?P<curly>[^”]*)”?|(?<!\S)\"(?P<quoted>[^\"]*)\"?|(?P<sign>;|,(?!\d)|(?<!\d),)|(?P<word>(?:(?<=\d),(?=\d)|[^\s;,“])+)"
)
_SIGN_AFTER_A_NAME = re.compile(r"\d{4}-\d{2}-\d{2}T[\d:]+|(?<![\w:])\d{1,2}:\d{2}(?![\w:])|[:=]")
FIGURE = re.compile(r"[+\-−]?[.,]?\d")
"""How a figure begins."""


def tokens_of(line: str) -> list[Token]:
    """Part a line; between figures a comma is the decimal mark, and ":" or "=" after a name is as good as a space."""
    plain = _SIGN_AFTER_A_NAME.sub(lambda sign: " " if len(sign[0]) == 1 else sign[0], line)
    found = []
    for match in _TOKEN.finditer(plain):
        name = match.lastgroup or ""
        text = line[match.start(name) : match.end(name)].strip()
        found.append(Token(text, match.span(name), name == "sign", name in ("curly", "quoted")))
    return [token for token in found if token.text]
