"""The words for what is decided about a vessel after tasting it, by one taster of a glass or by who leads the tasting.

The words are common practice (no source); what they mean for the cellar is said here and done by what reads the state.
"""

import re
from collections.abc import Mapping
from typing import NamedTuple

from cooperage.book.declared.spelling import folded, spellings_of
from cooperage.errors import BadInput

LOOK_AGAIN, QUARANTINE = "look again", "quarantine"
VERDICT_SPELLINGS: Mapping[str, str] = spellings_of(
    {
        "keep": ("leave", "wait"),
        LOOK_AGAIN: ("look", "again", "watch", "taste again"),
        "ready": (),
        "blend": (),
        "move": ("rack",),
        QUARANTINE: (),
    }
)
"""Each spelling of a verdict, and the verdict it means."""
VERDICTS = tuple(dict.fromkeys(VERDICT_SPELLINGS.values()))
MOST_WEEKS = 260
"""A look that is farther away than five years is not planned."""
_WEEKS = re.compile(r"^(?P<word>.*?)[ ,]+(?:in |after )?(?P<weeks>\d+) ?(?:w|wk|wks|week|weeks)?\.?$")


class NotAVerdict(BadInput):
    """A text that is no verdict, or one without the weeks that it needs."""


class Judgement(NamedTuple):
    """What is decided about a vessel; `weeks` is after how many it is looked at again, of that verdict alone."""

    word: str
    weeks: int | None = None

    @property
    def words(self) -> str:
        """The verdict as one reads it: "look again in 8 weeks"."""
        if self.weeks is None:
            return self.word
        return f"{self.word} in {self.weeks} {'week' if self.weeks == 1 else 'weeks'}"


def canonical_verdict(text: str) -> str:
    """Return a verdict by its own word; as it is where none is meant."""
    return VERDICT_SPELLINGS.get(folded(text), text)


def checked_verdict(word: str, weeks: int | None) -> Judgement:
    """Return a verdict that can be kept; raises NotAVerdict."""
    verdict = canonical_verdict(word)
    if verdict not in VERDICTS:
        raise NotAVerdict(f"'{word}' is not a verdict; give one of {', '.join(VERDICTS)}")
    if verdict == LOOK_AGAIN and weeks is None:
        raise NotAVerdict(f"'{verdict}' needs the weeks until then, as in '{verdict} 8 weeks'")
    if verdict != LOOK_AGAIN and weeks is not None:
        raise NotAVerdict(f"'{verdict}' takes no weeks; to see it again give '{LOOK_AGAIN} {weeks} weeks'")
    if weeks is not None and not 1 <= weeks <= MOST_WEEKS:
        raise NotAVerdict(f"{weeks} weeks is no time to look again after; give 1 to {MOST_WEEKS}")
    return Judgement(verdict, weeks)


def verdict_in(text: str) -> Judgement:
    """Return the verdict that a text is: "keep", "look again 8 weeks", "look again in 8 w"; raises NotAVerdict."""
    plain = folded(text)
    word, weeks = parted_verdict(plain)
    return checked_verdict(word, int(weeks) if weeks else None)


def parted_verdict(text: str) -> tuple[str, str]:
    """Return the verdict and the weeks that a text gives, unchecked: "look again", "8"; no weeks are ""."""
    found = _WEEKS.match(folded(text))
    return (found["word"], found["weeks"]) if found else (text, "")
