"""The words of a vessel's page: its wood and past, its figures with their source, what comes next."""

from collections.abc import Sequence

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.vessel_words import capacity_words, cooperage_words, figure_words
from cooperage.programme.ahead.outlook import Ahead
from cooperage.programme.losses.level import Level
from cooperage.programme.rounds.due import Due
from cooperage.tui.shared.gauges import about_lines
from cooperage.units import Quantity, Units, counted, show, show_day

_ALL_BANDS = "all bands: 90 %"
"""So short that it stands at 80 columns."""
_FIGURES = tuple(name for name in PROPERTIES if name != "headspace_mm")


def head_lines(standing: Standing, units: Units, level: Level | None = None) -> list[str]:
    """Return four lines: the vessel, its contents, its time in wood, how it was made."""
    lines = [*about_lines(standing, units, level), _life(standing, units)]
    if standing.is_retired:
        lines.append(f"RETIRED on {show_day(standing.last('retire'))}: {standing.state.retired_why}")
    elif standing.vessel.barrel is not None:
        lines.append(cooperage_words(standing.vessel.barrel))
    else:
        lines.append(standing.vessel.note)
    return lines


def _life(standing: Standing, units: Units) -> str:
    parts = [capacity_words(standing)]
    if standing.ml and standing.days_in_wood is not None:
        days, of_mead = counted(round(standing.days_in_wood), "day"), standing.mead_days_in_wood
        parts.append(f"{days} in this barrel, its mead {round(of_mead)} in wood on average")
    if standing.days_empty is not None:
        parts.append(f"empty for {counted(round(standing.days_empty), 'day')}")
    if standing.ml:
        parts.append(f"cost {show_figure('cost_per_l', standing.cost_per_l, units)}")
    return ", ".join(parts)


def figure_rows(standing: Standing, units: Units) -> list[tuple[str, str, str]]:
    """List (label, value, source) of every figure of the contents; a temperature only if there are any."""
    rows = []
    for name in _FIGURES:
        figure = standing.figure(name)
        if figure.value is None and name == "temperature_c":
            continue
        rows.append((PROPERTIES[name].label, *figure_words(figure, units)))
    value, band = figure_words(standing.molecular_figure(), units)
    rows.append(("molecular SO2", value, f"{band} ({_ALL_BANDS})" if " to " in band else band))
    return rows


def ahead_line(ahead: Ahead | None, units: Units) -> str:
    """Return in one line what it will hold and be if untouched; empty where there is no forecast."""
    if ahead is None:
        return ""
    forecast = ahead.forecast
    low = show(Quantity.VOLUME, round(forecast.ml.low), units, with_unit=False)
    parts = [f"On {show_day(forecast.on)} {low} to {show(Quantity.VOLUME, round(forecast.ml.high), units)} (90 %)"]
    for quantity, band in ((Quantity.STRENGTH, forecast.abv), (Quantity.SUGAR, forecast.sugar_g_l)):
        parts += [show(quantity, band.value, units)] if band is not None else []
    by = ahead.low_by
    short = "" if by is None else f"; {show(Quantity.VOLUME, by.limit_ml, units)} short on {show_day(by.expected)}"
    return ", ".join(parts) + short


def next_line(coming: Sequence[Due]) -> str:
    """Return in one line what is due when, soonest first."""
    tasks = [f"{due.task} {'DUE ' if due.overdue_days > 0 else ''}{show_day(due.due)}" for due in coming]
    return f"Next: {', '.join(tasks) or 'nothing due'}"
