"""The results of a revealed flight as lines: the words first, the glasses on one scale, the tasters beside or below."""

from collections.abc import Callable, Sequence
from math import isfinite

from rich.style import Style
from rich.text import Text

from cooperage.tasting.flights import Flight, GlassResult, Results, bounds
from cooperage.tasting.tasters import TasterResult
from cooperage.tui.shared.gauges import lying_bar, whole_phrases
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


def result_lines(flight: Flight, found: Results | None, units: Units, width: int, inks: Inks) -> list[Line]:
    """Return what the panel shows, the glasses with their bands, the tasters, and every taster's words."""
    if found is None:
        return ["No score has been given: there is nothing to rank."]
    verdict, *others = found.words
    tasters = _tasters(found.tasters, units, inks)
    if width >= _BESIDE:
        room = width - _BETWEEN - max(line.cell_len for line in tasters)
        body = _beside(_glasses(flight, found, units, room, inks), tasters, room + _BETWEEN)
    else:
        body = [*_glasses(flight, found, units, width, inks), *tasters]
    return [Text().append(verdict, "bold"), *body, "", _BANDS, *others, "", *_all_words(found.rows)]


def _beside(left: Sequence[Text], right: Sequence[Text], at: int) -> list[Text]:
    """Set lines beside lines, the right ones from column `at` on."""
    joined = []
    for nth in range(max(len(left), len(right))):
        line = left[nth].copy() if nth < len(left) else Text()
        if nth < len(right):
            line.append(" " * (at - line.cell_len)).append_text(right[nth])
        joined.append(line)
    return joined


# --- glasses --------------------------------------------------------------------------------------------------------


def _glasses(flight: Flight, found: Results, units: Units, width: int, inks: Inks) -> list[Text]:
    taken = len(_GLASS.format("", "", "", ""))
    longest = max((len(row.most_said) for row in found.rows), default=0)
    said = max(min(_SAID, longest), len(_MOST_SAID)) + 2 if width >= _WITH_SAID else 0
    cells = max(_LEAST_SCALE, min(_WIDEST_SCALE, width - taken - max(said, _POINTS)))
    values, bands = [row.adjusted for row in found.rows], [row.band for row in found.rows]
    scale = scale_around(values, bands, bounds(flight.scale), cells)
    head = Text().append(f"{_GLASS.format('', 'glass', 'vessel', 'mean')}{scale.figures()}", inks("quiet"))
    if said:
        head.append(f"  {_MOST_SAID}", inks("quiet"))
    return [head, *(_glass(row, scale, units, said, inks) for row in found.rows), *_gap(found, scale, units, inks)]


def _glass(row: GlassResult, scale: DrawnScale, units: Units, said: int, inks: Inks) -> Text:
    value = row.adjusted if isfinite(row.adjusted) else row.mean
    mean = show(Quantity.NUMBER, value, units, digits=1)
    line = Text(_GLASS.format("", row.glass.code, row.glass.called[:9], mean))
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


def _tasters(tasters: Sequence[TasterResult], units: Units, inks: Inks) -> list[Text]:
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
