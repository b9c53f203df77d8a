"""The line typed at a stop: "1.8", "1.8 weeping vinegar; hoop rusty", "dip 30 1.8", "very low", "so2 24", "pH 3.4".

The first figure is what the task asks for (litres at a topping, free SO2 at a sulphite stop). Words for level, bung and
smell, readings by the property's name, the room's air and a source may follow in any order; after a semicolon comes
the note.
"""

from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from cooperage.book import Act, Book, Written
from cooperage.book.declared.from_text import BadField, parse_act
from cooperage.book.declared.looks import (
    BUNGS,
    LEVELS,
    MOST_WORDS_OF_A_SMELL,
    SEEN_FULL,
    SMELL_SPELLINGS,
    spelled_smell,
)
from cooperage.book.declared.properties import PROPERTIES, PROPERTY_SPELLINGS
from cooperage.programme.rounds.due import Task
from cooperage.programme.together import write_together
from cooperage.programme.walk.progress import Walk, mark_in
from cooperage.programme.walk.stops import ASKS, Stop
from cooperage.units import DEFAULT, Units

HOW = "such as 1.8 weeping vinegar; hoop rusty"
_AIR, _FROM, _DIP = "air", "from", "headspace_mm"
_KEYWORDS = {_AIR: _AIR, _FROM: _FROM, "so2": "free_so2_mg_l", **PROPERTY_SPELLINGS}
"""The words that a figure follows, and what each means: the air, the source, or a property."""
_FLAGS = {"not full": "not-full"}


@dataclass(frozen=True, slots=True)
class StopActs:
    """The acts of one line, the stop's own last, and whether they do what the stop is for."""

    acts: tuple[Act, ...]
    is_done: bool


@dataclass(slots=True)
class _Parts:
    """A line in parts: its figure, what follows each keyword, and the words for level, bung and smell.

    `after_keyword` is by what the keyword means, `typed` is the keyword itself.
    """

    figure: str = ""
    after_keyword: dict[str, str] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    level: str = ""
    bung: str = ""
    smells: list[str] = field(default_factory=list)
    not_full: bool = False
    note: str = ""


def parse_stop_line(stop: Stop, text: str, given: Mapping[str, str], now: datetime, units: Units = DEFAULT) -> StopActs:
    """Parse a line typed at a stop; `given` are texts for its own act ("from", "not-full", "when", "hand").

    Raises BadField; an empty line is only understood where the task asks for no figure.
    """
    parts = _split_line(text)
    if stop.task is not Task.TOP and (_FROM in parts.after_keyword or parts.not_full):
        raise BadField("from" if _FROM in parts.after_keyword else "not full", "this belongs to a topping only")
    common = {name: given[name] for name in ("when", "hand") if given.get(name)}

    def make(kind: str, **texts: str) -> Act:
        return parse_act(kind, {**common, **texts}, now, units)

    beside = [*_beside(stop, parts, make)]
    own = _own(stop, parts, given, make)
    is_seen_full = stop.task is Task.TOP and parts.level == SEEN_FULL
    if own is None and not beside:
        raise BadField(ASKS[stop.task].label, f"type what was done or seen, {HOW}")
    return StopActs((*beside, *([own] if own else [])), own is not None or is_seen_full)


def write_stop_acts(
    book: Book, walk: Walk, stop: Stop, stop_acts: StopActs, hand: str = "", *, sure: bool = False
) -> list[Written]:
    """Write the acts of a stop's line and, if they complete it, mark the stop as done, in one transaction.

    On a sheet an act is dated when the sheet was walked; unsigned acts are signed by `hand`. Raises what
    `write_together` raises.
    """
    acts = [replace(act, at=act.at or walk.walked_at, hand=act.hand or hand) for act in stop_acts.acts]
    if not stop_acts.is_done:
        return write_together(book, acts, sure=sure)
    written = write_together(book, acts, sure=sure, also=lambda session: mark_in(session, walk, stop.key, "done"))
    walk.states[stop.key] = "done"
    return written


def _own(stop: Stop, parts: _Parts, given: Mapping[str, str], make: Callable[..., Act]) -> Act | None:
    """Return the act the stop is for: made from its figure, or from nothing where it needs none."""
    ask = ASKS[stop.task]
    if not ask.typed:
        if parts.figure:
            raise BadField(ask.label, f"'{parts.figure}' is not wanted here; a note comes after a semicolon")
        return make(ask.kind, vessel=stop.tag, **ask.given, note="" if _is_look(parts) else parts.note)
    if not parts.figure:
        return None
    texts = {"vessel": stop.tag, **ask.given, ask.typed: parts.figure, "note": "" if _is_look(parts) else parts.note}
    if stop.task is Task.TOP:
        source = parts.after_keyword.get(_FROM, given.get("from", ""))
        texts |= {"from": source, "not-full": "yes" if parts.not_full else given.get("not-full", "")}
    return make(ask.kind, **texts)


def _beside(stop: Stop, parts: _Parts, make: Callable[..., Act]) -> list[Act]:
    """List what else was seen and measured: the air, the look, each reading, the dip last."""
    acts = []
    if _AIR in parts.after_keyword:
        acts.append(_air(stop, parts.after_keyword[_AIR], make))
    if _is_look(parts) or (parts.note and not parts.figure and ASKS[stop.task].typed):
        smell = ", ".join(parts.smells)
        acts.append(make("look", vessel=stop.tag, level=parts.level, bung=parts.bung, smell=smell, note=parts.note))
    acts += [_reading(stop, parts, name, make) for name in PROPERTIES if name in parts.after_keyword]
    return acts


def _reading(stop: Stop, parts: _Parts, name: str, make: Callable[..., Act]) -> Act:
    keyword, value = parts.typed[name], parts.after_keyword[name]
    if not value:
        raise BadField(keyword, f"give the figure after it, such as {keyword} 24")
    named = name if keyword not in PROPERTY_SPELLINGS else keyword
    return make("reading", vessel=stop.tag, property=named, value=value, how="dip" if name == _DIP else "")


def _air(stop: Stop, text: str, make: Callable[..., Act]) -> Act:
    room, figures = stop.position[0], text.replace("%", " ").split()
    if not room:
        raise BadField("air", f"{stop.tag} is in no named room; shift it to a room first")
    if len(figures) < 2:
        raise BadField("air", "give the temperature and the humidity, such as air 13.5 78")
    return make("climate", room=room, temperature=" ".join(figures[:-1]), humidity=figures[-1])


def _is_look(parts: _Parts) -> bool:
    return bool(parts.level or parts.bung or parts.smells)


def _split_line(text: str) -> _Parts:
    line, _, note = text.partition(";")
    parts, lead, words = _Parts(note=note.strip()), "", line.split()
    while words:
        ahead = [word.casefold() for word in words[:_MOST_WORDS]]
        if spelling := _spelled(ahead, _LOOKS) or spelled_smell(ahead):
            _take_word(parts, spelling)
            lead = "-"
        elif spelling := _spelled(ahead, _KEYWORDS):
            lead = _begin_keyword(parts, spelling)
        else:
            spelling = words[0]
            lead = _take_figure(parts, lead, spelling)
        words = words[len(spelling.split()) :]
    return parts


_LOOKS = (*LEVELS, *BUNGS, *_FLAGS)
_MOST_WORDS = max(MOST_WORDS_OF_A_SMELL, *(len(spelling.split()) for spelling in (*_LOOKS, *_KEYWORDS)))


def _spelled(words: Sequence[str], known: Container[str]) -> str:
    """Return the longest known spelling with which words in small letters begin; "" if there is none."""
    starts = (" ".join(words[:count]) for count in range(len(words), 0, -1))
    return next((start for start in starts if start in known), "")


def _begin_keyword(parts: _Parts, spelling: str) -> str:
    meant = _KEYWORDS[spelling]
    if meant in parts.after_keyword:
        name = PROPERTIES[meant].label if meant in PROPERTIES else meant
        raise BadField(spelling, f"{name} is given twice; give it once")
    parts.typed[meant], parts.after_keyword[meant] = spelling, ""
    return meant


def _take_word(parts: _Parts, word: str) -> None:
    if word in _FLAGS:
        parts.not_full = True
    elif word in SMELL_SPELLINGS:
        parts.smells.append(SMELL_SPELLINGS[word])
    else:
        where = "level" if word in LEVELS else "bung"
        if getattr(parts, where):
            raise BadField(where, f"'{getattr(parts, where)}' and '{word}' cannot both be right; keep one of them")
        setattr(parts, where, word)


def _takes(lead: str, had: str, *, is_number: bool) -> bool:
    """Return True if a keyword takes one more word: a source is one word, the air two figures, a reading one figure."""
    if lead == _FROM:
        return not had
    figures = sum(word[:1].isdigit() for word in had.split())
    return not is_number or figures < (2 if lead == _AIR else 1)


def _take_figure(parts: _Parts, lead: str, word: str) -> str:
    """Add a word to the figure it belongs to; after the figure of a keyword, a new number is the stop's own."""
    is_number = word[:1].isdigit()
    if lead and lead != "-":
        if _takes(lead, parts.after_keyword[lead], is_number=is_number):
            parts.after_keyword[lead] = f"{parts.after_keyword[lead]} {word}".strip()
            return lead
    elif lead == "-" and not is_number:
        raise BadField("words", f"'{word}' is not understood; write {HOW}")
    if parts.figure and is_number:
        raise BadField("figure", f"'{parts.figure}' and '{word}': name what each is, such as dip 30 1.8")
    parts.figure = f"{parts.figure} {word}".strip()
    return ""
