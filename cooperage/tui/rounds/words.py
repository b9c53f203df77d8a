"""The words of the rounds: a stop in one line, what is to do there, the walk in one line."""

from collections.abc import Callable, Sequence
from datetime import datetime

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from cooperage.book import Cellar
from cooperage.book.vessel_words import chalked_place, lots_words
from cooperage.programme.losses.level import format_short
from cooperage.programme.rounds.due import Task
from cooperage.programme.signs.sign import Sign
from cooperage.programme.walk.done_here import DoneHere
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.progress import LEFT_OUT, OUT_OF_REACH, Walk
from cooperage.programme.walk.stops import Stop, still_to_do
from cooperage.tui.shared import ink as marks
from cooperage.units import Quantity, Units, counted, local_day, show, show_clock, show_moment

MARKS = {"": marks.DUE, "done": marks.DONE, LEFT_OUT: marks.SKIPPED, OUT_OF_REACH: marks.OUT_OF_REACH}
_INK = {"": "honey", "done": "rain", LEFT_OUT: "quiet", OUT_OF_REACH: "quiet"}
NOT_DUE = "nothing is due"


Ink = Callable[[str], Style]
"""The style of a role in the theme in use."""


def stop_line(  # one value for each thing that a row shows
    stop: Stop,
    width: int,
    units: Units,
    ink: Ink,
    done: DoneHere | None = None,
    trouble: str = "",
    now: datetime | None = None,
) -> Text:
    """Return a stop in `width` columns: mark, place, tag, its tasks or what became of them; trouble at the right end.

    A stop that is dealt with is quiet, but for its mark, its tag and what is wrong.
    """
    place = chalked_place(stop.position, 8)
    state = stop.state if stop.is_due else "done"
    before = f"{place:<12} "
    when = _right(stop, done, now)
    right = " ".join(filter(None, (trouble, when)))
    room = max(0, width - cell_len(before) - 9 - (len(right) + 2 if right else 0))
    what = _what(stop, units, done)
    what = what if len(what) <= room else shortened(_what(stop, units, done, is_short=True), room)
    quiet = ink("quiet")
    line = Text.assemble((f"{MARKS[state]} ", ink(_INK[state])), (before, quiet), (f"{stop.tag:<6} ", "bold"))
    line.append(f"{what:<{room}}", quiet if stop.state or not stop.is_due else None)
    line.highlight_regex(f"{marks.TROUBLE} order [0-9]+", ink("ember"))
    if right:
        line.append("  ")
        line.append(trouble, ink(marks.role_of_mark(trouble)) if trouble else None)
        line.append(f"{' ' if trouble and when else ''}{when}", quiet)
    line.no_wrap = True
    return line


def _what(stop: Stop, units: Units, done: DoneHere | None, *, is_short: bool = False) -> str:
    if not stop.is_due:
        return NOT_DUE
    written = "" if done is None else done.words
    if stop.state == "done":
        return written or "done"
    left = f"{'(!) ' if stop.cautions else ''}{tasks_words(stop, units, is_short=is_short)}"
    return " · ".join(filter(None, (f"✓ {written}" if written else "", left)))


def _right(stop: Stop, done: DoneHere | None, now: datetime | None) -> str:
    if stop.state in (LEFT_OUT, OUT_OF_REACH):
        return stop.state
    if stop.state == "done" and done is not None:
        return _hour_or_moment(done.at, now)
    return ""


def _hour_or_moment(at: datetime, now: datetime | None) -> str:
    """Return the hour of a moment of today, else its day too."""
    is_today = now is None or local_day(at) == local_day(now)
    return show_clock(at) if is_today else show_moment(at, now or at).strip()


def trouble_words(stop: Stop, found: Sequence[Sign]) -> str:
    """Return the worst sign at a stop, with its mark; a leak that is as good as sure before the signs are known."""
    if stop.warning:
        return f"{marks.TROUBLE} leak"
    return f"{marks.state_shown(found[0].state)[0]} {found[0].word}" if found else ""


def tasks_words(stop: Stop, units: Units, *, is_short: bool = False) -> str:
    """Return what is to do at a stop, the litres to expect at a topping: "order 3: rack · top 1.0 L · SO2".

    A done task is left out; in short, litres and what is ordered are too.
    """
    expected = "" if is_short else expected_words(stop, units)
    words = {each.task: TASK_WORDS[each.task] for each in stop.tasks if each.state != "done"}
    if Task.TOP in words and expected:
        words[Task.TOP] += f" {expected}"
    orders = [
        f"{'▲ ' if each.is_impossible else ''}{each.short.partition(':')[0] if is_short else each.short}"
        for each in stop.orders
        if each.state != "done"
    ]
    return " · ".join([*orders, *words.values()])


def expected_words(stop: Stop, units: Units) -> str:
    """Return what a topping is expected to take; empty where none is due."""
    if stop.expected_ml is None:
        return ""
    if stop.level is None:
        return show(Quantity.VOLUME, stop.expected_ml, units)
    return format_short(stop.level, units).replace(" or more", "+")


def shortened(words: str, width: int) -> str:
    """Cut words to a width, with a sign that there is more."""
    return words if len(words) <= width else words[: max(0, width - 1)] + "…"


def todo_words(stop: Stop, keg: str | None, cellar: Cellar, units: Units, *, is_short: bool = False) -> str:
    """Return what is to do at the stop at hand, and from what it would be topped; in short without the keg's lots."""
    left = still_to_do(stop)
    if not left:
        return f"{stop.tag}: {stop.state if stop.is_due else NOT_DUE}; what is typed is written all the same."
    from_keg = "" if stop.is_empty else f"   {keg_words(keg, cellar, units, is_short=is_short)}"
    return f"{stop.tag}: {tasks_words(stop, units)}{from_keg}"


def keg_words(keg: str | None, cellar: Cellar, units: Units, *, is_short: bool) -> str:
    """Return what a topping is taken from: "K-01 holds 45.0 L of M-26"."""
    if keg is None or keg not in cellar:
        return "no keg to top from"
    held = cellar[keg]
    of = "" if is_short else f" of {lots_words(held, 2)}"
    return f"{held.tag} holds {show(Quantity.VOLUME, held.ml, units)}{of}"


def walk_line(walk: Walk | None, stops: Sequence[Stop], only: str, width: int, now: datetime) -> str:
    """Return the walk in one line: how many stops are to do, how many in each state, when it began if there is room.

    Of a walk begun today that is the hour, else the day with it.
    """
    if walk is None:
        return ""
    counts = {state: sum(stop.state == state for stop in stops) for state in MARKS}
    words = [f"{counts['']} of {counted(len(stops), 'stop')} to do"]
    words += [f"{counts[state]} {state}" for state in MARKS if state and counts[state]]
    words += [f"only {only}"] if only else []
    text = " · ".join(words)
    if walk.walked_at is not None:
        return f"Sheet walked {show_moment(walk.walked_at, now).strip()}: {text}"
    begun = f"since {_hour_or_moment(walk.began_at, now)}"
    gap = width - len(text) - len(begun)
    return f"{text}{' ' * gap}{begun}" if gap > 1 else text
