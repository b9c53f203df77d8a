"""The card of the vessel under the cursor: who it is, what is wrong and due, its level, its figures now."""

from collections.abc import Iterator

from textual.content import Content

from cooperage.book import Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.vessel_words import (
    age_words,
    chalked_place,
    empty_words,
    fill_words,
    lots_words,
    wood_words,
)
from cooperage.programme.losses.level import format_short
from cooperage.programme.rounds.due import Task
from cooperage.programme.search.marks import Marks, State
from cooperage.programme.search.measures import MEASURES, Measure
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.tui.keys import pressed
from cooperage.tui.shared.gauges import figure_rows, held_words, level_bar
from cooperage.tui.shared.ink import DUE, HERE, sign_content
from cooperage.units import Units

CALCULATING = "calculating what is wrong and due"
_FIGURES = ("free_so2_mg_l", MOLECULAR, "ph", "va_g_l", "abv", "sugar_g_l")
_STATES = {State.LOW, State.SOAKING, State.RETIRED}


def small_card(standing: Standing, marks: Marks, units: Units, width: int, *, is_calculated: bool) -> Content:
    """Return three lines: who it is and what is due; what it holds; what is wrong, or its wood where nothing is."""
    who = Content.styled(f"{standing.tag}  {chalked_place(standing.position)}", "bold")
    held = _held(standing, marks, units, width)
    first = [who, Content(lots_words(standing, 2)), *(_to_do(standing, marks) if is_calculated else ())]
    return Content("\n").join([Content("  ").join(first), held, _last(standing, marks, is_calculated=is_calculated)])


def _held(standing: Standing, marks: Marks, units: Units, width: int) -> Content:
    """Return what it holds now beside the book's; without what the band is where there is no room."""
    level = marks.level(standing)
    bar, held = level_bar(level, 6), held_words(standing, level, units)
    less = held.replace(" now", "").replace(", 90 %)", ")")
    return Content.assemble((bar, "$mead"), " ", held if len(bar) + 1 + len(held) <= width else less)


def _to_do(standing: Standing, marks: Marks) -> Iterator[Content]:
    """Yield what is due, and the states that are not due."""
    due = marks.due.get(standing.tag, ())
    if due:
        yield _honey(f"{DUE} {', '.join(TASK_WORDS[each.task] for each in due)}")
    yield from (_quiet(str(state)) for state in marks.states(standing) if state in _STATES)


def _last(standing: Standing, marks: Marks, *, is_calculated: bool) -> Content:
    """Return the worst sign in full and the others by their kind; without any, the wood."""
    if not is_calculated:
        return _quiet(CALCULATING)
    signs = marks.trouble(standing.tag)
    if not signs:
        return _quiet(f"{wood_words(standing)}, {fill_words(standing)}")
    others = "".join(f"; {sign.word}" for sign in signs[1:])
    return Content.assemble(sign_content(signs[0]), (others, "bold $ember"))


def large_card(
    standing: Standing, marks: Marks, units: Units, width: int, here: Measure, *, is_calculated: bool
) -> Content:
    """Return the card that stands beside the map."""
    lines = [
        Content.styled(f"{standing.tag}  {chalked_place(standing.position)}", "bold"),
        *_wrong(standing, marks, is_calculated=is_calculated),
        Content(""),
        *_about(standing),
        Content(""),
        *_level(standing, marks, units, width),
        *_figures(standing, units),
        Content(""),
        *(_due(standing, marks, units) if is_calculated else ()),
        Content(""),
        *_measures(here),
    ]
    return Content("\n").join(lines)


def _wrong(standing: Standing, marks: Marks, *, is_calculated: bool) -> Iterator[Content]:
    if not is_calculated:
        yield _quiet(CALCULATING)
        return
    for sign in marks.signs.get(standing.tag, ()):
        yield sign_content(sign)


def _about(standing: Standing) -> Iterator[Content]:
    if standing.ml:
        yield Content(lots_words(standing))
    parts = [wood_words(standing)]
    if standing.vessel.is_barrel:
        parts.append(fill_words(standing))
    parts.append(age_words(standing) if standing.ml else empty_words(standing))
    yield _quiet(", ".join(filter(None, parts)))


def _level(standing: Standing, marks: Marks, units: Units, width: int) -> Iterator[Content]:
    if standing.ml:
        level = marks.level(standing)
        yield Content.styled(level_bar(level, max(6, width - 4)), "$mead")
        yield Content(held_words(standing, level, units))


def _figures(standing: Standing, units: Units) -> Iterator[Content]:
    """Yield the figures that are known, each with its band and age in fixed columns."""
    for label, value, rest in figure_rows(standing, _FIGURES, units, is_short=True):
        yield Content.assemble((label, "$quiet"), value, (rest, "$quiet"))


def _due(standing: Standing, marks: Marks, units: Units) -> Iterator[Content]:
    due = marks.due.get(standing.tag, ())
    if not due:
        yield _quiet("nothing due")
    for each in due:
        litres = f" {format_short(marks.level(standing), units)}" if each.task is Task.TOP else ""
        yield Content.assemble((f"{DUE} {TASK_WORDS[each.task]}{litres}", "$honey"), (f"  {each.why}", "$quiet"))


def _measures(here: Measure) -> Iterator[Content]:
    yield Content.assemble(("Measures  ", "bold"), (f"{pressed('view')} shows the next", "$quiet"))
    for each in MEASURES:
        is_here = each.name == here.name
        yield Content.styled(f"{HERE if is_here else ' '} {each.name}", "bold" if is_here else "$quiet")


def _honey(words: str) -> Content:
    return Content.styled(words, "$honey")


def _quiet(words: str) -> Content:
    return Content.styled(words, "$quiet")
