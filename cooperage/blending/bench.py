"""The bench: a plan scaled down to a glass, in steps that a pipette can draw."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.blending.answer import Answer
from cooperage.blending.pour import NothingToPour
from cooperage.errors import BadInput


class NotAPipette(BadInput):
    """A step or a glass that cannot be drawn."""

    def __init__(self, millilitres: float, step: float) -> None:
        super().__init__(
            f"a glass of {millilitres:g} ml in steps of {step:g} ml cannot be drawn; give both above 0, "
            "the glass a whole number of steps"
        )


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
    step: float
    strays_by_points: float


def bench_sheet(answer: Answer, millilitres: float = 100.0, step: float = 1.0) -> BenchSheet:
    """Round a plan to pipette steps so that the glass stays nearest the plan (largest remainders, Hamilton's method).

    Raises NothingToPour for an answer without draws, NotAPipette.
    """
    if not answer.draws:
        raise NothingToPour(answer.status)
    steps = millilitres / step if step > 0 else 0.0
    if millilitres <= 0 or steps < 1 or abs(steps - round(steps)) > 1e-9:
        raise NotAPipette(millilitres, step)
    litres = np.array([draw.litres for draw in answer.draws])
    shares = litres / litres.sum()
    counts = _largest_remainders(shares, round(steps))
    rows = tuple(
        Pipette(draw.stock, float(count * step), float(share))
        for draw, count, share in zip(answer.draws, counts, shares, strict=True)
    )
    strays = float(np.abs(counts / counts.sum() - shares).max() * 100)
    return BenchSheet(rows, millilitres, step, strays)


def _largest_remainders(shares: np.ndarray, steps: int) -> np.ndarray:
    exact = shares * steps
    counts = np.floor(exact + 1e-9).astype(int)
    for place in np.argsort(-(exact - counts), kind="stable")[: steps - counts.sum()]:
        counts[place] += 1
    return counts


def predicted(sheet: BenchSheet, figures: Mapping[str, Mapping[str, float | None]]) -> dict[str, float | None]:
    """Reckon the glass's figures by volume from each stock's; None where a stock drawn has no figure."""
    drawn: Sequence[Pipette] = [row for row in sheet.rows if row.millilitres > 0]
    names = {name for row in drawn for name in figures[row.stock]}
    told: dict[str, float | None] = {}
    for name in sorted(names):
        values = [(row.millilitres, figures[row.stock].get(name)) for row in drawn]
        known = [(ml, value) for ml, value in values if value is not None]
        told[name] = sum(ml * v for ml, v in known) / sheet.millilitres if len(known) == len(values) else None
    return told
