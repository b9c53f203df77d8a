"""A vessel's figures as its page has them: value, band, unit, age, limit, the chance of breaking it, its past.

Every cell is text in the person's units; which columns there is room for the page decides.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median

from cooperage.book import Figure, Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.page.past import Measured, Past
from cooperage.programme.page.spark import small_line
from cooperage.programme.rounds.due import Task, next_due
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, show, show_band, unit_written


class FigureState(StrEnum):
    """How a figure stands: beyond its limit, wanting a reading, or neither."""

    TROUBLE = "trouble"
    DUE = "due"
    FINE = ""


@dataclass(frozen=True, slots=True)
class PageFigure:
    """One figure as text: `short` is its name where there is little room, `limit` "≥ 0.40", `chance` "27 % under".

    A cell with nothing to show is empty; an unknown value is "?". `read` is the last reading of this fill, `past` a
    small line of all of them; of molecular SO2 the temperature it is calculated at. `age` is due where `is_old`.
    """

    name: str
    label: str
    short: str
    value: str
    band: str
    unit: str
    age: str
    limit: str
    chance: str
    past: str
    read: str
    state: FigureState
    is_old: bool


@dataclass(frozen=True, slots=True)
class FigureLimit:
    """A limit of a figure, in its property's unit: the least (`sign` -1) or the most (1) it may be."""

    value: float
    sign: int


_ORDER = (
    "free_so2_mg_l", MOLECULAR, "ph", "va_g_l", "ta_g_l", "abv", "sugar_g_l", "sg", "total_so2_mg_l", "temperature_c",
)  # fmt: skip
_EXTRA = ("total_so2_mg_l", "temperature_c")
"""Figures that stand on the page where there is room, or where they were measured in this fill."""
_TASKS: Mapping[Task, str] = {Task.SULPHITE: "free_so2_mg_l", Task.VA: "va_g_l", Task.GRAVITY: "sg"}
_SHORT = {"va_g_l": "VA", "ta_g_l": "TA", MOLECULAR: "molecular SO2"}
_AS_GOOD_AS_SURE = 0.995


def page_figures(
    standing: Standing, past: Past | None = None, units: Units = DEFAULT, *, extra: bool = True
) -> list[PageFigure]:
    """Return the figures of what a vessel holds, each in its place whatever its state; none where it is empty.

    `past` may still be on its way; `extra` asks for those that stand where there is room.
    """
    if not standing.ml:
        return []
    due = {_TASKS[each.task] for each in next_due(standing, units=units) if each.task in _TASKS and each.overdue_days}
    wanted = [name for name in _ORDER if extra or name not in _EXTRA or _figure(standing, name).days_ago is not None]
    known = [name for name in wanted if name != "temperature_c" or standing.value(name) is not None]
    return [_row(standing, name, past, units, name in due) for name in known]


def _figure(standing: Standing, name: str) -> Figure:
    return standing.molecular_figure() if name == MOLECULAR else standing.figure(name)


def limit_of(standing: Standing, name: str) -> FigureLimit | None:
    """Return the limit that a vessel's upkeep sets to a figure; None where it sets none."""
    upkeep = upkeep_of(standing)
    if not standing.vessel.is_barrel:
        return None
    found = {MOLECULAR: (upkeep.molecular_so2_floor_mg_l, -1), "va_g_l": (upkeep.va_ceiling_g_l, 1)}.get(name)
    return None if found is None or not found[0] else FigureLimit(found[0], found[1])


def _row(standing: Standing, name: str, past: Past | None, units: Units, is_old: bool) -> PageFigure:
    figure, limit = _figure(standing, name), limit_of(standing, name)
    quantity, digits = _shown_as(name)
    read: Sequence[Measured] = () if past is None or name == MOLECULAR else past.this_fill(standing, name)
    values, doubt = [each.value for each in read], median(each.doubt for each in read) if read else 0.0
    label = "molecular SO2" if name == MOLECULAR else PROPERTIES[name].label
    value = show(quantity, figure.value, units, with_unit=False, digits=digits)
    return PageFigure(
        name,
        label,
        _SHORT.get(name, label),
        f"~{value}" if figure.how == "calculated" else value,
        _band(figure, quantity, digits, units),
        "" if figure.value is None else unit_written(quantity, units),
        figure.age,
        "" if limit is None else f"{'≥≤'[limit.sign > 0]} {_limit(limit, quantity, digits, units)}",
        "" if limit is None else _chance(standing, name, limit),
        _at_celsius(figure, units) if name == MOLECULAR else small_line(values, doubt),
        "" if not read else show(quantity, read[-1].value, units, with_unit=False, digits=digits),
        _state(figure, limit, standing, is_old),
        is_old,
    )


def _at_celsius(figure: Figure, units: Units) -> str:
    """Return the temperature that molecular SO2 is calculated at, where other figures have a line of their past."""
    return "" if figure.at_celsius is None else f"at {show(Quantity.TEMPERATURE, figure.at_celsius, units)}"


def _shown_as(name: str) -> tuple[Quantity, int | None]:
    return (Quantity.SULPHITE, 2) if name == MOLECULAR else (PROPERTIES[name].quantity, None)


def _limit(limit: FigureLimit, quantity: Quantity, digits: int | None, units: Units) -> str:
    return show(quantity, limit.value, units, with_unit=False, digits=digits)


def _band(figure: Figure, quantity: Quantity, digits: int | None, units: Units) -> str:
    if figure.value is None or figure.low is None or figure.high is None:
        return ""
    low, high = figure.low, figure.high
    if figure.how != "calculated":  # what was just measured stays where it was measured, as sure as all that is known
        reach = (high - low) / 2
        low, high = figure.value - reach, figure.value + reach
    return show_band(quantity, figure.value, low, high, units, digits=digits)


def _chance(standing: Standing, name: str, limit: FigureLimit) -> str:
    course = standing.course(name)
    return "" if course is None else chance_words(course.chance(0.0, limit.value, limit.sign), limit.sign)


def chance_words(chance: float, sign: int) -> str:
    """Return how likely a figure is beyond its limit: "27 % under", and never that it is certain."""
    side = "over" if sign > 0 else "under"
    if chance > _AS_GOOD_AS_SURE:
        return f">99 % {side}"
    return f"<1 % {side}" if chance < 1 - _AS_GOOD_AS_SURE else f"{100 * chance:.0f} % {side}"


def _state(figure: Figure, limit: FigureLimit | None, standing: Standing, is_old: bool) -> FigureState:
    if limit is not None and figure.value is not None:
        if limit.sign * (figure.value - limit.value) > 0:
            return FigureState.TROUBLE
        course = standing.course(figure.name)
        if course is not None and course.chance(0.0, limit.value, limit.sign) >= standing.facts.risk:
            return FigureState.DUE
    return FigureState.DUE if is_old else FigureState.FINE
