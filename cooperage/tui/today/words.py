"""The lines of the day at a glance."""

from collections.abc import Sequence
from datetime import date

from rich.text import Text

from cooperage.book.words import entry_words
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.words import day_words
from cooperage.programme.several.moved import figures_words
from cooperage.programme.signs.sign import Sign
from cooperage.programme.today.glance import RoomWork, Today
from cooperage.programme.today.words import besides_words, carry_words, kegs_words, sure_column
from cooperage.units import Quantity, Units, counted, show, show_when

_SURE_WIDTH = 5


def sign_line(sign: Sign, width: int) -> Text:
    """Return one trouble in `width` columns: mark, vessel, what it is, why, how sure; the why gives way."""
    before = f"▲ {sign.vessel:<8} {sign.kind:<13} "
    room = max(0, width - len(before) - _SURE_WIDTH - 1)
    why = sign.why if len(sign.why) <= room else f"{sign.why[: max(0, room - 1)]}…"
    return Text(f"{before}{why:<{room}} {sure_column(sign):>{_SURE_WIDTH}}", no_wrap=True)


_MARKS = {Verdict.IMPOSSIBLE: "▲", Verdict.ASKED: "○", Verdict.POSSIBLE: " "}


def order_line(checked: Checked, today: date, units: Units, width: int) -> Text:
    """Return one order in `width` columns: mark, number, day, what is to be done, what moves; the words give way."""
    order, moves = checked.order, figures_words(checked.written or {}, units)
    before = f"{_MARKS[checked.verdict]} {order.number:<4}{day_words(order.day, today):<14} "
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


def room_line(work: RoomWork, units: Units) -> str:
    """Return what one room asks for: stops, litres to top with, what else."""
    top = show(Quantity.VOLUME, work.top_ml, units) if work.top_ml else "–"
    return f"  {work.room or 'no room':<12} {work.stops:>5} {top:>10}   {besides_words(work)}"


def walk_lines(today: Today, units: Units) -> list[str]:
    """Return the walk by room, what the kegs give, what to carry."""
    if not today.rooms:
        return [f"Nothing is due today.{f' Next: {today.coming}.' if today.coming else ''}"]
    rooms = [room_line(work, units) for work in today.rooms]
    return [
        f"{'Walk':<14} stops        top   besides",
        *rooms,
        *filter(None, (kegs_words(today, units), carry_words(today, units))),
    ]


def last_line(today: Today, units: Units) -> str:
    """Return the entry that was written last."""
    if today.last is None:
        return "Nothing is written yet."
    hand = f"  {today.last.hand}" if today.last.hand else ""
    vessel = f"  {today.last.vessel}:" if today.last.vessel else " "
    words = entry_words(today.last, units, seen_from=today.last.vessel or "", short=True)
    return f"Last entry  {show_when(today.last.happened_at)}{hand}{vessel} {words}"


def head_line(today: Today) -> str:
    """Return the cellar in one line: barrels, trouble, stops."""
    barrels = f"{counted(today.full, 'barrel')} full, {len(today.empty)} empty"
    return f"{barrels}   ▲ {len(today.trouble)}  ○ {counted(today.stops, 'stop')}"
