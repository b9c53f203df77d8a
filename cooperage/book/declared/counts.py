"""What a kind of entry or a treatment counts as besides itself, for the rounds and the warnings."""

from enum import StrEnum


class Counts(StrEnum):
    """One thing that a visit shows or does, whatever it was written as."""

    TOPPED = "topped"
    SEEN_FULL = "seen full"
    OPENED = "opened"
    TASTED = "tasted"
    VISITED = "visited, looked at and smelled"
