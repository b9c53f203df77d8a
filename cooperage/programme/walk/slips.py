"""A word that the walk does not know: the nearest one that it does, and whether a slip or a note is meant."""

from collections.abc import Sequence

from cooperage.errors import BadInput, most_alike
from cooperage.programme.walk.line_tokens import FIGURE, Token
from cooperage.programme.walk.vocabulary import VOCABULARY, Family, longest_word
from cooperage.units.reading import one_line

_NAMING = (Family.READING, Family.LEVEL, Family.BUNG, Family.SMELL, Family.WORK, Family.LEAD)
_NAMES = [spelling for spelling, word in VOCABULARY.items() if word.family in _NAMING]


_ALIKE, _SHORT, _SHORT_ALIKE = 0.67, 4, 0.8
"""Shares of letters in common; of so few letters more must be alike (common practice, no source)."""


def nearest(words: Sequence[str], least: float = _ALIKE) -> tuple[int, str]:
    """Return the known spelling most like the words that a line goes on with, and how many of them it is like.

    Only words for readings, looks and work are sought, and those that lead to them; (1, "") where none has `least` of
    its letters in common. Two words are only taken for a spelling of two: "no vinegar" is not nearly vinegar.
    """
    found: tuple[float, int, str] = (0.0, 1, "")
    for count in range(1, min(2, len(words)) + 1):
        typed = " ".join(words[:count]).casefold()
        names = [name for name in _NAMES if count == 1 or len(name.split()) == count]
        share, name = most_alike(typed, names, least if len(typed) >= _SHORT else _SHORT_ALIKE)
        found = max(found, (share, count, name)) if name else found
    return found[1], found[2]


class NotAWord(BadInput):
    """A word that the walk does not know; `place` is where it stands in the line, `nearest` what may be meant."""

    def __init__(self, word: str, place: tuple[int, int], nearest: str = "", note: str = "") -> None:
        self.word, self.place, self.nearest = word, place, nearest
        helps = f"Nearest: {nearest}." if nearest else f"A note stands in quotes: “{one_line(note or word)}”."
        super().__init__(f"“{one_line(word)}” is not a word of the walk. {helps} Nothing is written.")


_LONE_ALIKE, _LONG_ALIKE, _LONG = 0.8, 0.85, 5
"""From how like a known word an unknown one is a slip: alone, and as a long word among others (common practice)."""


def refuse_slips(piece: Sequence[Token], *, is_alone: bool) -> None:
    """Refuse a word that is nearly one of the walk's own: alone, or a long one among others. Raises NotAWord."""
    for token in piece:
        if is_alone or len(token.text) >= _LONG:
            _, name = nearest([token.text], _LONE_ALIKE if is_alone else _LONG_ALIKE)
            if name and longest_word([token.text]) is None:
                raise NotAWord(token.text, token.place, name)


def is_foreign(words: Sequence[str]) -> bool:
    """Return True if no word, but for those that only lead, is a figure or known to the walk."""
    for nth, word in enumerate(words):
        known = longest_word(words[nth:])
        if FIGURE.match(word) or (known is not None and known[1].family is not Family.LEAD):
            return False
    return bool(words) and any(longest_word([word]) is None for word in words)
