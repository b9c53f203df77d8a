"""The sides of a revealed flight, turned one by one: overall, attributes, tasters, words, verdicts, the years."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from rich.text import Text

from cooperage.tasting.closed import ClosedFlight
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.over_years import ScaleRecords, bias_words, scale_use_words
from cooperage.tasting.statistics.records import Between, TasterRecord
from cooperage.tui.keys import pressed
from cooperage.tui.shared.ink import DONE, TROUBLE
from cooperage.tui.tasting.results import Inks, PointedRow, Row, figure_lines, taster_lines
from cooperage.units import Quantity, Units, counted, show, show_signed

TASTERS, WORDS, VERDICTS, YEARS = "tasters", "words", "verdicts", "tasters over the years"
_OF_A_TASTER = 10
"""Columns of an attribute in the table of how high or low each taster scored."""
_ABREAST, _COLUMN = 72, 36
"""From so many columns on two figures stand beside each other; the columns of one with its interval."""
_NONE = "No closed flight has an overall score yet."
_HOW = (
    "Each figure with the interval it lies in 95 times in 100. High by: points above the others. Scale use: how many "
    "times as widely as the others glasses are set apart. Repeats: points that one score of the same liquid strays. "
    "With others: 1 is the same order of glasses."
)


def sides_of(closed: ClosedFlight, *, with_years: bool = False) -> list[str]:
    """Return what can be looked at, overall first; what was not given is left out, and so are other flights."""
    figures = [OVERALL, *(name for name in asked_of(closed.flight) if name != OVERALL and name in closed.results)]
    said = [WORDS] * any(given.words for given in closed.flight.scores.values())
    return [
        *figures,
        *([TASTERS] * bool(closed.results)),
        *said,
        *([VERDICTS] * bool(closed.verdicts)),
        *([YEARS] * with_years),
    ]


def is_side_of_years(closed: ClosedFlight, nth: int) -> bool:
    """Return True if a side is the tasters' records over all flights, which are the last."""
    sides = sides_of(closed, with_years=True)
    return sides[nth % len(sides)] == YEARS


def side_lines(
    closed: ClosedFlight,
    nth: int,
    judged: Mapping[str, str],
    units: Units,
    width: int,
    inks: Inks,
    *,
    years: Sequence[ScaleRecords] | None = None,
    with_years: bool = False,
) -> list[Row]:
    """Return a side as lines; `judged` is what is written of its vessels in the book, by their tags.

    `with_years` the tasters' records over all flights are a side too: `years`, None until they are worked out.
    """
    sides = sides_of(closed, with_years=with_years)
    side = sides[nth % len(sides)]
    made: dict[str, Sequence[Row]] = {}
    if side == TASTERS:
        made[side] = _tasters(closed, units, inks)
    elif side == WORDS:
        made[side] = _words(closed, inks)
    elif side == VERDICTS:
        made[side] = _verdicts(closed, judged, inks)
    elif side == YEARS:
        made[side] = ["Working the records out …"] if years is None else year_lines(years, units, width, inks)
    else:
        made[side] = figure_lines(closed, side, units, width, inks)
    return [*_heading(closed, sides, side, inks), *made[side]]


def _heading(closed: ClosedFlight, sides: Sequence[str], side: str, inks: Inks) -> list[Text]:
    """Return which side it is, and what comes next; none where there is only one."""
    if len(sides) == 1:
        return []
    at = sides.index(side)
    on = f" {scale_of(closed.flight, side)}" if side in asked_of(closed.flight) else ""
    line = Text(f"{side.capitalize()}{on}", "bold")
    line.append(f"   {at + 1} of {len(sides)}; {pressed('view')} shows {sides[(at + 1) % len(sides)]}", "not bold")
    line.stylize(inks("quiet"), len(side) + len(on))
    return [line]


def _tasters(closed: ClosedFlight, units: Units, inks: Inks) -> list[Row]:
    """Return how each taster scored overall, then how high or low for each attribute."""
    lines: list[Row] = []
    if OVERALL in closed.results:
        lines += taster_lines(closed.results[OVERALL].tasters, units, inks)
    names = [name for name in closed.results if name != OVERALL]
    if not names:
        return lines
    head = "".join(f"{name[: _OF_A_TASTER - 1]:>{_OF_A_TASTER}}" for name in names)
    lines += ["", Text(f"  {'high by':<10}{head}", inks("quiet"))]
    biases = {name: {each.name: each.bias for each in closed.results[name].tasters} for name in names}
    for taster in closed.flight.tasters:
        row = "".join(f"{show_signed(biases[name].get(taster), units):>{_OF_A_TASTER}}" for name in names)
        lines.append(Text(f"  {taster[:10]:<10}{row}"))
    return lines


def _words(closed: ClosedFlight, inks: Inks) -> list[Row]:
    """Return what each taster wrote of each glass, faults marked."""
    lines: list[Row] = []
    for glass in closed.flight.glasses:
        given = [(who, each.words) for (code, who), each in sorted(closed.flight.scores.items()) if code == glass.code]
        faults = closed.faults.get(glass.code, ())
        line = Text(f"{TROUBLE if faults else ' '} ", inks("ember" if faults else "ink"), no_wrap=True)
        line.append(f"{glass.code}  {glass.called}", "bold").append(f"   {', '.join(faults)}", inks("ember"))
        lines.append(PointedRow(line, glass.vessel))
        lines += [Text(f"    {who}: {words}") for who, words in given if words]
    return lines


def _verdicts(closed: ClosedFlight, judged: Mapping[str, str], inks: Inks) -> list[Row]:
    """Return what the panel would do with each vessel, and what is written."""
    found = [(each, each.proposed.words if each.proposed is not None else "no majority") for each in closed.verdicts]
    wide = max(len("most gave"), *(len(most) for _, most in found)) + 2
    lines: list[Row] = [Text(f"  {'vessel':<9}{'most gave':<{wide}}votes", inks("quiet"))]
    for each, most in found:
        written = judged.get(each.vessel, "")
        line = Text(f"{DONE} " if written else "  ", inks("rain"), no_wrap=True)
        line.append(f"{each.vessel[:8]:<9}{most:<{wide}}{each.words}", inks("ink"))
        lines.append(PointedRow(line, each.vessel))
        if written and written != most:
            lines.append(Text(f"{'':<11}in the book: {written}", inks("rain")))
    return [*lines, "", f"{pressed('judge')} writes the verdict of the vessel at the pointer; from the list, of all."]


# --- over the years ---------------------------------------------------------------------------------------------------


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
