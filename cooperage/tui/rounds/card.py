"""The card of the stop at hand: the level now, sulphur dioxide, what is wrong, what is to do and why, what to mind."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from textual.content import Content

from cooperage.book import Figure, Standing
from cooperage.book.vessel_words import chalked_place, figure_words, fill_words, lots_words, wood_words
from cooperage.programme.losses.level import Level, format_short
from cooperage.programme.rounds.due import Task
from cooperage.programme.rounds.worth import ReadingWorth, worth_cells
from cooperage.programme.signs.sign import Sign
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.stops import Stop, StopOrder, StopTask
from cooperage.tui.rounds.words import MARKS
from cooperage.tui.shared.gauges import cautions_shown, held_words, level_bar
from cooperage.units import Units, counted, show_ago

_LABEL = 10
_LESS = ("ph", "va_g_l")
"""Figures that stand on the card where there is room."""


@dataclass(frozen=True, slots=True)
class CardOf:
    """All that the card of a stop is made of; signs come the worst first."""

    stop: Stop
    standing: Standing
    level: Level
    keg: str
    signs: Sequence[Sign] = ()
    worth: ReadingWorth | None = None


def card(about: CardOf, width: int, rows: int, units: Units) -> Content:
    """Return the card in `width` columns: what matters in full, then what else there is room for in `rows`."""
    lines = list(_lines(about, width, units))
    left = rows - sum(_height(line, width) for line in lines)
    for more in _more(about, width, units):
        left -= _height(more, width)
        if left >= 0:
            lines.append(more)
    return Content("\n").join(lines)


def _height(line: Content, width: int) -> int:
    return line.get_height({}, max(1, width))


def _lines(about: CardOf, width: int, units: Units) -> Iterator[Content]:
    yield _title(about.standing)
    if about.standing.ml == 0:
        yield Content(empty_words(about.standing))
    else:
        yield _level(about, width, units)
        yield figure_line("free SO2", about.standing.figure("free_so2_mg_l"), width, units)
        yield figure_line("molecular", about.standing.molecular_figure(), width, units)
    if about.stop.warning:
        yield _marked(f"▲ leak: {about.stop.warning}")
    yield from map(_order, about.stop.orders)
    for task in about.stop.tasks:
        yield _task(task, about, units)
    if about.stop.cautions:
        yield cautions_shown(about.stop.cautions)
    yield from _wrong(about)
    yield from _looks(about.standing)
    if about.worth is not None:
        yield Content(worth_words(about.worth, units))


def _title(standing: Standing) -> Content:
    """Return who it is: tag and place bold, then what it holds."""
    head = f"{standing.tag}  {chalked_place(standing.position)}"
    return Content.assemble((head, "bold"), f"   {lots_words(standing, 2)}" if standing.ml else "")


def _level(about: CardOf, width: int, units: Units) -> Content:
    """Return the level now beside the book's: with a bar where there is room, without what the band is where not."""
    held = held_words(about.standing, about.level, units)
    bar = f"{level_bar(about.level, 6)} " if _LABEL + 9 + len(held) <= width else ""
    line = f"{'level':<{_LABEL}}{bar}{held}"
    return Content(line if len(line) <= width else line.replace(" now", "").replace(", 90 %)", ")"))


def figure_line(label: str, figure: Figure, width: int, units: Units) -> Content:
    """Return a figure with its band and its age; where there is no room, without what was added or measured."""
    long, short = (figure_words(figure, units, with_added=is_long) for is_long in (True, False))
    band = short[1].partition(";")[0]
    aged = f"{band}; read {figure.ago}" if figure.ago and ";" in short[1] else band
    lines = (f"{label:<{_LABEL}}{value:<11}{source}" for value, source in (long, short, (short[0], aged)))
    found = list(lines)
    return Content(next((line for line in found if len(line) <= width), found[-1]))


def _wrong(about: CardOf) -> Iterator[Content]:
    """Yield each sign that no task has as its reason."""
    reasons = " ".join(task.why for task in about.stop.tasks)
    for sign in about.signs:
        if sign.why not in reasons and sign.why != about.stop.warning:
            yield _marked(f"▲ {sign.kind}: {sign.why}")


def _marked(words: str) -> Content:
    return Content.styled(words, "bold $ember")


def _looks(standing: Standing) -> Iterator[Content]:
    """Yield what eyes and nose found last, and how long ago."""
    seen = {what: standing.seen(what) for what in ("level", "bung", "smell")}
    words = [f"{what} {look.word} {show_ago(look.at, standing.at)}" for what, look in seen.items() if look is not None]
    if words:
        yield Content(f"{'looks':<{_LABEL}}{', '.join(words)}")


def _task(task: StopTask, about: CardOf, units: Units) -> Content:
    words = TASK_WORDS[task.task]
    if task.state:
        return Content.styled(f"{MARKS[task.state]} {words} {task.state}", "dim")
    if task.task is Task.TOP and task.expected_ml is not None:
        words += f" {_expected(about, units)}{f' from {about.keg}' if about.keg else ''}"
    return Content.assemble((f"{MARKS['']} {words}", "bold"), f": {task.why}" if task.why else "")


def _order(order: StopOrder) -> Content:
    """Return an order in full; what stands in its way first, as trouble."""
    if order.state:
        return Content.styled(f"{MARKS[order.state]} {order.words} {order.state}", "$quiet")
    if order.is_impossible:
        return Content.assemble((f"▲ {order.words}", "bold"), (f" cannot be done: {order.why}", "bold $ember"))
    why = f" ({order.why})" if order.why and not order.does else ""
    return Content.assemble((f"{MARKS['']} ", "$honey"), (order.words, "bold"), why)


def _expected(about: CardOf, units: Units) -> str:
    text = format_short(about.stop.level or about.level, units)
    return "an unknown amount" if text == "?" else text


def empty_words(standing: Standing) -> str:
    """Return since when a vessel is empty."""
    days = standing.days_empty
    return "empty" if days is None else f"empty for {counted(round(days), 'day')}"


def worth_words(worth: ReadingWorth, units: Units) -> str:
    """Return what measuring something here would decide: its chance now, and between what it will be then."""
    _, measure, _, whether, likely, _ = worth_cells(worth, units)
    asked = whether.removeprefix(measure).strip()
    return f"Measure {measure}? {asked[:1].upper()}{asked[1:]}: {likely}"


def _more(about: CardOf, width: int, units: Units) -> Iterator[Content]:
    yield Content(f"{'wood':<{_LABEL}}{wood_words(about.standing)}, {fill_words(about.standing)}")
    if about.standing.ml:
        for name in _LESS:
            figure = about.standing.figure(name)
            if figure.value is not None:
                yield figure_line("pH" if name == "ph" else "VA", figure, width, units)
