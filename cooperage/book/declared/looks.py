"""What eyes and nose say at a barrel, in the few words a hand has for it: its level, its bung, its smell.

The words and what they may mean are common practice (no source); what they lead to is somebody's to judge.
"""

from collections.abc import Mapping

from cooperage.errors import BadInput

LEVELS = ("full", "low", "very low")
BUNGS = ("tight", "loose", "weeping", "popped")
SMELLS: Mapping[str, str] = {
    "sound": "nothing out of the way",
    "vinegar": "volatile acidity; read it",
    "solvent": "ethyl acetate; look at the bung and the level",
    "egg": "hydrogen sulphide; stir, rack or air it",
    "mould": "mould; keep the barrel apart",
    "horse": "spoilage yeast; keep the barrel apart",
    "flat": "oxidised; look at the level and the sulphite",
}
"""Each smell, and what it may mean."""
SOUND_BUNG, SOUND_SMELL, SEEN_FULL = "tight", "sound", "full"


class NoSuchSmell(BadInput):
    """A word that is not among the smells."""

    def __init__(self, word: str) -> None:
        self.word = word
        super().__init__(f"'{word}' is not one of {', '.join(SMELLS)}; put anything else into the note")


def smells_in(text: str) -> tuple[str, ...]:
    """Return the smells named in a text, parted by commas or spaces; raises NoSuchSmell."""
    words = tuple(text.casefold().replace(",", " ").split())
    for word in words:
        if word not in SMELLS:
            raise NoSuchSmell(word)
    return words
