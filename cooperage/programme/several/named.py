"""Which vessels a person names: `B-001, B-004`, `B-001 B-004`, a series `B-001..B-008`, or words that filter racks."""

import re
from collections.abc import Callable

from cooperage.book import Cellar, Standing
from cooperage.book.declared.places import AWAY_SPELLINGS
from cooperage.errors import BadInput, did_you_mean
from cooperage.programme.search.described import describe
from cooperage.programme.search.marks import Marks, State
from cooperage.programme.search.query import find_vessels
from cooperage.units import DEFAULT, Units

SERIES = ".."
_NUMBERED = re.compile(r"(.*?)([0-9]+)")
_SIGNS, _DOTS = re.compile(r"[,;\n]"), re.compile(r"\s*\.\.\s*")
_WORDS = frozenset([*(state.value for state in State), "due"])


class NothingNamed(BadInput):
    """Words for which no vessel is found."""

    def __init__(self, text: str) -> None:
        hint = did_you_mean(text, AWAY_SPELLINGS, "; name tags, a series such as B-001..B-008, or fewer words")
        super().__init__(f"no vessel is found for '{text}'{hint}")


class NotASeries(BadInput):
    """Two tags between which none can be counted."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is no series; write two tags that differ in their number, such as B-001..B-008")


def vessels_named(text: str, cellar: Cellar, marks: Callable[[], Marks], units: Units = DEFAULT) -> list[Standing]:
    """List the vessels that a text names, each once: tags and series as they stand, what words find in walking order.

    `marks` is asked only where words are looked for. A series and words leave retired vessels out. Raises NoSuchVessel,
    NotASeries, NothingNamed, BadQuery.
    """
    text = text.strip()
    if text in cellar:
        return [cellar[text]]
    if _is_words(text, cellar):
        found = find_vessels(describe(cellar, marks()), text, units)
        if not found:
            raise NothingNamed(text)
        return found
    named = [standing for part in _pieces(text, cellar) for standing in _part(part, cellar)]
    return list({standing.tag: standing for standing in named}.values()) or [cellar[text]]


def names_several(text: str, cellar: Cellar) -> bool:
    """Return True if a text may name more than one vessel: it is no tag, and no single word that could only be one."""
    text = text.strip()
    if text in cellar:
        return False
    return bool(_SIGNS.search(text)) or SERIES in text or len(text.split()) > 1 or text.casefold() in _WORDS


def _is_words(text: str, cellar: Cellar) -> bool:
    """Return True for words to look for; tags and series, the misspelt ones too, are none."""
    if text.casefold() in _WORDS:
        return True
    return len(text.split()) > 1 and not any(part in cellar or SERIES in part for part in _pieces(text, cellar))


def _pieces(text: str, cellar: Cellar) -> list[str]:
    """Part tags and series at commas, semicolons, line breaks, and at spaces where tags stand between these alone."""
    tight = _DOTS.sub(SERIES, text)
    parts = [part.strip() for part in _SIGNS.split(tight) if part.strip()]
    return [piece for part in parts for piece in (part.split() if _are_tags(part.split(), cellar) else [part])]


def _are_tags(pieces: list[str], cellar: Cellar) -> bool:
    """Return True if pieces are tags and series, all of them as they look and one as it is."""
    is_one_there = any(piece in cellar or SERIES in piece for piece in pieces)
    return is_one_there and all(piece in cellar or _NUMBERED.fullmatch(piece) for piece in pieces)


def _part(text: str, cellar: Cellar) -> list[Standing]:
    first, dots, last = (piece.strip() for piece in text.partition(SERIES))
    if text in cellar or not dots:
        return [cellar[text]]
    return _series(text, cellar[first], cellar[last], cellar)


def _series(text: str, first: Standing, last: Standing, cellar: Cellar) -> list[Standing]:
    """List the vessels from one tag to another, by number; retired ones only where they are its ends."""
    (name, low), (other, high) = _numbered(first.tag, text), _numbered(last.tag, text)
    if name != other or low > high:
        raise NotASeries(text)
    ends = (first.tag, last.tag)
    alike = [(found[2], s) for s in cellar if (found := _NUMBERED.fullmatch(s.tag)) and found[1].casefold() == name]
    there = [(int(number), s) for number, s in alike if low <= int(number) <= high]
    return [s for _, s in sorted(there, key=lambda each: each[0]) if not s.is_retired or s.tag in ends]


def _numbered(tag: str, text: str) -> tuple[str, int]:
    found = _NUMBERED.fullmatch(tag)
    if found is None:
        raise NotASeries(text)
    return found[1].casefold(), int(found[2])


def shown_tags(tags: list[str]) -> str:
    """Return tags in few words: "B-001..B-008, B-011"; only what follows one another is drawn together."""
    runs: list[list[str]] = []
    for tag in tags:
        if runs and _follows(runs[-1][-1], tag):
            runs[-1].append(tag)
        else:
            runs.append([tag])
    return ", ".join(_run(run) for run in runs)


def _run(tags: list[str]) -> str:
    return f"{tags[0]}{SERIES}{tags[-1]}" if len(tags) > 2 else ", ".join(tags)


def _follows(tag: str, then: str) -> bool:
    one, two = _NUMBERED.fullmatch(tag), _NUMBERED.fullmatch(then)
    return one is not None and two is not None and one[1] == two[1] and int(two[2]) == int(one[2]) + 1
