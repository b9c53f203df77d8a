"""A filter of every drawn line for terminals that lack our marks, or draw them two columns wide."""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from cooperage.tui.shared.ink import DONE, DUE, HERE, OUT_OF_REACH, SKIPPED, TROUBLE

ASCII = "ascii"
"""The word of the setting `marks` that asks for them."""

_MARKS = {TROUBLE: "!", DUE: "o", DONE: "v", SKIPPED: ">", OUT_OF_REACH: "^", HERE: ">"}
_BARS = (
    dict(zip("▁▂▃▄▅▆▇█", "--==+###", strict=True))
    | dict.fromkeys("▉▊▋▌▍▎", "#")
    | dict.fromkeys("▏▕", "|")
    | {"░": ":"}
)
_LINES = dict.fromkeys("│┃╎┊▎", "|") | dict.fromkeys("─━╌┄▔", "-") | dict.fromkeys("┌┐└┘├┤┬┴┼╭╮╰╯", "+")
_QUOTES = {"“": '"', "”": '"', "’": "'"}
_SIGNS = {"→": ">", "←": "<", "↓": "v", "·": ".", "×": "x", "≤": "<", "≥": ">", "…": ".", "–": "-", "●": "*", "•": "*"}
_INSTEAD = str.maketrans(_BARS | _LINES | _SIGNS | _QUOTES | _MARKS)
_TWO_WIDE = ((f"{SKIPPED} ", ">>"), ("→ ", "->"), ("← ", "<-"))
"""What takes the blank behind it: what was skipped is not the pointer, and an arrow not the key > or <."""


class AsciiMarks(LineFilter):
    """Draws each mark, bar and line as one of the oldest characters; every column stays where it is."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - Textual's
        """Return the segments of a line in other marks, as wide as they were."""
        return [
            segment if segment.text.isascii() else Segment(in_ascii(segment.text), segment.style, segment.control)
            for segment in segments
        ]


def in_ascii(text: str) -> str:
    """Return a text with other marks; letters of any language stay."""
    for mark, instead in _TWO_WIDE:
        text = text.replace(mark, instead)
    return text.translate(_INSTEAD)
