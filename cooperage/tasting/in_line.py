"""Scores typed one after the other for glasses that stand in a row, and names of which only the beginning is typed."""

import re
from collections.abc import Sequence

from cooperage.tasting.flights.scales import bounds

LEFT_OUT = "-"
"""What is typed for a glass that gets no score."""
_FIGURE = re.compile(r"\d+(?:[.,]\d+)?")


def scores_in_line(text: str, scale: str, glasses: int) -> list[str]:
    """Return the scores typed in a row, a text each, for at most so many glasses.

    They are parted by spaces or semicolons. Figures without anything between them are parted by themselves where each
    takes as many digits as the top of the scale: on 0 to 20, 141609 are 14, 16 and 09. A single score, and what is no
    row of scores, comes back as it is.
    """
    parts = re.split(r"[\s;]+", text.strip())
    if len(parts) == 1 and text.isdecimal():
        parts = _by_digits(text, scale)
    return parts if 1 <= len(parts) <= max(1, glasses) else [text]


def is_row(text: str, scale: str, glasses: int) -> bool:
    """Return True if a text is scores for more than one of so many glasses, and nothing but figures and dashes."""
    parts = scores_in_line(text, scale, glasses)
    return len(parts) > 1 and all(part == LEFT_OUT or _FIGURE.fullmatch(part) for part in parts)


def _by_digits(run: str, scale: str) -> list[str]:
    _, highest = bounds(scale)
    digits = len(str(int(highest)))
    if len(run) <= digits or len(run) % digits:
        return [run]
    parts = [run[at : at + digits] for at in range(0, len(run), digits)]
    return parts if all(float(part) <= highest for part in parts) else [run]


def whole_name(typed: str, known: Sequence[str]) -> str:
    """Return the one known name that begins as typed; what is typed where none does, several do, or a space follows."""
    name = typed.strip()
    beginning = [each for each in known if each.casefold().startswith(name.casefold())]
    is_whole = any(each.casefold() == name.casefold() for each in known)
    if not name or is_whole or typed.endswith(" ") or len(beginning) != 1:
        return next((each for each in known if each.casefold() == name.casefold()), name)
    return beginning[0]
