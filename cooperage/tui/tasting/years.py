"""The tasters over all closed flights as lines: how high, how widely, how steadily, how much as the others."""

import math
from collections.abc import Callable, Iterator, Sequence

from rich.text import Text

from cooperage.tasting.over_years import ScaleRecords, bias_words, scale_use_words
from cooperage.tasting.statistics.records import Between, TasterRecord
from cooperage.tui.tasting.results import Inks, Row
from cooperage.units import Quantity, Units, counted, show, show_signed

_ABREAST, _COLUMN = 72, 36
"""From so many columns on two figures stand beside each other; the columns of one with its interval."""
_NONE = "No closed flight has an overall score yet."
_HOW = (
    "Each figure with the interval it lies in 95 times in 100. High by: points above the others. Scale use: how many "
    "times as widely as the others glasses are set apart. Repeats: points that one score of the same liquid strays. "
    "With others: 1 is the same order of glasses."
)


def year_lines(found: Sequence[ScaleRecords], units: Units, width: int, inks: Inks) -> list[Row]:
    """Return every taster's record, scale by scale: points of different scales are never put together."""
    lines: list[Row] = []
    for each in found:
        flights = counted(each.flights, "closed flight")
        lines.append(Text(f"{each.what.capitalize()} {each.scale}, {flights}", inks("quiet")))
        for record in each.records:
            lines += _record(record, units, width, inks)
        known = (bias_words(record, units) for record in each.records if _is_sure(record.bias, 0.0))
        lines += ["", *known, *filter(None, (scale_use_words(record, units) for record in each.records)), ""]
    return [*lines, Text(_HOW, inks("quiet"))] if found else [_NONE]


def _is_sure(known: Between, usual: float) -> bool:
    return known.low <= known.high and not known.low <= usual <= known.high


def _record(record: TasterRecord, units: Units, width: int, inks: Inks) -> Iterator[Row]:
    glasses = counted(record.glasses, "glass", "glasses")
    name = Text().append(f"  {record.taster}", "bold")
    yield name.append(f"   {counted(record.flights, 'flight')}, {glasses}", inks("quiet"))

    def signed(value: float) -> str:
        return show_signed(value, units)

    def plain(digits: int) -> Callable[[float], str]:
        return lambda value: show(Quantity.NUMBER, value, units, digits=digits)

    cells = [
        _cell("high by", record.bias, signed),
        _cell("scale use", record.scale_use, plain(1)),
        _cell("repeats", record.steady, plain(1)),
        _cell("with others", record.likeness, plain(2)),
    ]
    step = 2 if width >= _ABREAST else 1
    for at in range(0, len(cells), step):
        yield "    " + "".join(f"{cell:<{_COLUMN}}" for cell in cells[at : at + step]).rstrip()


def _cell(label: str, known: Between, shown: Callable[[float], str]) -> str:
    value = "–" if math.isnan(known.value) else shown(known.value)
    if math.isnan(known.low):
        return f"{label:<12}{value:>5}"
    high = "or more" if math.isinf(known.high) else f"to {shown(known.high)}"
    return f"{label:<12}{value:>5}  {shown(known.low)} {high}"
