"""The words of the rounds: a stop in one line, a stop at length, the walk in one line."""

from collections.abc import Iterator, Sequence

from rich.text import Text
from textual.content import Content

from cooperage.book import Cellar, Standing
from cooperage.book.vessel_words import chalked_place, figure_words, lots_words
from cooperage.programme.losses.level import Level, format_short
from cooperage.programme.rounds.due import Task
from cooperage.programme.rounds.worth import ReadingWorth, worth_cells
from cooperage.programme.signs.looks import found_wrong
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.progress import Walk
from cooperage.programme.walk.stops import Stop, still_to_do
from cooperage.tui.shared.gauges import about_lines, titled
from cooperage.units import Quantity, Units, counted, show, show_when

MARKS = {"": " ", "done": "✓", "skipped": "-", "out of reach": "^"}


def stop_line(stop: Stop, width: int, units: Units) -> Text:
    """Return a stop in `width` columns: mark, position, tag, and its tasks or what became of them."""
    place = chalked_place(stop.position, 8)
    mark = "! " if stop.cautions else ""
    columns = f"{MARKS[stop.state]} {place:<12} {stop.tag:<7} "
    what = shortened(stop.state or f"{mark}{tasks_words(stop, units)}", max(0, width - len(columns)))
    return Text(columns + what, style="dim" if stop.state else "", no_wrap=True)


def tasks_words(stop: Stop, units: Units) -> str:
    """Return what is to do at a stop, the litres to expect at a topping: "top 1.0 L · SO2"; a done task is left out."""
    expected = expected_words(stop, units)
    words = {task: TASK_WORDS[task] for task in stop.open_tasks}
    if Task.TOP in words and expected:
        words[Task.TOP] += f" {expected}"
    return " · ".join(words.values())


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


def stop_about(stop: Stop, standing: Standing, level: Level, units: Units) -> Content:
    """Return a stop in full: the vessel, its contents, its sulphite, a probable leak, and why it is a stop."""
    wrong = "".join(f"; {what} {word}" for what, (word, _) in found_wrong(standing).items())
    lines = [sulphite_words(standing, units), f"{'; '.join(_task_lines(stop, level, units))}{wrong}"]
    if stop.warning:
        lines[0] = f"LEAK: {stop.warning}"
    return titled((*about_lines(standing, units, level), *lines))


def _task_lines(stop: Stop, level: Level, units: Units) -> Iterator[str]:
    """Yield each task with its reason, or with what became of it."""
    for each in stop.tasks:
        expect = "" if each.expected_ml is None else f"; expect {_expect(stop, level, units)}"
        yield f"{TASK_WORDS[each.task]}: {each.state or each.why + expect}"


def _expect(stop: Stop, level: Level, units: Units) -> str:
    text = format_short(stop.level or level, units)
    return "an unknown amount" if text == "?" else text


def sulphite_words(standing: Standing, units: Units) -> str:
    """Return molecular and free SO2, one unit for both, with their source; for an empty barrel, since when.

    The longest, with its band and what was measured when, fits the card at 80 columns.
    """
    if standing.ml == 0:
        days = standing.days_empty
        return "empty" if days is None else f"empty for {counted(round(days), 'day')}"
    free, source = figure_words(standing.figure("free_so2_mg_l"), units, with_unit=False, with_added=False)
    molecular, _ = figure_words(standing.molecular_figure(), units)
    return f"SO2 {molecular} molecular, {free} free ({source})"


def asked_words(stop: Stop) -> str:
    """Return what is to do at a stop: "top, SO2"."""
    return still_to_do(stop) or stop.state


def worth_words(worth: ReadingWorth) -> str:
    """Return what measuring something here would decide: its chance now, and between what it will be then."""
    _, measure, _, whether, likely, _ = worth_cells(worth)
    asked = whether.removeprefix(measure).strip()
    return f"Measure {measure}? {asked[:1].upper()}{asked[1:]}: {likely}"


def source_words(keg: str | None, cellar: Cellar, units: Units, *, not_full: bool) -> str:
    """Return what a topping is taken from, and whether it fills the barrel."""
    how = "NOT to the bung" if not_full else "to the bung"
    if keg is None or keg not in cellar:
        return f"{how}; no keg chosen"
    held = cellar[keg]
    return f"{how}, from {keg} ({show(Quantity.VOLUME, held.ml, units)} of {lots_words(held, 2)})"


def walk_line(walk: Walk | None, stops: Sequence[Stop]) -> str:
    """Return the walk in one line: how many stops, and how many in each state."""
    counts = {state: sum(stop.state == state for stop in stops) for state in MARKS}
    text = ", ".join(f"{counts[state]} {state}" for state in ("done", "skipped", "out of reach") if counts[state])
    if walk is None:
        return ""
    begun = f"Walk started {show_when(walk.began_at)}"
    if walk.walked_at is not None:
        begun = f"Sheet walked {show_when(walk.walked_at)}"
    return f"{begun}: {counts['']} of {counted(len(stops), 'stop')} to do" + (f" ({text})" if text else "")
