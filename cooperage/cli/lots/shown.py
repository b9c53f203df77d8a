"""Lots, batches and honeys as scripts read them, and lines as people do."""

from collections.abc import Iterable
from textwrap import fill
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from cooperage.programme.batches.curve import Banded
    from cooperage.programme.batches.lot_sheet import FermentCourse, LotSheet
    from cooperage.programme.batches.sheet import Batch, Honey

_COLUMNS = 78
COLUMNS, ROWS = 68, 13
"""Columns and rows of a curve, without its axes."""


def print_lines(lines: Iterable[str]) -> None:
    """Print lines, each wrapped to a terminal of 80 columns."""
    for line in lines:
        inset = " " * (len(line) - len(line.lstrip()))
        click.echo(fill(line, _COLUMNS, subsequent_indent=f"{inset}  ", break_on_hyphens=False))


def honey_json(honey: "Honey") -> dict[str, Any]:
    """Return a honey."""
    return {
        "code": honey.code,
        "came_kg": honey.grams / 1000,
        "producer": honey.producer,
        "flowers": honey.floral,
        "harvest": honey.harvest,
        "supplier_lot": honey.supplier_lot,
        "moisture_percent": honey.moisture,
        "moisture_from": honey.method,
        "price": honey.price_per_kg,
        "came": honey.came_on,
        "note": honey.note,
        "hand": honey.hand,
        "written": honey.written_at,
    }


def batch_json(batch: "Batch") -> dict[str, Any]:
    """Return a batch sheet."""
    return {
        "lot": batch.lot,
        "water_l": batch.water_ml / 1000,
        "honeys": [{"honey": each.code, "mass_kg": each.grams / 1000} for each in batch.honeys],
        "juices": [{"name": each.name, "volume_l": each.ml / 1000, "sg": each.sg} for each in batch.others],
        "yeast": batch.yeast,
        "tolerance_abv": batch.tolerance,
        "coolest_c": batch.coolest,
        "warmest_c": batch.warmest,
        "nutrient_nitrogen_percent": None if batch.nutrient_n is None else batch.nutrient_n / 10,
        "target_sg": batch.target_sg,
        "target_l": batch.target_l,
        "end_sg": batch.end_sg,
        "end_standard_deviation_sg": batch.end_sd,
        "note": batch.note,
        "hand": batch.hand,
        "written": batch.written_at,
    }


def sheet_json(sheet: "LotSheet") -> dict[str, Any]:
    """Return all of a lot."""
    return {
        "lot": sheet.lot.code,
        "name": sheet.lot.name,
        "status": sheet.status.value,
        "litres": sheet.now.ml / 1000,
        "litres_in_wood": sheet.wood_ml / 1000,
        "vessels": len(sheet.now.holdings),
        "original_sg": sheet.original,
        "final_sg": sheet.lot.final_sg,
        "finished": sheet.lot.finished_on,
        "cost_per_l": sheet.lot.cost_per_l,
        "batch": None if sheet.batch is None else batch_json(sheet.batch) | {"cost": _money(sheet.honey_cost)},
        "honeys": [honey_json(each) for each in sheet.honeys],
        "gravities": [
            {"at": each.at, "vessel": each.vessel, "sg": each.sg, "temperature_c": each.celsius}
            for each in sheet.fermented.gravities
        ],
        "course": None if sheet.course is None else _course_json(sheet.course),
        "nitrogen_needed_mg_l": sheet.nitrogen_need,
        "nitrogen_given_mg_l": sheet.nitrogen_given,
        "added": [
            {"at": each.at, "vessel": each.vessel, "substance": each.substance, "hand": each.hand}
            for each in sheet.fermented.given
        ],
        "treated": [
            {"at": at, "vessel": vessel, "treatment": treatment, "hand": hand}
            for at, vessel, treatment, hand in sheet.fermented.treated
        ],
        "spread": [
            {"property": each.name, "low": each.low, "middle": each.middle, "high": each.high}
            | {"low_vessel": each.low_vessel, "high_vessel": each.high_vessel}
            | {"known": each.known, "vessels": each.vessels, "unit": "that of the property"}
            for each in sheet.spread
        ],
    }


def curve_json(sheet: "LotSheet") -> dict[str, Any]:
    """Return the curve of a lot, day by day; without one there is none of its days."""
    from cooperage.programme.page.fermented import curve_days

    course, began = sheet.course, sheet.fermented.began
    days = [] if course is None or began is None else curve_days(course, sheet.fermented)
    return {
        "lot": sheet.lot.code,
        "status": sheet.status.value,
        "pitched": began,
        "original_sg": sheet.original,
        "course": None if course is None else _course_json(course),
        "days": [
            {"day": each.day, "at": each.at, "read_sg": each.read} | _span(each.span, "expected", "sg") for each in days
        ],
    }


def _money(sum_: float | None) -> float | None:
    return None if sum_ is None else round(sum_, 2)


def _course_json(course: "FermentCourse") -> dict[str, Any]:
    stuck = course.stuck
    return {
        "has_ended": course.has_ended,
        **_span(course.end, "end", "sg"),
        **_span(course.end_day, "end_after", "days"),
        "own_fermentations": course.habit.lots,
        "past_ends": [
            {"lot": each.lot, "end_sg": each.sg, "end_after_days": each.day}
            | {"gravity_was_in_band": each.is_sg_held, "day_was_in_band": each.is_day_held}
            for each in course.past
        ],
        "stuck": None if stuck is None else {"since_days": stuck.days, "sg": stuck.sg, "sure": stuck.sure},
    }


def _span(span: "Banded", name: str, unit: str) -> dict[str, float]:
    return {
        f"{name}_{unit}": span.middle,
        f"{name}_low_50_{unit}": span.low50,
        f"{name}_high_50_{unit}": span.high50,
        f"{name}_low_80_{unit}": span.low80,
        f"{name}_high_80_{unit}": span.high80,
    }
