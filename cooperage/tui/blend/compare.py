"""Plans and bench glasses in rows: what is drawn from which stock, and what it comes to."""

from collections.abc import Mapping, Sequence

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.summary import in_told_order
from cooperage.blending.brief.figures import name_of, show_figure, unit_words
from cooperage.blending.others import behind, distance
from cooperage.blending.pour.bench_sheet import BenchGlass
from cooperage.tui.blend.table import Row
from cooperage.units import Quantity, Units, show

NOTHING = "-"


def plan_rows(plans: Sequence[Answer], units: Units) -> list[Row]:
    """Compare plans, the best first: how far behind and how unlike it each is, its draws, its figures."""
    best = plans[0]
    apart = [None if plan is best else distance(best, plan) for plan in plans]
    lies_behind = [None if plan is best else behind(best, plan) for plan in plans]
    return [
        Row("behind the best", tuple(_percent(each, units, digits=1) for each in lies_behind)),
        Row("drawn elsewhere", tuple(_percent(each, units, digits=0) for each in apart)),
        Row(f"Draws, {unit_words('litres', units)}"),
        *_draw_rows(plans, units),
        Row("Figures"),
        *_figure_rows([plan.blend for plan in plans], units),
    ]


def glass_rows(glasses: Sequence[BenchGlass], units: Units) -> list[Row]:
    """Tell what to pipette into each glass, how far it strays from its plan, and what it will read."""
    drawn = [{row.stock: row.millilitres for row in glass.sheet.rows} for glass in glasses]
    stocks = dict.fromkeys(stock for glass in drawn for stock in glass)
    pipetted = [Row(stock, tuple(_ml(glass.get(stock, 0.0), units) for glass in drawn)) for stock in stocks]
    strays = tuple(show(Quantity.NUMBER, glass.sheet.strays_by_points, units, digits=2) for glass in glasses)
    return [
        Row("Pipette, ml"),
        *pipetted,
        Row("strays, points", strays),
        Row("Will read"),
        *_figure_rows([glass.predicted for glass in glasses], units),
    ]


def _draw_rows(plans: Sequence[Answer], units: Units) -> list[Row]:
    """Tell the draws, the stocks of the first plan first."""
    drawn = [{draw.stock: draw.litres for draw in plan.draws} for plan in plans]
    stocks = dict.fromkeys(stock for plan in drawn for stock in plan)
    return [Row(stock, tuple(_litres(plan.get(stock), units) for plan in drawn)) for stock in stocks]


def _figure_rows(blends: Sequence[Mapping[str, float | None]], units: Units) -> list[Row]:
    names = in_told_order(dict.fromkeys(name for blend in blends for name in blend))
    return [
        Row(
            f"{'blend' if name == 'litres' else name_of(name)} {unit_words(name, units)}".rstrip(),
            tuple(show_figure(name, blend.get(name), units, with_unit=False) for blend in blends),
        )
        for name in names
        if any(blend.get(name) is not None for blend in blends)
    ]


def _litres(litres: float | None, units: Units) -> str:
    return NOTHING if litres is None else show_figure("litres", litres, units, with_unit=False)


def _ml(millilitres: float, units: Units) -> str:
    shown = f"{millilitres:.3f}".rstrip("0").rstrip(".").replace(".", units.decimal)
    return shown if millilitres else NOTHING


def _percent(fraction: float | None, units: Units, digits: int) -> str:
    return NOTHING if fraction is None else show(Quantity.PERCENT, 100 * fraction, units, digits=digits)
