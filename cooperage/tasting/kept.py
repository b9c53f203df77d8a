"""What the words of a tasting can be: asked wherever a flight, a glass or a score is written, by hand or by import."""

from cooperage.book.declared.allowed import LONGEST_CODE, LONGEST_NOTE, LONGEST_TEXT, check_text
from cooperage.errors import BadInput

_LONGEST_GLASS = 10


def check_flight(code: str, name: str) -> None:
    """Refuse a flight whose code or name cannot be kept; raises BadInput."""
    check_text(code, "the flight's code", LONGEST_CODE)
    check_text(name, "the flight's name", LONGEST_TEXT)


def check_glass(code: str, what: str) -> None:
    """Refuse a glass whose blind code, or what is in it, cannot be kept; raises BadInput."""
    check_text(code, "the glass's code", _LONGEST_GLASS)
    check_text(what, "what is in the glass", LONGEST_TEXT)


def check_taster(name: str) -> None:
    """Refuse a taster's name that is blank or cannot be kept; raises BadInput."""
    if not check_text(name, "the taster's name", LONGEST_CODE):
        raise BadInput("the taster's name is blank; name who gave the score")


def check_score(taster: str, words: str) -> None:
    """Refuse a score without a taster, or one whose words cannot be kept; raises BadInput."""
    check_taster(taster)
    check_text(words, "the tasting words", LONGEST_NOTE, lines=True)
