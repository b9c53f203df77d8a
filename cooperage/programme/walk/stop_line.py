"""What is said at a stop, in one line: "1.8", "1.8 weeping vinegar; hoop rusty", "dip 30 1.8", "very low", "so2 24".

The first figure is what the task asks for (litres at a topping, free SO2 at a sulphite stop). Words for level, bung and
smell, a dip, a sulphite, the room's air and a source may follow in any order; after a semicolon comes the note.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from cooperage.book import Act, Book, Written
from cooperage.book.declared.from_text import BadField, parse_act
from cooperage.book.declared.looks import BUNGS, LEVELS, SEEN_FULL, SMELLS
from cooperage.programme.rounds.due import Task
from cooperage.programme.together import write_together
from cooperage.programme.walk.progress import Walk, mark_in
from cooperage.programme.walk.stops import ASKS, Stop
from cooperage.units import DEFAULT, Units

HOW = "such as 1.8 weeping vinegar; hoop rusty"
_LEADS = ("dip", "so2", "air", "from")
_FLAGS = {"not full": "not-full"}


@dataclass(frozen=True, slots=True)
class StopActs:
    """The acts of one line, the stop's own last, and whether they do what the stop is for."""

    acts: tuple[Act, ...]
    is_done: bool


@dataclass(slots=True)
class _Parts:
    """A line taken apart: its figure, what follows each leading word, and the words for level, bung and smell."""

    figure: str = ""
    after_keyword: dict[str, str] = field(default_factory=dict)
    level: str = ""
    bung: str = ""
    smells: list[str] = field(default_factory=list)
    not_full: bool = False
    note: str = ""


def parse_stop_line(stop: Stop, text: str, given: Mapping[str, str], now: datetime, units: Units = DEFAULT) -> StopActs:
    """Understand a line at a stop; `given` are texts for its own act ("from", "not-full", "when", "hand").

    Raises BadField; an empty line is only understood where the task asks for no figure.
    """
    parts = _split_line(text)
    if stop.task is not Task.TOP and ("from" in parts.after_keyword or parts.not_full):
        raise BadField("from" if "from" in parts.after_keyword else "not full", "only a topping is said so")
    common = {name: given[name] for name in ("when", "hand") if given.get(name)}

    def make(kind: str, **texts: str) -> Act:
        return parse_act(kind, {**common, **texts}, now, units)

    beside = [*_beside(stop, parts, make)]
    own = _own(stop, parts, given, make)
    is_seen_full = stop.task is Task.TOP and parts.level == SEEN_FULL
    if own is None and not beside:
        raise BadField(ASKS[stop.task].label, f"say what was done or seen, {HOW}")
    return StopActs((*beside, *([own] if own else [])), own is not None or is_seen_full)


def write_stop_acts(
    book: Book, walk: Walk, stop: Stop, stop_acts: StopActs, hand: str = "", *, sure: bool = False
) -> list[Written]:
    """Write what was said at a stop and, if so, that it is done: all of it or nothing, whatever happens to the power.

    On a sheet it happened when the sheet was walked; unsigned acts are signed by `hand`. Raises what `write_together`
    raises.
    """
    acts = [replace(act, at=act.at or walk.walked_at, hand=act.hand or hand) for act in stop_acts.acts]
    if not stop_acts.is_done:
        return write_together(book, acts, sure=sure)
    written = write_together(book, acts, sure=sure, also=lambda session: mark_in(session, walk, stop.key, "done"))
    walk.states[stop.key] = "done"
    return written


def _own(stop: Stop, parts: _Parts, given: Mapping[str, str], make: Callable[..., Act]) -> Act | None:
    """Return the act the stop is for: the one its figure makes, or the one that needs none."""
    ask = ASKS[stop.task]
    if not ask.typed:
        if parts.figure:
            raise BadField(ask.label, f"'{parts.figure}' is not wanted here; a note comes after a semicolon")
        return make(ask.kind, vessel=stop.tag, **ask.given, note="" if _is_look(parts) else parts.note)
    if not parts.figure:
        return None
    texts = {"vessel": stop.tag, **ask.given, ask.typed: parts.figure, "note": "" if _is_look(parts) else parts.note}
    if stop.task is Task.TOP:
        source = parts.after_keyword.get("from", given.get("from", ""))
        texts |= {"from": source, "not-full": "yes" if parts.not_full else given.get("not-full", "")}
    return make(ask.kind, **texts)


def _beside(stop: Stop, parts: _Parts, make: Callable[..., Act]) -> list[Act]:
    """List what else was seen and read: the air, the look, the sulphite, the dip."""
    acts = []
    if "air" in parts.after_keyword:
        acts.append(_air(stop, parts.after_keyword["air"], make))
    if _is_look(parts) or (parts.note and not parts.figure and ASKS[stop.task].typed):
        smell = ", ".join(parts.smells)
        acts.append(make("look", vessel=stop.tag, level=parts.level, bung=parts.bung, smell=smell, note=parts.note))
    for lead, name, how in (("so2", "free_so2_mg_l", ""), ("dip", "headspace_mm", "dip")):
        if lead in parts.after_keyword:
            value = parts.after_keyword[lead]
            if not value:
                raise BadField(lead, f"give the figure after it, such as {lead} 24")
            acts.append(make("reading", vessel=stop.tag, property=name, value=value, how=how))
    return acts


def _air(stop: Stop, text: str, make: Callable[..., Act]) -> Act:
    room, figures = stop.position[0], text.replace("%", " ").split()
    if not room:
        raise BadField("air", f"{stop.tag} stands in no named room; shift it to one first")
    if len(figures) < 2:
        raise BadField("air", "give the temperature and the humidity, such as air 13.5 78")
    return make("climate", room=room, temperature=" ".join(figures[:-1]), humidity=figures[-1])


def _is_look(parts: _Parts) -> bool:
    return bool(parts.level or parts.bung or parts.smells)


def _split_line(text: str) -> _Parts:
    line, _, note = text.partition(";")
    parts, lead, words = _Parts(note=note.strip()), "", line.split()
    while words:
        pair, word = " ".join(words[:2]).casefold(), words[0].casefold()
        if pair in LEVELS or pair in _FLAGS:
            _take_word(parts, pair)
            words, lead = words[2:], "-"
        elif word in (*LEVELS, *BUNGS, *SMELLS):
            _take_word(parts, word)
            words, lead = words[1:], "-"
        elif word in _LEADS:
            if word in parts.after_keyword:
                raise BadField(word, f"'{word}' stands twice; say it once")
            lead, words, parts.after_keyword[word] = word, words[1:], ""
        else:
            lead = _take_figure(parts, lead, words[0])
            words = words[1:]
    return parts


def _take_word(parts: _Parts, word: str) -> None:
    if word in _FLAGS:
        parts.not_full = True
    elif word in SMELLS:
        parts.smells.append(word)
    else:
        where = "level" if word in LEVELS else "bung"
        if getattr(parts, where):
            raise BadField(where, f"'{getattr(parts, where)}' and '{word}' cannot both be; say one")
        setattr(parts, where, word)


def _takes(lead: str, had: str, *, is_number: bool) -> bool:
    """Say whether a leading word takes one more: a source is one word, the air two figures, the others one."""
    if lead == "from":
        return not had
    figures = sum(word[:1].isdigit() for word in had.split())
    return not is_number or figures < (2 if lead == "air" else 1)


def _take_figure(parts: _Parts, lead: str, word: str) -> str:
    """Add a word to the figure it belongs to; after the figure of a leading word, a new number is the stop's own."""
    is_number = word[:1].isdigit()
    if lead and lead != "-":
        if _takes(lead, parts.after_keyword[lead], is_number=is_number):
            parts.after_keyword[lead] = f"{parts.after_keyword[lead]} {word}".strip()
            return lead
    elif lead == "-" and not is_number:
        raise BadField("words", f"'{word}' is not understood; write {HOW}")
    if parts.figure and is_number:
        raise BadField("figure", f"'{parts.figure}' and '{word}': say which is which, such as dip 30 1.8")
    parts.figure = f"{parts.figure} {word}".strip()
    return ""
