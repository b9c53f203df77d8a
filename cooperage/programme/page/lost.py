"""What was lost between visits beside what is usual for the vessel in such a time, as bars of a chart."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from cooperage.book import Standing
from cooperage.programme.ahead.usual import sound
from cooperage.programme.losses.level import expected_loss, prior_rate
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.page.charted import in_unit
from cooperage.programme.page.past import Past
from cooperage.programme.page.ticks import month_written, ticks_in_rows
from cooperage.units import DEFAULT, Quantity, Units, local_day, show, unit_written

_MUCH = 2.0
"""So many times the usual loss is far more than that (common practice, no source)."""
_EVERY = 5
"""Bars from one that has its month below it to the next."""


class Bar(NamedTuple):
    """One visit: the column of its bar, what was lost and what is usual in such a time, in the person's unit."""

    column: int
    lost: float
    usual: float | None

    @property
    def is_much(self) -> bool:
        """True if it was far more than is usual."""
        return self.usual is not None and self.lost > _MUCH * self.usual


@dataclass(frozen=True, slots=True)
class LostChart:
    """Bars two columns apart, the latest visit last; `title` is what is drawn, `usual` what is usual, as text.

    `ticks` are values with their text, `dates` columns with theirs.
    """

    title: str
    usual: str
    bars: Sequence[Bar]
    ticks: Sequence[tuple[float, str]]
    dates: Sequence[tuple[int, str]]

    @property
    def much(self) -> int:
        """How many visits found far more than is usual."""
        return sum(bar.is_much for bar in self.bars)


def lost_chart(
    standing: Standing, past: Past, rate: LossRate | None, columns: int, rows: int, units: Units = DEFAULT
) -> LostChart | None:
    """Return what visits found lost, as many of the latest as there are columns for; None where nothing was lost."""
    latest = list(past.lost)[-(columns // 2) :]
    if not latest:
        return None
    usually = None if not standing.vessel.is_barrel else sound(rate or prior_rate(standing))
    bars = []
    for nth, each in enumerate(latest):
        usual = None
        if usually is not None and each.since is not None:
            usual = in_unit(
                Quantity.VOLUME, expected_loss(usually, each.since.timestamp(), each.at.timestamp())[0], units
            )
        bars.append(Bar(2 * nth, in_unit(Quantity.VOLUME, each.ml, units), usual))
    high = max(max(bar.lost, bar.usual or 0.0) for bar in bars)
    low = min(0.0, *(bar.lost for bar in bars))
    dates = [(2 * nth, month_written(local_day(each.at))) for nth, each in enumerate(latest) if nth % _EVERY == 0]
    monthly = "" if usually is None else show(Quantity.VOLUME, round(usually.ml_per_day * 30), units)
    return LostChart(
        f"lost between visits, {unit_written(Quantity.VOLUME, units)}",
        f"usual {monthly} a month" if monthly else "",
        bars,
        ticks_in_rows(low, max(high, 1e-3), rows, units),
        dates,
    )
