"""What eyes and nose found wrong at a vessel, until a later visit finds nothing wrong."""

from collections.abc import Iterator
from datetime import datetime

from cooperage.book import Standing
from cooperage.book.declared.acts import that_count_as
from cooperage.book.declared.counts import Counts
from cooperage.book.declared.looks import SMELLS, SOUND_BUNG, SOUND_SMELL
from cooperage.programme.signs.sign import Sign

_OF_BUNG = {
    "loose": "drive it home and look again in a week",
    "weeping": "wipe it, reseat it, and look again in a week",
    "popped": "the mead may be working, or warming: read its gravity",
}


def found_wrong(standing: Standing) -> dict[str, tuple[str, datetime]]:
    """Return what the last visit found wrong: the bung's or the smell's words, and when they were said."""
    last = max((at for name in that_count_as(Counts.VISITED) if (at := standing.last(name))), default=None)
    wrong = {}
    for what, sound in (("bung", SOUND_BUNG), ("smell", SOUND_SMELL)):
        seen = standing.seen(what)
        if seen is not None and seen.word != sound and last is not None and seen.at >= last:
            wrong[what] = (seen.word, seen.at)
    return wrong


def seen_signs(standing: Standing) -> Iterator[Sign]:
    """Return a bung that does not hold and a smell that is not sound, and what either may mean."""
    wrong = found_wrong(standing)
    if "bung" in wrong:
        word, at = wrong["bung"]
        yield Sign(standing.tag, "bung", f"{word}: {_OF_BUNG[word]}", at)
    if "smell" in wrong:
        words, at = wrong["smell"]
        meant = "; ".join(
            f"{word}: {SMELLS[word]}" if word in SMELLS else word
            for word in words.replace(",", " ").split()
            if word != SOUND_SMELL
        )
        yield Sign(standing.tag, "smell", meant, at)
