"""The lines under the lists of the day: the walk by room, what to carry, wood, losses, the last entry."""

from collections.abc import Iterable, Sequence

from cooperage.book.words import done_words
from cooperage.programme.bottling.words import open_briefly
from cooperage.programme.ready.words import ready_line
from cooperage.programme.today.aside import Aside
from cooperage.programme.today.day_walk import KegWork, RoomWork
from cooperage.programme.today.glance import Today
from cooperage.programme.today.kinds import day_named
from cooperage.programme.today.words import (
    besides_words,
    carry_words,
    flights_words,
    keg_words,
    kegs_verdict,
    later_words,
    month_words,
    two_people_words,
    wood_words,
)
from cooperage.tui.columns import within
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.ink import TROUBLE
from cooperage.units import Quantity, Units, counted, show, show_clock, unit_written

# --- the walk -------------------------------------------------------------------------------------------------------

_KEGS_ABREAST = 2
_NO_ROOM = "no room"


def walk_choices(today: Today, units: Units, width: int) -> list[list[str]]:
    """Return the walk in ever more lines: its sum; what to carry too; room by room; what the kegs give beside it.

    Room by room it may take one line a room, or a heading and the sum too.
    """
    walk = today.walk
    if not walk.rooms:
        nothing = f"Walk  Nothing is due today.{f' Next: {today.coming}.' if today.coming else ''}"
        return [[nothing, *filter(None, [two_people_words(today)])]]
    rest = _fitting(kegs_verdict(walk, units), carry_words(walk, units), two_people_words(today), width)
    whole = _sum(today, units, width)
    choices = [[whole], [whole, *rest], [*_compact(today, units), *rest], [*_rooms(today, units), *rest]]
    left, right = _rooms(today, units), _kegs(today, units)
    if right and max(map(len, left)) + 2 + max(map(len, right)) <= width:
        beside = _fitting("", carry_words(walk, units), two_people_words(today), width)
        choices[-1] = [*_beside(left, right), *beside]
    return choices


def _sum(today: Today, units: Units, width: int) -> str:
    """Return the walk in one line: all stops and litres, and where, as far as it fits."""
    walk = today.walk
    top = f", top {show(Quantity.VOLUME, walk.top_ml, units)}" if walk.top_ml else ""
    whole = f"Walk  {counted(walk.stops, 'stop')}{top}"
    by_room = f"{whole}: {', '.join(f'{work.room or _NO_ROOM} {work.stops}' for work in walk.rooms)}"
    fits = (by_room, f"{whole} in {counted(len(walk.rooms), 'room')}", whole)
    return next((words for words in fits if len(words) <= width), whole)


def _compact(today: Today, units: Units) -> list[str]:
    """Return a line for each room, without a heading."""
    rooms = today.walk.rooms
    wide = max(len(work.room or _NO_ROOM) for work in rooms)
    counts = [counted(work.stops, "stop") for work in rooms]
    tops = [f"top {show(Quantity.VOLUME, work.top_ml, units)}" if work.top_ml else "" for work in rooms]
    columns = max(map(len, counts)), max(map(len, tops))
    lines = [
        f"{work.room or _NO_ROOM:<{wide}}  {count:>{columns[0]}}  {top:>{columns[1]}}  {besides_words(work)}"
        for work, count, top in zip(rooms, counts, tops, strict=True)
    ]
    return [f"{'' if nth else 'Walk':<6}{line}".rstrip() for nth, line in enumerate(lines)]


def _fitting(kegs: str, carry: Sequence[str], two: str, width: int) -> list[str]:
    """Return kegs, what is carried and who goes along in one line: as much of what is carried as fits, or in two.

    That the kegs hold enough is left out where it does not fit.
    """
    found = [(kegs, words, two) for words in carry]
    if not kegs.startswith(TROUBLE):
        found.append(("", carry[-1], two))
    lines = [" ".join(filter(None, parts)) for parts in found]
    fits = next((line for line in lines if len(line) <= width), None)
    return _packed([kegs, carry[-1], two], " ", width) if fits is None else [fits] if fits else []


def _rooms(today: Today, units: Units) -> list[str]:
    walk = today.walk
    wide = max(4, *(len(work.room or _NO_ROOM) for work in walk.rooms))
    whole = RoomWork("all", walk.stops, walk.top_ml, {})
    rooms = [*walk.rooms, *([whole] if len(walk.rooms) > 1 else [])]
    return [f"{'Walk':<{wide}} stops      top  besides", *(_room(work, wide, units) for work in rooms)]


def _room(work: RoomWork, wide: int, units: Units) -> str:
    top = show(Quantity.VOLUME, work.top_ml, units) if work.top_ml else "–"
    return f"{work.room or _NO_ROOM:<{wide}} {work.stops:>5} {top:>8}  {besides_words(work)}"


def _kegs(today: Today, units: Units) -> list[str]:
    """Return what the kegs give of what they hold, some abreast; one that cannot is marked."""
    kegs = today.walk.kegs
    if not kegs:
        return []
    gives, holds = (
        max(len(show(Quantity.VOLUME, ml, units, with_unit=False)) for ml in each)
        for each in ([keg.gives_ml for keg in kegs], [keg.holds_ml for keg in kegs])
    )
    cells = [_keg(keg, gives + 4 + holds, units) for keg in kegs]
    high = -(-len(cells) // _KEGS_ABREAST)
    rows = [" ".join(cells[at::high]) for at in range(high)]
    return [f" Kegs: give of hold, {unit_written(Quantity.VOLUME, units)}", *rows]


def _keg(keg: KegWork, wide: int, units: Units) -> str:
    return f"{TROUBLE if keg.is_short else ' '}{keg.tag} {keg_words(keg, units):>{wide}}"


def _beside(left: Sequence[str], right: Sequence[str]) -> list[str]:
    wide = max(map(len, left)) + 1
    high = max(len(left), len(right))
    pairs = zip([*left, *[""] * (high - len(left))], [*right, *[""] * (high - len(right))], strict=True)
    return [f"{one:<{wide}}{other}".rstrip() for one, other in pairs]


def _packed(clauses: Sequence[str], between: str, width: int) -> list[str]:
    """Set clauses one after the other in as few lines of a width as they take."""
    lines: list[str] = []
    for clause in filter(None, clauses):
        longer = f"{lines[-1]}{between}{clause}" if lines else ""
        if lines and len(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(clause)
    return lines


# --- the rest -------------------------------------------------------------------------------------------------------


def rest_lines(today: Today, aside: Aside | None, units: Units, width: int, most: int) -> list[str]:
    """Return wood, flights, the month's losses and the last entry in `most` lines; in few they share a line.

    What is still calculated is named so. In one line the last entry stands first, with as much of the rest as fits.
    """
    last, wood = within(last_words(today, units), width), wood_words(today, aside)
    if not today.full and not today.empty:  # no barrel is registered yet
        return [last][:most]
    asked = () if aside is None else (open_briefly(aside.runs), flights_words(aside, today), later_words(aside))
    flights = ", ".join(filter(None, asked))
    losses = ("calculating",) if aside is None else month_words(aside.month, today.walk, units)
    if most <= 1:
        return [_joined(last, (f"lost {losses[-1]}", *wood, flights), width)][:most]
    lost = next((words for words in losses if len(words) + _LABEL <= width), losses[-1])
    ready = None if aside is None else ready_line(aside.ready)
    woods = _joined(f"Wood   {' · '.join(wood)}", (flights, *_if_defined(ready, aside)), width) if wood else ""
    if most == 2:
        return [_joined(f"Lost   {lost}", wood, width), last]
    if most == 3:
        return [woods or "Wood   no barrel is empty or neutral", f"Lost   {lost}", last]
    panel = f"Panel  {'calculating' if aside is None else flights or 'no flight is open'}"
    if aside is not None and flights and flights == later_words(aside):
        panel = f"Period {flights}"
    if aside is not None and aside.runs:
        panel = f"Run    {flights.removeprefix('run ')}"
    plain = f"Wood   {' · '.join(wood) or 'no barrel is empty or neutral'}"
    pulled = "calculating" if ready is None else on_screen(" · ".join(ready))
    if most > _FOUR:
        return [plain, f"Ready  {pulled}", panel, f"Lost   {lost}", last]
    is_ready_wanted = not flights and _if_defined(ready, aside)
    return [plain, f"Ready  {pulled}" if is_ready_wanted else panel, f"Lost   {lost}", last]


_LABEL, _FOUR = len("Lost   "), 4


def _if_defined(ready: Sequence[str] | None, aside: Aside | None) -> Sequence[str]:
    """Return what is ready, where the cellar has defined that."""
    return ready if ready and aside is not None and aside.ready else ()


def _joined(first: str, more: Iterable[str], width: int) -> str:
    """Return words with those others after them that fit whole."""
    line = first
    for words in filter(None, more):
        if len(line) + 3 + len(words) <= width:
            line += f" · {words}"
    return line


def last_words(today: Today, units: Units) -> str:
    """Return the entry that was written last."""
    if today.last is None:
        return "Nothing is written yet."
    hand = f"  {today.last.hand}" if today.last.hand else ""
    vessel = f"  {today.last.vessel}:" if today.last.vessel else " "
    at = today.last.happened_at
    when = f"{day_named(at, today.cellar.at)} {show_clock(at)}"
    return f"Last entry  {when}{hand}{vessel} {done_words(today.last, units)}"
