"""The line typed at a stop: "1.1; so2 24 ph 3.41; weeping, smells of vinegar". One line does everything at a vessel.

A bare figure is the litres of a topping. Readings, looks, barrel work, additions and the room's air are named, in any
order; `line_parts` takes the line apart. "from K-02", "by Tove" and "yesterday 14:30" hold for all of it.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cooperage.book import Act, Book, Writing, Written
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField, parse_act
from cooperage.book.declared.looks import SOUND_SMELL
from cooperage.book.declared.properties import PROPERTIES, PROPERTY_SPELLINGS
from cooperage.book.errors import Implausible
from cooperage.book.writing.doubts import literal
from cooperage.errors import BadInput
from cooperage.programme.rounds.due import Task
from cooperage.programme.together import write_together
from cooperage.programme.walk.line_parts import LineParts, parts_of
from cooperage.programme.walk.progress import LEFT_OUT, OUT_OF_REACH, Walk, mark_in
from cooperage.programme.walk.stops import Stop, fulfilled_by
from cooperage.units import DEFAULT, Units

HOW = "such as 1.8; so2 24; weeping, vinegar"
NOT_DONE = {"skip": LEFT_OUT, LEFT_OUT: LEFT_OUT, OUT_OF_REACH: OUT_OF_REACH}
"""Lines that mean nothing was done, and the state in which they leave every open task of the vessel."""
ALL_IN_ORDER = frozenset({"ok", "all good", "all in order"})
_DIP, _SNIFF = "headspace_mm", Task.SNIFF.value


class NothingTyped(BadInput):
    """An empty line, which does nothing."""

    def __init__(self) -> None:
        super().__init__(f"type what was done or seen, {HOW}")


Closing = Callable[[Writing, Sequence[Written]], Iterable[str]]
"""Closes what written acts do besides, in their transaction, and returns what a walk knows it by."""


@dataclass(frozen=True, slots=True)
class StopActs:
    """What one line means: its acts, the topping last, and which tasks of the stop they do.

    `keg` and `hand` are those that the line names, for what follows too; `left` is the state in which it leaves the
    vessel's open tasks where nothing was done.
    """

    acts: tuple[Act, ...]
    done_tasks: tuple[Task, ...] = ()
    keg: str = ""
    hand: str = ""
    left: str = ""


def parse_stop_line(stop: Stop, text: str, given: Mapping[str, str], now: datetime, units: Units = DEFAULT) -> StopActs:
    """Understand a line typed at a stop.

    `given` are texts that hold unless the line names another: "from", "when", "hand", "not-full".

    Raises NothingTyped, NotAWord and BadField.
    """
    plain = " ".join(text.casefold().split())
    if plain in NOT_DONE:
        return StopActs((), left=NOT_DONE[plain])
    if plain in ALL_IN_ORDER:
        return all_in_order(stop)
    parts = parts_of(text, now, units)
    _check_topping(parts)
    common = {"when": parts.when or given.get("when", ""), "hand": parts.hand or given.get("hand", "")}

    def make(kind: str, **texts: str) -> Act:
        subject = {} if kind == "climate" else {"vessel": stop.tag}
        return parse_act(kind, {**common, **subject, **texts}, now, units)

    found = _noted(list(_acts(stop, parts, given, make)), parts, make)
    if not found and not (parts.source or parts.hand):
        raise NothingTyped
    return StopActs(tuple(found), _done(stop, found), parts.source, parts.hand)


def all_in_order(stop: Stop) -> StopActs:
    """Return what it means that all is in order at a vessel: it was looked at, tasted and sniffed, as far as is due.

    What has to be measured stays open.
    """
    meant = {Task.TOP: "inspect", Task.TASTE: "taste", Task.SNIFF: "sniff"}
    found = [acts.Treat(vessel=stop.tag, treatment=meant[task]) for task in stop.open_tasks if task in meant]
    return StopActs(tuple(found), _done(stop, found))


def write_stop_acts(
    book: Book,
    walk: Walk,
    stop: Stop,
    stop_acts: StopActs,
    hand: str = "",
    *,
    sure: bool = False,
    closing: Closing | None = None,
) -> list[Written]:
    """Write the acts of a stop's line and what became of its tasks in one transaction; they are struck as one too.

    On a sheet an act is dated when the sheet was walked; unsigned acts are signed by `hand`. `closing` closes the
    orders that the acts do, and gives what the walk knows them by. Raises what `write_together` raises.
    """
    found = [replace(act, at=act.at or walk.walked_at, hand=act.hand or hand) for act in stop_acts.acts]
    done, state = [task.value for task in stop_acts.done_tasks], "done"
    if stop_acts.left:
        done, state = list(stop.open_keys), stop_acts.left
    keys = [(stop.tag, key) for key in done]

    def also(session: Writing, written: Sequence[Written]) -> None:
        if closing is not None:
            keys.extend((stop.tag, key) for key in closing(session, written))
        for key in keys:
            mark_in(session, walk, key, state)

    doubts = list(odd_toppings(stop, found))
    written = write_together(book, found, sure=sure, doubts=doubts, also=also if keys or closing else None, as_one=True)
    walk.states.update(dict.fromkeys(keys, state))
    return written


_ODD_SHARE, _JUG_ML = 0.25, 100
"""A topping is asked back that is so much over the most expected: a share of it, and what a jug shows (no source)."""


def odd_toppings(stop: Stop, found: Sequence[Act]) -> Iterator[Implausible]:
    """Ask back a topping to the bung of more than the vessel should take by its level now; unknown is not asked."""
    level = stop.level
    if level is None or level.low is None:
        return
    most, usual = level.capacity_ml - level.low, level.short_ml
    for act in found:
        if isinstance(act, acts.Top) and not act.not_full and act.volume > most * (1 + _ODD_SHARE) + _JUG_ML:
            yield Implausible(
                f"Is it {{asked}}? {literal(stop.tag)} should take {{usual}}, {{most}} at most. Leaking, or a slip?",
                asked=act.volume,
                usual=usual,
                most=most,
            )


def _done(stop: Stop, found: list[Act] | list[acts.Treat]) -> tuple[Task, ...]:
    done = {fulfilled_by(act) for act in found}
    return tuple(each.task for each in stop.tasks if each.task in done)


def _check_topping(parts: LineParts) -> None:
    if parts.not_full and not parts.figure:
        raise BadField("not full", "this belongs to a topping; give its litres too, such as 1.1 not full")


# --- the acts of a line, in the order in which they are written -----------------------------------------------------


def _acts(stop: Stop, parts: LineParts, given: Mapping[str, str], make: Callable[..., Act]) -> Iterator[Act]:
    """Yield the air, the look, readings, the dip, barrel work, additions; the topping last, so that a strike meets it.

    A dip before a topping is a reading, unless a dip is due: then the book is brought to it first.
    """
    if parts.air is not None:
        yield _air(stop, parts.air, make)
    smells, work = _smelled(stop, parts)
    if parts.level or parts.bung or smells:
        yield make("look", level=parts.level, bung=parts.bung, smell=", ".join(smells))
    is_gauged = not parts.figure or Task.GAUGE in stop.all_tasks
    for name in PROPERTIES:
        if name in parts.read and not (name == _DIP and is_gauged):
            yield _reading(name, *parts.read[name], make)
    if _DIP in parts.read and is_gauged:
        yield make("gauge", headspace=parts.read[_DIP][1])
    for treatment, words in work.items():
        yield make("treat", treatment=treatment, note=words)
    for substance, amount in parts.doses:
        yield make("addition", substance=substance, amount=amount)
    if parts.figure:
        how = "yes" if parts.not_full else given.get("not-full", "")
        source = parts.source or given.get("from", "")
        yield make("top", volume=parts.figure, **{"from": source, "not-full": how})


def _smelled(stop: Stop, parts: LineParts) -> tuple[list[str], dict[str, str]]:
    """Return the smells and the barrel work: an empty barrel that was smelled was sniffed.

    A barrel that holds mead is sniffed at the bung, which is a look.
    """
    smells, work = list(parts.smells), dict(parts.work)
    if stop.is_empty and smells:
        work.setdefault(_SNIFF, "")
    if not stop.is_empty and _SNIFF in work:
        del work[_SNIFF]
        smells = smells or [SOUND_SMELL]
    return smells, work


def _reading(name: str, spelling: str, value: str, make: Callable[..., Act]) -> Act:
    named = spelling if spelling.casefold() in PROPERTY_SPELLINGS else name
    return make("reading", property=named, value=value, how="dip" if name == _DIP else "")


def _air(stop: Stop, air: tuple[str, str], make: Callable[..., Act]) -> Act:
    room = stop.position[0]
    if not room:
        raise BadField("air", f"{stop.tag} is in no named room; move it to a room first")
    return make("climate", room=room, temperature=air[0], humidity=air[1])


def _noted(found: list[Act], parts: LineParts, make: Callable[..., Act]) -> list[Act]:
    """Give the line's note to the look, else to the last act; to a look of its own where that has words already."""
    note = "; ".join(parts.notes)
    if not note:
        return found
    looks = (nth for nth, act in enumerate(found) if isinstance(act, acts.Look))
    nth = next(looks, len(found) - 1)
    if nth < 0 or found[nth].note or isinstance(found[nth], acts.Climate):
        return [make("look", note=note), *found]
    return [*found[:nth], replace(found[nth], note=note), *found[nth + 1 :]]
