"""The card beside the page of a vessel where there is room: how it was made, what comes next and why, scores, basis."""

from collections.abc import Iterable
from textwrap import wrap

from rich.text import Text
from textual.app import App

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.vessel_words import (
    age_words,
    basis_lines,
    capacity_words,
    cooperage_words,
    fill_words,
    judged_words,
    lots_words,
    wood_words,
)
from cooperage.programme.page.marks import VesselPage
from cooperage.programme.ready.definitions import NONE_YET
from cooperage.programme.ready.readiness import ReadyState
from cooperage.programme.ready.words import ready_parts
from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.ink import DUE, ink, state_shown
from cooperage.units import Quantity, Units, show, show_date

_MOST_SCORES = 5
_LABEL = 9


def card_texts(standing: Standing, page: VesselPage | None, app: App[object], width: int, units: Units) -> list[Text]:
    """Return the lines of the card, wrapped to a width; what is calculated may still be on its way."""
    return [row for line in _card(standing, page, app, units) for row in _wrapped(line, width)]


def _wrapped(line: Text, width: int) -> list[Text]:
    """Wrap a line; what does not fit in its first row hangs below it, as far in as the line begins."""
    plain = line.plain
    hang = " " * max(2, len(plain) - len(plain.lstrip()))
    rows = wrap(plain, width, subsequent_indent=hang, break_long_words=True) or [""]
    return [Text(row, line.style, no_wrap=True) for row in rows]


def _card(standing: Standing, page: VesselPage | None, app: App[object], units: Units) -> list[Text]:
    lines = [_title("The vessel" if standing.vessel.barrel is None else "The barrel", app)]
    lines += [Text(line, ink(app, "quiet")) for line in _made(standing, page, units)]
    if page is not None:
        lines += [Text(""), _title("What next", app), *_next(standing, page, app)]
        lines += _ready(standing, page, app, units)
        lines += [*_scores(standing, page, app, units), *_differences(standing, page, app)]
    if rests := _basis(standing):
        lines += [Text(""), _title("What the figures rest on", app)]
        lines += [Text(line, ink(app, "quiet")) for line in rests]
    return lines


def basis_texts(standing: Standing, app: App[object], width: int) -> list[Text]:
    """Return what the figures rest on, wrapped to a width."""
    return [row for line in _basis(standing) for row in _wrapped(Text(line, ink(app, "quiet")), width)]


def _basis(standing: Standing) -> list[str]:
    return basis_lines(standing.figure(name) for name in PROPERTIES) if standing.ml else []


def _title(words: str, app: App[object]) -> Text:
    return Text(words, ink(app, "ink", bold=True))


def _made(standing: Standing, page: VesselPage | None, units: Units) -> Iterable[str]:
    """Yield its wood and past, how it was made, how long it has held this, trials, size, cost, note."""
    barrel = standing.vessel.barrel
    if barrel is not None:
        yield f"{wood_words(standing)}, {fill_words(standing)}"
        yield cooperage_words(barrel)
    if page is not None and page.wood:
        yield page.wood
    if standing.ml and (aged := age_words(standing)):
        yield f"{aged}, its mead {standing.mead_days_in_wood:.0f} in wood on average"
    if standing.ml:
        yield f"holds {lots_words(standing, 6)}"
    if judged := judged_words(standing):
        yield judged
    if page is not None:
        yield from (f"trial {line}" for line in page.trials)
    yield capacity_words(standing)
    if standing.ml:
        yield f"cost {show_figure('cost_per_l', standing.cost_per_l, units)}"
    if standing.vessel.note:
        yield standing.vessel.note


def _next(standing: Standing, page: VesselPage, app: App[object]) -> Iterable[Text]:
    for sign in page.signs:
        mark, role = state_shown(sign.state)
        yield Text(f"{mark} {sign.word}: {sign.why}", ink(app, role))
    for due in page.outlook.coming:
        is_late = due.overdue_days > 0
        day = show_date(due.due, standing.at).strip()
        words = f"{DUE if is_late else ' '} {TASK_WORDS[due.task]:<{_LABEL}}{'since ' if is_late else ''}{day}"
        yield Text(words, ink(app, "honey" if is_late else "ink"))
        if due.why:
            yield Text(f"    {due.why}", ink(app, "quiet"))
    if not page.signs and not page.outlook.coming:
        yield Text("Nothing comes due.", ink(app, "quiet"))


def _ready(standing: Standing, page: VesselPage, app: App[object], units: Units) -> Iterable[Text]:
    """Yield how it stands to its definition of ready: the chance, the window, the next look, what is tasted now."""
    if not standing.vessel.is_barrel or not standing.ml:
        return
    yield Text("")
    yield _title("Ready", app)
    if page.ready is None:
        yield Text(on_screen(NONE_YET), ink(app, "quiet"))
        return
    first, *rest = ready_parts(page.ready, standing.at, units)
    yield Text(first, ink(app, "honey" if page.ready.state in (ReadyState.READY, ReadyState.NEARLY) else "ink"))
    for line in rest:
        yield Text(line, ink(app, "quiet"))


def _scores(standing: Standing, page: VesselPage, app: App[object], units: Units) -> Iterable[Text]:
    if not page.past.scores:
        return
    yield Text("")
    yield _title("Panel scores", app)
    for score in list(page.past.scores)[: -_MOST_SCORES - 1 : -1]:
        mean = show(Quantity.NUMBER, score.mean, units, digits=1)
        words = f"{show_date(score.at, standing.at).strip():<12}{score.flight:<6}{mean:>5} on {score.scale}"
        yield Text(words, ink(app, "ink"))
        for attribute in score.attributes:
            own = show(Quantity.NUMBER, attribute.mean, units, digits=1)
            yield Text(f"  {attribute.name:<16}{own:>5} on {attribute.scale}", ink(app, "quiet"))
        if score.verdicts:
            yield Text(f"  {score.verdicts}", ink(app, "quiet"))
        if score.words:
            yield Text(f"  {'; '.join(dict.fromkeys(score.words))}", ink(app, "quiet"))


def _differences(standing: Standing, page: VesselPage, app: App[object]) -> Iterable[Text]:
    """Yield the difference tests it was in, newest first: beside its scores, never among them."""
    if not page.past.differences:
        return
    yield Text("")
    yield _title("Difference tests", app)
    for each in list(page.past.differences)[: -_MOST_SCORES - 1 : -1]:
        yield Text(f"{show_date(each.at, standing.at).strip():<12}{each.flight}  {each.words}", ink(app, "ink"))
