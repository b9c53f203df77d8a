"""Figures of a revealed flight as lines: the words first, the glasses on one scale, the tasters beside or below."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite

from rich.style import Style
from rich.text import Text

from cooperage.tasting.closed import ClosedFlight, by_verdict
from cooperage.tasting.flights import GlassResult, Results, bounds
from cooperage.tasting.flights.line import scale_of
from cooperage.tasting.tasters import TasterResult
from cooperage.tui.shared.gauges import lying_bar, whole_phrases
from cooperage.tui.shared.ink import TROUBLE
from cooperage.tui.tasting.scale import DrawnScale, scale_around
from cooperage.units import Quantity, Units, show

Inks = Callable[[str], Style]
Line = str | Text

_GLASS = "{:<2}{:<6} {:<9} {:>5}  "
_TASTER = "  {:<10}{:>7}{:>8}{:>7}{:>8}  {:>5}"
_SAID, _WITH_SAID = 24, 70
"""The longest words beside a glass; from so many columns on there is room for them."""
_MOST_SAID, _POINTS = "most said", 13
_BANDS = "A line on each side of a mean reaches as far as the true mean lies 90 times in 100."
_WIDEST_SCALE, _LEAST_SCALE = 48, 12
_BESIDE, _BETWEEN = 128, 3
"""From so many columns on the tasters stand beside the glasses, with so many blanks between."""
_LIKENESS = 7


@dataclass(frozen=True, slots=True)
class PointedRow:
    """A line that the pointer can stand on, and the vessel it is about; None for a glass from the bench."""

    text: Text
    vessel: str | None


Row = Line | PointedRow


def figure_lines(
    closed: ClosedFlight, what: str, units: Units, width: int, inks: Inks, *, with_all_words: bool = True
) -> list[Row]:
    """Return what the panel shows of an attribute or overall: glasses with their bands, tasters, verdicts, words."""
    found = closed.results.get(what)
    if found is None:
        return ["No score has been given: there is nothing to rank."]
    verdict, *others = found.words
    tasters = taster_lines(found.tasters, units, inks)
    body: list[Row]
    if width >= _BESIDE:
        room = width - _BETWEEN - max(line.cell_len for line in tasters)
        body = _beside(_glasses(closed, what, units, room, inks), tasters, room + _BETWEEN)
    else:
        body = [*_glasses(closed, what, units, width, inks), *tasters]
    lines: list[Row] = [Text().append(verdict, "bold"), *body, "", _BANDS, *others]
    lines += [*verdict_summary(closed, inks), *closed.about]
    return [*lines, "", *_all_words(found.rows)] if with_all_words else lines


def verdict_summary(closed: ClosedFlight, inks: Inks) -> list[Text]:
    """Return in one line which vessels got which verdict; none where no verdict was given."""
    parts = [f"{words} {' '.join(vessels)}" for words, vessels in by_verdict(closed.verdicts).items()]
    return [Text().append("Verdicts  ", inks("quiet")).append(" · ".join(parts))] if parts else []


def _beside(left: Sequence[Row], right: Sequence[Text], at: int) -> list[Row]:
    """Set lines beside lines, the right ones from column `at` on."""
    joined: list[Row] = []
    for nth in range(max(len(left), len(right))):
        row = left[nth] if nth < len(left) else Text()
        text = row.text if isinstance(row, PointedRow) else Text(row) if isinstance(row, str) else row
        line = text.copy()
        if nth < len(right):
            line.append(" " * (at - line.cell_len)).append_text(right[nth])
        joined.append(PointedRow(line, row.vessel) if isinstance(row, PointedRow) else line)
    return joined


# --- glasses --------------------------------------------------------------------------------------------------------


def _glasses(closed: ClosedFlight, what: str, units: Units, width: int, inks: Inks) -> list[Row]:
    found = closed.results[what]
    taken = len(_GLASS.format("", "", "", ""))
    longest = max((len(row.most_said) for row in found.rows), default=0)
    said = max(min(_SAID, longest), len(_MOST_SAID)) + 2 if width >= _WITH_SAID else 0
    cells = max(_LEAST_SCALE, min(_WIDEST_SCALE, width - taken - max(said, _POINTS)))
    values, bands = [row.adjusted for row in found.rows], [row.band for row in found.rows]
    scale = scale_around(values, bands, bounds(scale_of(closed.flight, what)), cells)
    head = Text().append(f"{_GLASS.format('', 'glass', 'vessel', 'mean')}{scale.figures()}", inks("quiet"))
    if said:
        head.append(f"  {_MOST_SAID}", inks("quiet"))
    rows = [
        PointedRow(_glass(row, scale, units, said, row.glass.code in closed.faults, inks), row.glass.vessel)
        for row in found.rows
    ]
    return [head, *rows, *_gap(found, scale, units, inks)]


def _glass(row: GlassResult, scale: DrawnScale, units: Units, said: int, is_faulty: bool, inks: Inks) -> Text:
    value = row.adjusted if isfinite(row.adjusted) else row.mean
    mean = show(Quantity.NUMBER, value, units, digits=1)
    line = Text(_GLASS.format(TROUBLE if is_faulty else "", row.glass.code, row.glass.called[:9], mean))
    line.stylize(inks("ember" if is_faulty else "ink"), 0, 2)
    line.append_text(_band(row, scale, inks))
    return line.append(f"  {whole_phrases(row.most_said, said - 2)}", inks("quiet")) if said > 2 else line


def _band(row: GlassResult, scale: DrawnScale, inks: Inks) -> Text:
    """Draw a mean with its band; nothing where no glass links the tasters."""
    if not isfinite(row.adjusted):
        return Text(" " * scale.cells)
    first, at, last = scale.interval(row.adjusted, row.band)
    line = Text(" " * first)
    line.append("─" * (at - first), inks("mist")).append("●", inks("mead")).append("─" * (last - at), inks("mist"))
    return line.append(" " * (scale.cells - last - 1))


def _gap(found: Results, scale: DrawnScale, units: Units, inks: Inks) -> list[Text]:
    """Draw the least difference that counts, as long as it is on the scale; nothing where it is not known."""
    gap = found.summary.least_gap
    if not isfinite(gap):
        return []
    line = Text().append(f"{'  least difference':<{len(_GLASS.format('', '', '', ''))}}", inks("quiet"))
    line.append(f"├{'─' * (scale.length(gap) - 2)}┤", inks("ink"))
    points = show(Quantity.NUMBER, gap, units, digits=1)
    return [line.append(f" {points} points", inks("quiet"))]


# --- tasters --------------------------------------------------------------------------------------------------------


def taster_lines(tasters: Sequence[TasterResult], units: Units, inks: Inks) -> list[Text]:
    """Return how each taster scored, under a head."""
    head = _TASTER.format("taster", "glasses", "high by", "spread", "repeats", "with others")
    return [Text().append(head.rstrip(), inks("quiet")), *(_taster(each, units, inks) for each in tasters)]


def _taster(each: TasterResult, units: Units, inks: Inks) -> Text:
    height = _points(each.bias, units)
    line = Text(
        _TASTER.format(
            each.name[:10],
            each.glasses,
            f"+{height}" if each.bias > 0 else height,
            _points(each.spread, units),
            _points(each.steady, units),
            _points(each.likeness, units, 2),
        )
    )
    shared = max(0.0, each.likeness) if isfinite(each.likeness) else 0.0
    taken, _ = lying_bar(shared, 0.0, 1.0, _LIKENESS)
    return line.append(f" {taken}", inks("mead"))


def _points(value: float, units: Units, digits: int = 1) -> str:
    return show(Quantity.NUMBER, value, units, digits=digits) if isfinite(value) else "–"


def _all_words(rows: Sequence[GlassResult]) -> list[str]:
    return [f"{row.glass.code} {row.glass.called}: {'; '.join(row.words)}" for row in rows if row.words]
