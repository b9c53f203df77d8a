"""The words for what is seen and smelled at a barrel: its level, its bung, its smell.

The words and what they may mean are common practice (no source); what to do about it is for a person to judge.
"""

import re
from collections.abc import Mapping

from cooperage.book.declared.spelling import folded, spellings_of
from cooperage.errors import BadInput

LEVEL_SPELLINGS: Mapping[str, str] = spellings_of(
    {"full": ("brim full", "full to the bung"), "low": (), "very low": ("far down",)}
)
"""Each spelling of a level, and the level it means."""
BUNG_SPELLINGS: Mapping[str, str] = spellings_of(
    {"tight": (), "loose": (), "weeping": ("weeps", "seeping", "seeps"), "popped": ("popped out", "blown")}
)
"""Each spelling of what a bung does, and the word for it."""
LEVELS = tuple(dict.fromkeys(LEVEL_SPELLINGS.values()))
BUNGS = tuple(dict.fromkeys(BUNG_SPELLINGS.values()))
SMELLS: Mapping[str, str] = {
    "sound": "nothing wrong",
    "vinegar": "volatile acidity; read it",
    "solvent": "ethyl acetate; look at the bung and the level",
    "egg": "hydrogen sulphide; stir, rack or air it",
    "mould": "mould; keep the barrel away from the others",
    "horse": "spoilage yeast; keep the barrel away from the others",
    "flat": "oxidised; look at the level and the sulphite",
}
"""Each smell, and what it may mean."""
SMELL_SPELLINGS: Mapping[str, str] = spellings_of(
    {
        "sound": ("clean",),
        "vinegar": ("acetic", "vinegary"),
        "solvent": ("nail varnish", "nail polish", "nail polish remover"),
        "egg": ("rotten egg", "rotten eggs", "eggs"),
        "mould": ("mold", "mouldy", "moldy"),
        "horse": ("barnyard", "horsey", "brett"),
        "flat": ("oxidised", "oxidized"),
    }
)
"""Each spelling of a smell, and the smell it means."""
MOST_WORDS_OF_A_SMELL = max(len(spelling.split()) for spelling in SMELL_SPELLINGS)
SMELL_LEADS = ("smells of", "smell of", "smelled of", "smelt of", "smells", "smell", "smelled", "smelt")
"""Words that may stand before a smell, the longest first; by themselves they mean nothing."""
SOUND_BUNG, SOUND_SMELL, SEEN_FULL = "tight", "sound", "full"


class NoSuchSmell(BadInput):
    """A word that is not among the smells."""

    def __init__(self, word: str) -> None:
        self.word = word
        super().__init__(f"'{word}' is not one of {', '.join(SMELLS)}; put anything else into the note")


def smells_in(text: str) -> tuple[str, ...]:
    """Return the smells named in a text, parted by commas, semicolons, spaces or "and"; raises NoSuchSmell."""
    plain = folded(re.sub(r"[,;]| and ", " ", text.casefold()))
    lead = next((lead for lead in SMELL_LEADS if plain.startswith(f"{lead} ")), "")
    words, smells = plain.removeprefix(lead).split(), []
    while words:
        spelling = spelled_smell(words)
        if not spelling:
            raise NoSuchSmell(words[0])
        smells.append(SMELL_SPELLINGS[spelling])
        words = words[len(spelling.split()) :]
    return tuple(smells)


def spelled_smell(words: list[str]) -> str:
    """Return the longest spelling of a smell with which words in small letters begin; "" if there is none."""
    starts = (" ".join(words[:count]) for count in range(min(MOST_WORDS_OF_A_SMELL, len(words)), 0, -1))
    return next((start for start in starts if start in SMELL_SPELLINGS), "")


def canonical_smells(text: str) -> str:
    """Return a text of smells by their own names; as it is where a word is no smell."""
    try:
        return ", ".join(smells_in(text))
    except NoSuchSmell:
        return text


def canonical_level(text: str) -> str:
    """Return a level by its own word; as it is where none is meant."""
    return LEVEL_SPELLINGS.get(folded(text), text)


def canonical_bung(text: str) -> str:
    """Return what a bung does by its own word; as it is where none is meant."""
    return BUNG_SPELLINGS.get(folded(text), text)
