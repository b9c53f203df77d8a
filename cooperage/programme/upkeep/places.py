"""A place on the racks as a hand types it: "Long B.2.1", "B 2 1", "2.1", seen from where a vessel stands now."""

import re

from cooperage.book.store.registry import Position
from cooperage.errors import BadInput

_BETWEEN = re.compile(r"[\s.,·/-]+")
_LONGEST_ROW = 2
HOW_PLACE = "such as B.2.1: row, bay, tier; with another room before them, Long B.2.1"


class BadPlace(BadInput):
    """What was typed is no place."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"'{text}' is no place; type it {HOW_PLACE}")


def place_typed(text: str, here: Position) -> Position:
    """Return the place that was typed; parts that are left out are as they are `here`, from the room on.

    One figure is a bay, and the tier stays as it is; two are bay and tier. A word of one or two letters is a row, a
    longer word a room, and a room begins the place. Raises BadPlace.
    """
    words = [word for word in _BETWEEN.split(text.strip()) if word]
    figures = [int(word) for word in words if word.isdecimal()]
    names = [word for word in words if not word.isdecimal()]
    if not words or len(figures) > 2 or 0 in figures or words[: len(names)] != names:
        raise BadPlace(text)
    room, row, bay, tier = here
    if names:
        room, row = _named(names, here)
        bay = tier = None
    if figures:
        bay, tier = figures[0], figures[1] if len(figures) > 1 else here[3]
    return room, row, bay, tier


def is_whole_place(text: str) -> bool:
    """Return True if a text is more than the name of a room: it has a figure or a mark between parts in it."""
    return bool(re.search(r"\d|[.,/]", text))


def _named(names: list[str], here: Position) -> tuple[str | None, str | None]:
    """Return the room and the row that words name."""
    *before, last = names
    is_row = len(last) <= _LONGEST_ROW
    if not is_row:
        return " ".join(names), None
    return (" ".join(before), last.upper()) if before else (here[0], last.upper())
