"""Plans and bench glasses in rows: what is drawn from which stock, and what it comes to."""

from collections.abc import Mapping, Sequence

from rich.text import Text

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.compared import behind, changes, distance
from cooperage.blending.answer.summary import order_figures
from cooperage.blending.brief.figures import figure_name, show_figure, unit_words
from cooperage.blending.pour.bench_sheet import BenchGlass
from cooperage.tui.blend.table import CompareRow
from cooperage.tui.blend.words import Inks
from cooperage.units import Quantity, Units, show

NOTHING = "-"


def plan_rows(plans: Sequence[Answer], units: Units) -> list[CompareRow]:
    """Compare plans, the best first: how much worse and how different each is, its draws, its figures."""
    best = plans[0]
    distances = [None if plan is best else distance(best, plan) for plan in plans]
    lies_behind = [None if plan is best and not _has_price(plan) else behind(best, plan) for plan in plans]
    return [
        CompareRow("worse by", tuple(_percent(each, units, digits=1) for each in lies_behind)),
        CompareRow("draws differing", tuple(_percent(each, units, digits=0) for each in distances)),
        CompareRow("part full", tuple(_count(plan.part_full) for plan in plans)),
        CompareRow(f"Draws, {unit_words('litres', units)}"),
        *_draw_rows(plans, units),
        CompareRow("Figures"),
        *_figure_rows([plan.blend for plan in plans], units),
    ]


def _has_price(plan: Answer) -> bool:
    return plan.price_of_tidiness is not None and bool(plan.price_of_tidiness.price)


def _count(count: int | None) -> str:
    return NOTHING if count is None else str(count)


def glass_rows(glasses: Sequence[BenchGlass], units: Units) -> list[CompareRow]:
    """Return rows: what to pipette into each glass, its rounding error, and its predicted figures."""
    drawn = [{row.stock: row.millilitres for row in glass.sheet.rows} for glass in glasses]
    stocks = dict.fromkeys(stock for glass in drawn for stock in glass)
    pipetted = [CompareRow(stock, tuple(_ml(glass.get(stock, 0.0), units) for glass in drawn)) for stock in stocks]
    strays = tuple(show(Quantity.NUMBER, glass.sheet.strays_by_points, units, digits=2) for glass in glasses)
    return [
        CompareRow("Pipette, mL"),
        *pipetted,
        CompareRow("rounding, %", strays),
        CompareRow("Predicted"),
        *_figure_rows([glass.predicted for glass in glasses], units),
    ]


def _draw_rows(plans: Sequence[Answer], units: Units) -> list[CompareRow]:
    """Return the draws, the stocks of the first plan first."""
    drawn = [{draw.stock: draw.litres for draw in plan.draws} for plan in plans]
    stocks = dict.fromkeys(stock for plan in drawn for stock in plan)
    return [CompareRow(stock, tuple(_litres(plan.get(stock), units) for plan in drawn)) for stock in stocks]


def _figure_rows(blends: Sequence[Mapping[str, float | None]], units: Units) -> list[CompareRow]:
    names = order_figures(dict.fromkeys(name for blend in blends for name in blend))
    return [
        CompareRow(
            f"{'blend' if name == 'litres' else figure_name(name)} {unit_words(name, units)}".rstrip(),
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


_PLAN = "{:<2}{:<10} {:>9} {:>8} {:>10} {:>7} {:>8}   "


def plans_table(plans: Sequence[Answer], names: Sequence[str], units: Units, inks: Inks) -> Text:
    """Draw a line a plan: how much worse than the best, what it draws on, how sure it is, what it changes."""
    head = _PLAN.format("", "plan", "worse by", "stocks", "part full", "chance", "differs")
    lines = [Text(f"{head}what changes", inks("quiet"))]
    lines += [_plan(nth, plans, name, units, inks) for nth, name in enumerate(names)]
    return Text("\n").join(lines)


def _plan(nth: int, plans: Sequence[Answer], name: str, units: Units, inks: Inks) -> Text:
    plan, best = plans[nth], plans[0]
    figures = _PLAN.format(
        "",
        name,
        _percent(behind(best, plan), units, 1),
        len(plan.draws),
        _count(plan.part_full),
        _percent(plan.chance_of_all, units, 0),
        NOTHING if not nth else _percent(distance(best, plan), units, 0),
    )
    return Text(figures).append("" if not nth else changes(best, plan), inks("quiet"))
