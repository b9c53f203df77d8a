"""The lines of the day at a glance."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from rich.style import Style
from rich.text import Text

from cooperage.book.words import entry_words
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.words import day_words
from cooperage.programme.several.moved import figures_words
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.aside import Aside
from cooperage.programme.today.day_walk import KegWork, RoomWork
from cooperage.programme.today.glance import Today
from cooperage.programme.today.kinds import Figured, day_named
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import (
    alike_words,
    besides_words,
    carry_words,
    counts_words,
    flights_words,
    full_words,
    head_day,
    keg_words,
    kegs_verdict,
    month_words,
    reason_words,
    sure_column,
    two_people_words,
    wood_words,
)
from cooperage.tui.shared.ink import DUE, TROUBLE
from cooperage.units import Quantity, Units, counted, local_day, show, show_when, unit_written

CALCULATING = "Look first: calculating"
_KNOWN = "·"
MARKS: dict[SignState, tuple[str, str]] = {
    SignState.TROUBLE: (TROUBLE, "ember"),
    SignState.DUE: (DUE, "honey"),
    SignState.KNOWN: (_KNOWN, "quiet"),
}
"""The mark of a state, and the role of its colour."""

Ink = Callable[[str], Style]
"""Gives the style of a role."""

_SURE_WIDTH = 5
_FEWEST_COLUMNS = 70


@dataclass(frozen=True, slots=True)
class FigureColumns:
    """How wide the columns of figures are, so that all stand on their point."""

    whole: int
    part: int
    band: int
    unit: int

    @property
    def width(self) -> int:
        """All of them, with what is between."""
        return self.whole + self.part + self.band + self.unit + 2


def figure_columns(found: Iterable[Figured]) -> FigureColumns:
    """Return the columns for figures: as wide as the widest of each."""
    figures = list(found)
    parted = [_parted(figure.value) for figure in figures]
    return FigureColumns(
        whole=max((len(whole) for whole, _ in parted), default=0),
        part=max((len(part) for _, part in parted), default=0),
        band=max((len(figure.band) for figure in figures), default=0),
        unit=max((len(figure.unit) for figure in figures), default=0),
    )


def figure_cells(figure: Figured | None, columns: FigureColumns) -> tuple[str, str]:
    """Return a figure in its columns: the value on its point; its band and unit."""
    whole, part = ("", "") if figure is None else _parted(figure.value)
    band, unit = ("", "") if figure is None else (figure.band, figure.unit)
    return f"{whole:>{columns.whole}}{part:<{columns.part}}", f"{band:<{columns.band}} {unit:<{columns.unit}}"


@dataclass(frozen=True, slots=True)
class RowColumns:
    """How wide the columns of the rows are."""

    tag: int
    word: int
    figure: FigureColumns

    @property
    def before_why(self) -> int:
        """Where the reason begins."""
        return 2 + self.tag + 1 + self.word + 2 + self.figure.width + 2


def columns_of(found: Iterable[Matter]) -> RowColumns:
    """Return the columns for rows: as wide as the widest of each, rows of several aside."""
    single = [each for each in found if len(each.vessels) == 1]
    return RowColumns(
        tag=max((len(each.vessels[0]) for each in single), default=5),
        word=max((len(each.word) for each in single), default=8),
        figure=figure_columns(each.figure for each in single if each.figure is not None),
    )


def _parted(value: str) -> tuple[str, str]:
    """Part a figure at its point, which goes with what follows."""
    at = next((at for at, each in enumerate(value) if each in ".,"), len(value))
    return value[:at], value[at:]


def matter_line(matter: Matter, width: int, columns: RowColumns, ink: Ink) -> Text:
    """Return a row in `width` columns: mark, vessel, what, figure, why, how sure; a narrow one leaves the why out."""
    mark, role = MARKS[matter.state]
    line = Text(no_wrap=True)
    line.append(f"{mark} ", ink(role))
    sure = sure_column(matter)
    if len(matter.vessels) > 1:
        before = f"{matter.word}: "
        room = width - 2 - len(before) - max(_SURE_WIDTH, len(sure)) - 1
        line.append(f"{before}{alike_words(matter, room)}", ink("ink" if role != "quiet" else "quiet"))
    else:
        line.append(f"{matter.vessels[0]:<{columns.tag}} ", ink("ink") + Style(bold=True))
        line.append(f"{matter.word:<{columns.word}}  ", ink("ink"))
        value, rest = figure_cells(matter.figure, columns.figure)
        line.append(f"{value} ", ink("ink"))
        line.append(f"{rest}  ", ink("quiet"))
        if width >= _FEWEST_COLUMNS:
            room = width - line.cell_len - max(_SURE_WIDTH, len(sure)) - 1
            line.append(reason_words(matter, room)[:room], ink("quiet"))
    line.pad_right(max(0, width - line.cell_len - len(sure)))
    line.append(sure, ink("ink"))
    return line


def head_row(columns: RowColumns, width: int) -> str:
    """Return the heading over the rows."""
    why = "why" if width >= _FEWEST_COLUMNS else ""
    return f"{'Look first':<{columns.before_why}}{why:<{max(0, width - columns.before_why - 4)}}sure"


# --- orders ---------------------------------------------------------------------------------------------------------

_VERDICTS = {Verdict.IMPOSSIBLE: TROUBLE, Verdict.ASKED: DUE, Verdict.POSSIBLE: " "}


def order_line(checked: Checked, today: date, units: Units, width: int) -> Text:
    """Return one order in `width` columns: mark, number, day, what is to be done, what moves; the words give way."""
    order, moves = checked.order, figures_words(checked.written or {}, units)
    before = f"{_VERDICTS[checked.verdict]} {order.number:<4}{day_words(order.day, today):<14} "
    after = f"  {moves.partition(' (')[0]:>10}" if moves else ""
    room = max(0, width - len(before) - len(after))
    words = order_words(order, units, note=True)
    words = words if len(words) <= room else f"{words[: max(0, room - 1)]}…"
    return Text(f"{before}{words:<{room}}{after}", no_wrap=True)


def orders_head(found: Sequence[Checked], today: date) -> str:
    """Return the heading of the orders: how many, how many are late, how many cannot be done as they are."""
    late = sum(each.order.day < today for each in found)
    stuck = sum(each.verdict is Verdict.IMPOSSIBLE for each in found)
    parts = [counted(len(found), "order"), *([f"{late} late"] if late else []), *([f"▲ {stuck}"] if stuck else [])]
    return f"Orders   {', '.join(parts)}"


# --- the walk -------------------------------------------------------------------------------------------------------

_KEGS_ABREAST = 2


def walk_lines(today: Today, units: Units, width: int, most: int) -> list[str]:
    """Return the walk by room in `most` lines at most, what the kegs give beside it if there is room, what to carry."""
    walk = today.walk
    if not walk.rooms:
        return [f"Walk  Nothing is due today.{f' Next: {today.coming}.' if today.coming else ''}"]
    left, right = _rooms(today, units), _kegs(today, units)
    is_beside = max(map(len, left)) + 2 + max(map(len, right), default=0) <= width and len(right) <= most - 1
    kegs = "" if is_beside else kegs_verdict(walk, units)
    rest = _fitting(kegs, carry_words(walk, units), two_people_words(today), width)
    left = _as_many(left, most - len(rest), today)
    return [*(_beside(left, right) if is_beside else left), *rest]


def _fitting(kegs: str, carry: Sequence[str], two: str, width: int) -> list[str]:
    """Return kegs, what is carried and who goes along in one line: as much of what is carried as fits, or in two."""
    lines = (" ".join(filter(None, (kegs, words, two))) for words in carry)
    fits = next((line for line in lines if len(line) <= width), None)
    return _packed([kegs, carry[-1], two], " ", width) if fits is None else [fits] if fits else []


def _rooms(today: Today, units: Units) -> list[str]:
    walk = today.walk
    wide = max(4, *(len(work.room or "no room") for work in walk.rooms))
    whole = RoomWork("all", walk.stops, walk.top_ml, {})
    rooms = [*walk.rooms, *([whole] if len(walk.rooms) > 1 else [])]
    return [f"{'Walk':<{wide}} stops      top  besides", *(_room(work, wide, units) for work in rooms)]


def _room(work: RoomWork, wide: int, units: Units) -> str:
    top = show(Quantity.VOLUME, work.top_ml, units) if work.top_ml else "–"
    return f"{work.room or 'no room':<{wide}} {work.stops:>5} {top:>8}  {besides_words(work)}"


def _as_many(left: list[str], most: int, today: Today) -> list[str]:
    """Keep to so many lines: the sum goes first, then the last line has how many rooms and stops are not shown."""
    rooms = today.walk.rooms
    if len(left) > most and len(rooms) > 1:
        left = left[:-1]
    if len(left) <= most or most < 2:
        return left[: max(1, most)]
    hidden = rooms[most - 2 :]
    stops = counted(sum(work.stops for work in hidden), "stop")
    return [*left[: most - 1], f"and {counted(len(hidden), 'room')} more, {stops}"]


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


def aside_lines(today: Today, aside: Aside | None, units: Units, width: int, most: int) -> list[str]:
    """Return wood, flights under way and the month's losses, which may still be calculated, in `most` lines."""
    wood = wood_words(today, aside)
    first = [f"Wood   {wood[0]}", *wood[1:]] if wood else ["Wood   no barrel is empty or neutral"]
    if aside is None:
        return [*_packed(first, " · ", width)[:1], *(["Panel  calculating"] if most > 2 else []), "Lost   calculating"]
    flights, lost = flights_words(aside, today), f"Lost   {month_words(aside.month, units)}"
    if most > 2:
        return [*_packed(first, " · ", width)[:1], f"Panel  {flights or 'no flight is open'}", lost]
    return [_packed([*first, flights], " · ", width)[0], lost]


def last_line(today: Today, units: Units) -> str:
    """Return the entry that was written last."""
    if today.last is None:
        return "Nothing is written yet."
    hand = f"  {today.last.hand}" if today.last.hand else ""
    vessel = f"  {today.last.vessel}:" if today.last.vessel else " "
    words = entry_words(today.last, units, seen_from=today.last.vessel or "", short=True)
    at = today.last.happened_at
    when = f"{day_named(at, today.cellar.at)} {show_when(at).split(' ')[1]}"
    return f"Last entry  {when}{hand}{vessel} {words}"


def day_line(day: date, today: Today | None, width: int) -> str:
    """Return the day, the cellar's name, what is full, and at the right what is wrong and to do, once it is known."""
    if today is None:
        return head_day(day)
    right = counts_words(today)
    parts = [head_day(local_day(today.cellar.at)), *([today.name] if today.name else []), full_words(today)]
    while len(parts) > 1 and len("   ".join(parts)) + 2 + len(right) > width:
        parts.pop(1 if len(parts) > 2 else 0)
    return f"{'   '.join(parts):<{max(0, width - len(right))}}{right}"
