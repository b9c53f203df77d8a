"""The card of the stop at hand: the level now, sulphur dioxide, what is to do and why, what to mind, what is wrong."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from textual.content import Content

from cooperage.book import Figure, Standing
from cooperage.book.vessel_words import chalked_place, empty_words, figure_words, fill_words, lots_words, wood_words
from cooperage.programme.losses.level import Level, format_short
from cooperage.programme.rounds.due import Task
from cooperage.programme.rounds.worth import ReadingWorth, worth_cells
from cooperage.programme.signs.sign import Sign
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.upkeep.sulphite import dose
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.stops import Stop, StopOrder, StopTask
from cooperage.tui.rounds.words import MARKS
from cooperage.tui.shared.gauges import cautions_shown, held_words, level_bar
from cooperage.tui.shared.ink import sign_content
from cooperage.units import Quantity, Units, show, show_ago

_LABEL, _WHOLE, _VALUE, _BAR = 10, 4, 14, 6
"""Columns of a name, of a figure before its point, of a figure with its unit, and of the level's bar."""
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


def card(about: CardOf, width: int, rows: int, units: Units, *, is_roomy: bool = False) -> Content:
    """Return the card in `width` columns: what matters in full, then what else there is room for in `rows`.

    Where it `is_roomy`, there is a blank line between its parts.
    """
    parts = [list(part) for part in _parts(about, width, units)]
    left = rows - sum(_height(line, width) for part in parts for line in part)
    for more in _more(about, width, units):
        left -= _height(more, width)
        if left >= 0:
            parts[1].append(more)
    gap = [Content("")] if is_roomy else []
    lines = [line for nth, part in enumerate(filter(None, parts)) for line in ([*gap, *part] if nth else part)]
    return Content("\n").join(lines)


def _height(line: Content, width: int) -> int:
    return line.get_height({}, max(1, width))


def _parts(about: CardOf, width: int, units: Units) -> Iterator[Iterable[Content]]:
    """Yield who it is; its level and figures; what is to do; what to mind; what was seen."""
    yield [_title(about)]
    yield _figures(about, width, units)
    yield [*map(_order, about.stop.orders), *(_task(task, about, units) for task in about.stop.tasks)]
    yield [
        *([cautions_shown(about.stop.cautions, in_rows=True)] if about.stop.cautions else []),
        *_wrong(about),
        *_carry(about, units),
    ]
    yield [*_looks(about.standing), *([_worth(about.worth, units)] if about.worth is not None else [])]


def _title(about: CardOf) -> Content:
    """Return who it is: tag and place bold, then what it holds; a leak at once."""
    standing = about.standing
    head = f"{standing.tag}  {chalked_place(standing.position)}"
    held = f"   {lots_words(standing, 2)}" if standing.ml else ""
    title = Content.assemble((head, "bold"), (held, "$quiet"))
    return (
        Content("\n").join([title, Content.styled(f"▲ leak: {about.stop.warning}", "bold $ember")])
        if about.stop.warning
        else title
    )


def _figures(about: CardOf, width: int, units: Units) -> Iterator[Content]:
    standing = about.standing
    if standing.ml == 0:
        yield Content(empty_words(standing))
        return
    yield _level(about, width, units)
    floor = upkeep_of(standing).molecular_so2_floor_mg_l
    yield figure_line("free SO2", standing.figure("free_so2_mg_l"), width, units)
    yield figure_line("molecular", standing.molecular_figure(), width, units, limit=_limit("≥", floor, units))


def _limit(sign: str, limit: float | None, units: Units) -> str:
    return "" if limit is None else f"{sign} {show(Quantity.SULPHITE, limit, units, with_unit=False, digits=2)}"


def _level(about: CardOf, width: int, units: Units) -> Content:
    """Return the level now beside the book's, with a bar; without what the band is, then without the bar, for room."""
    held = held_words(about.standing, about.level, units)
    number, unit, now = held.split(" ", 2)
    value, begin = f"{on_point(f'{number} {unit}')} ", f"{'level':<{_LABEL}}"
    bar, less = f"{level_bar(about.level, _BAR)} ", now.replace("now ", "").replace(", 90 %)", ")")
    fits = ((bar, now), (bar, less), ("", less))
    drawn, rest = next((each for each in fits if len(begin + value) + sum(map(len, each)) <= width), fits[-1])
    return Content.assemble((begin, "$quiet"), value, (drawn, "$mead"), (rest, "$quiet"))


def on_point(value: str) -> str:
    """Return a figure set so that decimal points stand under each other; words are left as they are."""
    number, space, unit = value.partition(" ")
    whole, point, part = number.partition(".")
    if not whole.lstrip("-~").isdigit():
        return value
    return f"{whole:>{_WHOLE}}{point}{part}{space}{unit}"


def figure_line(label: str, figure: Figure, width: int, units: Units, limit: str = "") -> Content:
    """Return a figure with its band, its age and its limit; where there is no room, without what was added or measured.

    Figures stand on their points, and bands under each other.
    """
    long, short = (figure_words(figure, units, with_added=is_long) for is_long in (True, False))
    band = short[1].partition(";")[0]
    aged = f"{band}; read {figure.ago}" if figure.ago and ";" in short[1] else band
    value = f"{on_point(long[0]):<{_VALUE}} "
    after = f"   {limit}" if limit else ""
    sources = [f"{source}{end}" for source, end in ((long[1], after), (short[1], after), (aged, after), (aged, ""))]
    source = next((each for each in sources if _LABEL + len(value) + len(each) <= width), sources[-1])
    return Content.assemble((f"{label:<{_LABEL}}", "$quiet"), value, (source, "$quiet"))


def _carry(about: CardOf, units: Units) -> Iterator[Content]:
    """Yield what to bring: metabisulphite for what is under its floor."""
    grams = dose(about.standing).grams if any(sign.kind == "sulphite" for sign in about.signs) else None
    if grams:
        yield Content(f"{'carry':<{_LABEL}}{show(Quantity.MASS, grams, units)} of metabisulphite")


def _wrong(about: CardOf) -> Iterator[Content]:
    """Yield each sign that no task has as its reason."""
    reasons = " ".join(task.why for task in about.stop.tasks)
    for sign in about.signs:
        if sign.why not in reasons and sign.why != about.stop.warning:
            yield sign_content(sign)


def _looks(standing: Standing) -> Iterator[Content]:
    """Yield what eyes and nose found last, and how long ago."""
    seen = {what: standing.seen(what) for what in ("level", "bung", "smell")}
    words = [f"{what} {look.word} {show_ago(look.at, standing.at)}" for what, look in seen.items() if look is not None]
    if words:
        yield Content.assemble((f"{'looks':<{_LABEL}}", "$quiet"), ", ".join(words))


def _task(task: StopTask, about: CardOf, units: Units) -> Content:
    words = TASK_WORDS[task.task]
    if task.state:
        return Content.styled(f"{MARKS[task.state]} {words} {task.state}", "$quiet")
    if task.task is Task.TOP and task.expected_ml is not None:
        words += f" {_expected(about, units)}{f' from {about.keg}' if about.keg else ''}"
    why = f": {task.why}" if task.why else ""
    return Content.assemble((f"{MARKS['']} ", "bold $honey"), (words, "bold"), (why, "$quiet"))


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


def _worth(worth: ReadingWorth, units: Units) -> Content:
    return Content.styled(worth_words(worth, units), "$quiet")


def worth_words(worth: ReadingWorth, units: Units) -> str:
    """Return what measuring something here would decide: its chance now, and between what it will be then."""
    _, measure, _, whether, likely, _ = worth_cells(worth, units)
    asked = whether.removeprefix(measure).strip()
    return f"Measure {measure}? {asked[:1].upper()}{asked[1:]}: {likely}"


def _more(about: CardOf, width: int, units: Units) -> Iterator[Content]:
    standing = about.standing
    for name in _LESS if standing.ml else ():
        figure = standing.figure(name)
        if figure.value is not None:
            ceiling = upkeep_of(standing).va_ceiling_g_l if name == "va_g_l" else None
            limit = "" if ceiling is None else f"≤ {show(Quantity.ACID, ceiling, units, with_unit=False)}"
            yield figure_line("pH" if name == "ph" else "VA", figure, width, units, limit)
    wood = f"{wood_words(standing)}, {fill_words(standing)}"
    yield Content.assemble((f"{'wood':<{_LABEL}}", "$quiet"), wood)
