"""The bench: plans scaled down to glasses, in steps that a pipette can draw, and the chosen glass scaled up again."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.drawn import blend_figures
from cooperage.blending.lp.volume import LiquidMixing, Mixing, PlainMixing
from cooperage.blending.pour.tank import NothingToPour
from cooperage.blending.stocks.pool import Floats, Stocks
from cooperage.errors import BadInput
from cooperage.tasting.codes import blind_codes

LIQUID_FIGURES = ("abv", "sugar_g_l")
CONTROL = "control"

Counts = NDArray[np.int64]


class NotAPipette(BadInput):
    """A step or a glass that cannot be drawn."""

    def __init__(self, millilitres: float, step: float) -> None:
        super().__init__(
            f"a glass of {millilitres:g} mL in steps of {step:g} mL cannot be drawn; give both above 0, "
            "the glass a whole number of steps"
        )


class NotAmongTheStocks(BadInput):
    """A glass with something that is not in the pool."""

    def __init__(self, stock: str) -> None:
        self.stock = stock
        super().__init__(f"the pool has no stock {stock!r} to put into a glass")


class NothingToScale(BadInput):
    """A glass without millilitres, or litres or a step of nothing."""

    def __init__(self) -> None:
        super().__init__("give the glass as STOCK=ML, with litres and a step above 0")


@dataclass(frozen=True, slots=True)
class Pipette:
    """One draw for the glass: millilitres of a stock, and the plan's own share of it."""

    stock: str
    millilitres: float
    planned_share: float


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """What to pipette into one glass, and how far the rounding strays from the plan (largest share, in points)."""

    rows: tuple[Pipette, ...]
    millilitres: float
    step_ml: float
    strays_by_points: float


@dataclass(frozen=True, slots=True)
class BenchGlass:
    """A glass of the bench: its blind code, what it is, how to pipette it, and its figures once mixed."""

    code: str
    what: str
    sheet: BenchSheet
    predicted: Mapping[str, float | None]


@dataclass(frozen=True, slots=True)
class ScaledUp:
    """A chosen glass in the cellar: litres by stock in whole steps, the blend's figures, and how far each drifts.

    `asked` are the litres that were wanted; fewer are drawn where a stock has no more to give.
    """

    draws: Mapping[str, float]
    asked: float
    blend: Mapping[str, float | None]
    drift: Mapping[str, float]


def bench_sheet(answer: Answer, millilitres: float = 100.0, step: float = 1.0) -> BenchSheet:
    """Round a plan to pipette steps so that the glass stays nearest the plan (largest remainders, Hamilton's method).

    Raises NothingToPour for an answer without draws, NotAPipette.
    """
    if not answer.draws:
        raise NothingToPour(answer.status)
    return _sheet({draw.stock: draw.litres for draw in answer.draws}, millilitres, step)


def _sheet(parts: Mapping[str, float], millilitres: float, step: float) -> BenchSheet:
    steps = millilitres / step if step > 0 else 0.0
    if millilitres <= 0 or steps < 1 or abs(steps - round(steps)) > 1e-9:
        raise NotAPipette(millilitres, step)
    amounts = np.array(list(parts.values()))
    shares = amounts / amounts.sum()
    counts = nearest_counts(shares, round(steps))
    rows = tuple(
        Pipette(stock, float(count * step), float(share))
        for stock, count, share in zip(parts, counts, shares, strict=True)
    )
    strays = float(np.abs(counts / counts.sum() - shares).max() * 100)
    return BenchSheet(rows, millilitres, step, strays)


def nearest_counts(shares: Floats, steps: int, most: Floats | None = None) -> Counts:
    """Return whole numbers of sum `steps` nearest to shares of it, none above `most` (fewer steps if none has room).

    Rounding all down and giving what is left to the largest remainders is the nearest point of the lattice of that
    sum, by squares and by largest miss alike (Conway and Sloane 1982, IEEE Trans. IT-28, 227-232: lattice A_n).
    """
    exact = shares * steps
    room = np.full(len(shares), np.inf) if most is None else most
    counts: Counts = np.floor(np.minimum(exact, room) + 1e-9).astype(np.int64)
    while counts.sum() < steps and (counts + 1 <= room + 1e-9).any():
        wanting = np.where(counts + 1 <= room + 1e-9, exact - counts, -np.inf)
        counts[int(wanting.argmax())] += 1
    return counts


def bench_glasses(
    plans: Mapping[str, Answer],
    stocks: Stocks,
    millilitres: float = 100.0,
    step: float = 1.0,
    *,
    control: str | None = None,
    rng: np.random.Generator | None = None,
) -> tuple[BenchGlass, ...]:
    """Return a glass for each plan and one of a single stock as the control, in order of plans, blind-coded.

    The control is the stock named, else the largest draw of the first plan. Raises NothingToPour, NotAPipette,
    NotAmongTheStocks.
    """
    sheets = {name: bench_sheet(plan, millilitres, step) for name, plan in plans.items()}
    largest = max(next(iter(plans.values())).draws, key=lambda draw: draw.litres).stock
    sheets[CONTROL] = _sheet({control or largest: 1.0}, millilitres, step)
    codes = blind_codes(len(sheets), rng or np.random.default_rng())
    return tuple(
        BenchGlass(code, name, sheet, predicted(sheet, stocks))
        for code, (name, sheet) in zip(codes, sheets.items(), strict=True)
    )


def predicted(sheet: BenchSheet, stocks: Stocks) -> dict[str, float | None]:
    """Calculate the figures of a glass as it is pipetted, at true volume; None where a stock in it has no figure.

    Raises NotAmongTheStocks.
    """
    figures = _mixed({row.stock: row.millilitres / 1000 for row in sheet.rows if row.millilitres > 0}, stocks)
    return {name: value for name, value in figures.items() if name != "litres"}


def _mixed(litres: Mapping[str, float], stocks: Stocks) -> dict[str, float | None]:
    for stock in litres:
        if stock not in stocks.names:
            raise NotAmongTheStocks(stock)
    drawn = stocks.take(np.isin(stocks.names, np.array([*litres], dtype=object)))
    amounts = np.array([litres[str(name)] for name in drawn.names])
    return blend_figures(drawn, amounts, _mixing(drawn))


def _mixing(stocks: Stocks) -> Mixing:
    """Mix as liquids where strength and sugar of every stock are known, else add up."""
    known = all(name in stocks.figures and np.isfinite(stocks.figures[name]).all() for name in LIQUID_FIGURES)
    return LiquidMixing(stocks) if known else PlainMixing()


def scale_up(glass: Mapping[str, float], stocks: Stocks, litres: float, step: float = 1.0) -> ScaledUp:
    """Scale a glass, in millilitres by stock, to litres in whole steps of what each stock can give.

    The shares of the glass are kept: where a stock has too little, the whole blend is smaller. `drift` is what the
    rounding moves each figure by. Raises NothingToScale, NotAmongTheStocks.
    """
    if litres <= 0 or step <= 0 or sum(glass.values()) <= 0:
        raise NothingToScale
    shares = {stock: ml / sum(glass.values()) for stock, ml in glass.items() if ml > 0}
    exact = _mixed(shares, stocks)
    there = {str(name): float(held) for name, held in zip(stocks.names, stocks.litres, strict=True)}
    total = min(litres, *(there[stock] / share for stock, share in shares.items()))
    most = np.array([there[stock] / step for stock in shares])
    counts = nearest_counts(np.array(list(shares.values())), int(total / step + 1e-9), np.floor(most + 1e-9))
    draws = {stock: float(count * step) for stock, count in zip(shares, counts, strict=True) if count}
    if not draws:
        raise NothingToScale
    blend = _mixed(draws, stocks)
    return ScaledUp(draws, litres, blend, _drift(exact, blend))


def _drift(exact: Mapping[str, float | None], blend: Mapping[str, float | None]) -> dict[str, float]:
    pairs = {name: (exact.get(name), value) for name, value in blend.items() if name != "litres"}
    return {name: there - here for name, (here, there) in pairs.items() if here is not None and there is not None}
