"""The words of a line typed at a stop: readings, looks and barrel work by every spelling, and the walk's own few.

Each word of the book is declared once, in `book/declared`; here stand only those of a walk.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TypeVar

from cooperage.book.declared.looks import BUNG_SPELLINGS, LEVEL_SPELLINGS, SMELL_LEADS, SMELL_SPELLINGS
from cooperage.book.declared.properties import PROPERTY_SPELLINGS
from cooperage.book.declared.substances import SUBSTANCE_SPELLINGS, TREATMENT_SPELLINGS

T = TypeVar("T")


class Family(Enum):
    """What a word of the line does."""

    READING = "a figure follows it"
    LEVEL = "a level"
    BUNG = "what the bung does"
    SMELL = "a smell"
    WORK = "barrel work"
    ADD = "an amount and a substance follow it"
    AIR = "a temperature and a humidity follow it"
    FROM = "a vessel follows it"
    BY = "a name follows it"
    NOTE = "a note follows it"
    NOT_FULL = "the topping leaves it short"
    LEAD = "means nothing before the word it belongs to"


@dataclass(frozen=True, slots=True)
class Word:
    """One word as the line knows it: its family, and the name that the book keeps for it.

    The name of a lead is what must follow it: the name of a family, "FIGURE", or nothing in particular.
    """

    family: Family
    name: str = ""


_PLAIN_ENGLISH = frozenset({"fine"})
"""Spellings of barrel work that people type in another sense: "all fine" is no fining."""
_TASKS_AS_READINGS = {"sulphite": "free_so2_mg_l", "sulfite": "free_so2_mg_l", "gauge": "headspace_mm"}
"""Names of tasks that a sheet of paper puts before their figure."""

VOCABULARY: Mapping[str, Word] = {
    **{spelling: Word(Family.READING, name) for spelling, name in PROPERTY_SPELLINGS.items()},
    **{spelling: Word(Family.READING, name) for spelling, name in _TASKS_AS_READINGS.items()},
    **{
        spelling: Word(Family.WORK, name)
        for spelling, name in TREATMENT_SPELLINGS.items()
        if spelling not in _PLAIN_ENGLISH
    },
    **{spelling: Word(Family.LEVEL, name) for spelling, name in LEVEL_SPELLINGS.items()},
    **{spelling: Word(Family.BUNG, name) for spelling, name in BUNG_SPELLINGS.items()},
    **{spelling: Word(Family.SMELL, name) for spelling, name in SMELL_SPELLINGS.items()},
    **{spelling: Word(Family.LEAD, Family.SMELL.name) for spelling in SMELL_LEADS},
    "level": Word(Family.LEAD, Family.LEVEL.name),
    "bung": Word(Family.LEAD, Family.BUNG.name),
    **dict.fromkeys(("top", "topped", "topped with", "topping"), Word(Family.LEAD, "FIGURE")),
    **dict.fromkeys(("seen", "and"), Word(Family.LEAD)),
    **dict.fromkeys(("add", "added"), Word(Family.ADD)),
    **dict.fromkeys(("not full", "not to the bung"), Word(Family.NOT_FULL)),
    "air": Word(Family.AIR),
    "from": Word(Family.FROM),
    "by": Word(Family.BY),
    "note": Word(Family.NOTE),
}
"""Each spelling in small letters, and what it means in a line."""


def _most_words(spellings: Mapping[str, object]) -> int:
    return max(len(spelling.split()) for spelling in spellings)


_MOST_WORDS, _MOST_OF_A_SUBSTANCE = _most_words(VOCABULARY), _most_words(SUBSTANCE_SPELLINGS)


def longest_word(words: Sequence[str]) -> tuple[int, Word] | None:
    """Return the longest spelling with which words begin: how many of them it takes, and what it means."""
    return _longest(words, VOCABULARY, _MOST_WORDS)


def longest_substance(words: Sequence[str]) -> tuple[int, str] | None:
    """Return the longest spelling of a substance with which words begin: how many it takes, and the substance."""
    return _longest(words, SUBSTANCE_SPELLINGS, _MOST_OF_A_SUBSTANCE)


def _longest(words: Sequence[str], known: Mapping[str, T], most: int) -> tuple[int, T] | None:
    for count in range(min(most, len(words)), 0, -1):
        spelling = " ".join(words[:count]).casefold()
        if spelling in known:
            return count, known[spelling]
    return None
