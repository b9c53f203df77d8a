"""The head of a vessel's page: who it is and what is wrong, its level, its wood and past, what comes, its future.

Each line is made of whole parts: what finds no room is left out, never cut.
"""

from collections.abc import Iterable
from datetime import datetime
from textwrap import wrap

from rich.text import Text
from textual.app import App

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Standing
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import before_vessel
from cooperage.book.declared.verdicts import QUARANTINE
from cooperage.book.vessel_words import (
    age_words,
    capacity_words,
    chalked_place,
    cooperage_words,
    empty_words,
    fill_words,
    lots_words,
    wood_words,
)
from cooperage.programme.ahead.outlook import Ahead
from cooperage.programme.losses.level import Level
from cooperage.programme.page.marks import VesselPage, due_words, trouble_words
from cooperage.programme.ready.words import chance_in_words
from cooperage.programme.rounds.due import Due
from cooperage.programme.upkeep.looks import filled_at
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.tui.shared.gauges import held_words, level_bar
from cooperage.tui.shared.ink import DUE, TROUBLE, ink
from cooperage.units import Quantity, Units, show, show_date

_WIDEST_BAR, _LEAST_BAR = 40, 6
CALCULATING = "calculating"


def head_texts(
    standing: Standing,
    level: Level | None,
    page: VesselPage | None,
    app: App[object],
    width: int,
    units: Units,
    *,
    with_wood: bool = True,
) -> list[Text]:
    """Return the lines of the head, always as many for a vessel; `level` and `page` may still be on their way."""
    lines = [_who(standing, page, app, width, units), _level(standing, level, app, width, units)]
    if with_wood or standing.is_retired or not standing.ml:
        left = "" if page is None else _left_in_short(page.wood)
        lines += [Text(line, ink(app, "quiet")) for line in wood_lines(standing, width, units, left)]
    if standing.vessel.is_barrel and not standing.is_retired:
        lines.append(_coming(standing, page, app, width, units))
        lines += [_ahead(standing, page, app, width, units)] if standing.ml else []
    return [*lines, *(Text(line, ink(app, "honey", bold=True)) for line in _cautions(standing, width, units))]


def _cautions(standing: Standing, width: int, units: Units) -> Iterable[str]:
    for found in cautions(before_vessel(standing, units)):
        yield from wrap(f"Caution: {found.line}", width, subsequent_indent="  ")


def fitted(parts: Iterable[str], width: int, between: str = " · ") -> str:
    """Return as many parts as there is room for, in order, each whole; the first one in any case."""
    line = ""
    for part in filter(None, parts):
        longer = f"{line}{between}{part}" if line else part
        if line and len(longer) > width:
            break
        line = longer
    return line


def _who(standing: Standing, page: VesselPage | None, app: App[object], width: int, units: Units) -> Text:
    """Return tag, place and lots, and at the right end what is wrong and what is due."""
    marks = _marks(standing, page, app, units)
    room = width - marks.cell_len - 2
    text = Text(no_wrap=True).append(standing.tag, ink(app, "ink", bold=True))
    held = lots_words(standing, 2) if standing.ml else ""
    for part in (chalked_place(standing.position), held, _decided(standing, page)):
        if part and text.cell_len + 2 + len(part) <= room:
            text.append(f"  {part}", ink(app, "quiet"))
    text.append(" " * max(2, width - text.cell_len - marks.cell_len))
    return text.append_text(marks)


def _left_in_short(wood: str) -> str:
    """Return what is left in the wood without its band and rank: "10 % wood left"."""
    share, is_share, _ = wood.partition(" of new wood left")
    return f"{share} wood left" if is_share else ""


def _decided(standing: Standing, page: VesselPage | None) -> str:
    """Return what was decided of it and how surely it is ready, in few words; empty where neither is known."""
    judged = f"judged {standing.judged.decided.words}" if standing.judged is not None and standing.ml else ""
    chance = None if page is None or page.ready is None else page.ready.chance
    ready = f"{chance_in_words(chance)} ready" if chance is not None and standing.ml else ""
    return ", ".join(filter(None, (judged, ready)))


def _marks(standing: Standing, page: VesselPage | None, app: App[object], units: Units) -> Text:
    if standing.is_retired:
        return Text("")
    if not standing.vessel.is_barrel:
        return Text(f"{TROUBLE} {QUARANTINE}" * standing.is_quarantined, ink(app, "ember"))
    if page is None:
        return Text(CALCULATING, ink(app, "quiet"))
    wrong = trouble_words(standing, page.signs, units)
    due = [word for word in due_words(page.outlook.coming) if not any(word in each for each in wrong)]
    text = Text("")
    if wrong:
        text.append(f"{TROUBLE} {', '.join(wrong)}", ink(app, "ember"))
    if due:
        text.append(f"{'  ' if wrong else ''}{DUE} {', '.join(due)}", ink(app, "honey"))
    return text


def _level(standing: Standing, level: Level | None, app: App[object], width: int, units: Units) -> Text:
    """Return a bar as long as there is room for, and what it holds now and in the book."""
    if not standing.ml:
        size = f"{show(Quantity.VOLUME, standing.vessel.capacity_ml, units)}, {capacity_words(standing)}"
        return Text(f"{empty_words(standing)}; holds {size}", ink(app, "ink"))
    if level is None:
        book, size = (show(Quantity.VOLUME, ml, units) for ml in (standing.ml, standing.vessel.capacity_ml))
        return Text(f"level now: {CALCULATING}; {book} of {size} in the book", ink(app, "quiet"))
    held = held_words(standing, level, units)
    bar = min(_WIDEST_BAR, width - len(held) - 4)
    text = Text("", no_wrap=True)
    if bar >= _LEAST_BAR:
        text.append(f"{level_bar(level, bar)} ", ink(app, "mead"))
    return text.append(held, ink(app, "ink"))


def wood_lines(standing: Standing, width: int, units: Units, left: str = "") -> list[str]:
    """Return its wood and past with what is `left` of it, and how it was made; of another vessel what it is."""
    if standing.is_retired:
        return [f"RETIRED on {show_date(standing.last('retire'), standing.at).strip()}: {standing.state.retired_why}"]
    barrel = standing.vessel.barrel
    if barrel is None:
        return [fitted([standing.vessel.kind, *_time(standing, units), standing.vessel.note], width)]
    return [
        fitted([f"{wood_words(standing)}, {fill_words(standing)}", left, *_time(standing, units)], width),
        fitted([cooperage_words(barrel).partition("; not known")[0] or "how it was made is not known"], width),
    ]


def _time(standing: Standing, units: Units) -> Iterable[str]:
    if standing.ml and (aged := age_words(standing)):
        yield aged
    if standing.ml:
        yield capacity_words(standing)
        yield f"cost {show_figure('cost_per_l', standing.cost_per_l, units)}"


def _coming(standing: Standing, page: VesselPage | None, app: App[object], width: int, units: Units) -> Text:
    """Return what is due since when, and what comes next."""
    if page is None:
        return Text(f"Next: {CALCULATING}", ink(app, "quiet"))
    coming = page.outlook.coming
    late = [f"{_task(due)} since {_date(due, standing)}" for due in coming if due.overdue_days > 0]
    later = [f"{_task(due)} {_date(due, standing)}" for due in coming if due.overdue_days <= 0]
    text = Text("", no_wrap=True)
    if late:
        text.append(f"{DUE} due: {fitted(late, width - 7, ', ')}", ink(app, "honey"))
    room = width - text.cell_len - 9
    if later and room >= len(later[0]):
        text.append(f"{'   next' if late else 'Next'}: {fitted(later, room, ', ')}", ink(app, "ink"))
    text = text if late or later else Text("Nothing comes due", ink(app, "quiet"), no_wrap=True)
    panel = next((each for each in _last_panel(standing, page, units) if text.cell_len + len(each) <= width), "")
    return text.append(panel, ink(app, "quiet"))


def _last_panel(standing: Standing, page: VesselPage, units: Units) -> Iterable[str]:
    """Yield what the panel gave it last, as it stands behind what comes, ever shorter; nothing where none did.

    What was scored before this fill was of other mead.
    """
    scores = page.past.scores
    if not scores or (mean := scores[-1].mean) is None:
        return
    points = f"{show(Quantity.NUMBER, mean, units, digits=1)} on {scores[-1].scale}"
    if not standing.ml or scores[-1].at < filled_at(standing):
        yield f"   before this fill: {points}" if standing.ml else f"   last fill scored {points}"
    else:
        yield f"   last score {points} in {scores[-1].flight}"
        yield f"   scored {points}"


def _task(due: Due) -> str:
    return TASK_WORDS[due.task]


def _date(due: Due, standing: Standing) -> str:
    return show_date(due.due, standing.at).strip()


def _ahead(standing: Standing, page: VesselPage | None, app: App[object], width: int, units: Units) -> Text:
    words = "" if page is None else ahead_line(page.outlook.ahead, standing.at, units, width)
    return Text(words, ink(app, "quiet"), no_wrap=True)


def ahead_line(ahead: Ahead | None, now: datetime, units: Units, width: int) -> str:
    """Return in one line what it will hold and be if untouched; empty where there is no forecast."""
    if ahead is None:
        return ""
    forecast = ahead.forecast
    low = show(Quantity.VOLUME, round(forecast.ml.low), units, with_unit=False)
    high = show(Quantity.VOLUME, round(forecast.ml.high), units)
    parts = [f"Left alone {show_date(forecast.on, now).strip()}: {low} to {high} (90 %)"]
    for quantity, band in ((Quantity.STRENGTH, forecast.abv), (Quantity.SUGAR, forecast.sugar_g_l)):
        parts += [show(quantity, band.value, units)] if band is not None else []
    if (by := ahead.low_by) is not None:
        short = show(Quantity.VOLUME, by.limit_ml, units)
        since = "since " if by.expected <= now else ""
        parts.insert(1, f"{short} short {since}{show_date(by.expected, now).strip()}")
    return fitted(parts, width, ", ")
