"""The blends that a trial may try: shares between bounds, with limits on figures that go by share."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from cooperage.blending.brief.figures import figure_name, show_figure
from cooperage.blending.mixture.designs import LinearRange, NoSuchDesign, extreme_vertices
from cooperage.blending.mixture.region import Region
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.stocks import spans_of
from cooperage.blending.trials.trial import TrialStock
from cooperage.errors import Refused
from cooperage.units import DEFAULT, Units


class NoBlendWithin(Refused):
    """Bounds and limits that no blend of these stocks keeps."""


def region_of(stocks: Sequence[TrialStock], limits: Mapping[str, Any], units: Units = DEFAULT) -> Region:
    """Return the region of a trial; raises NoBlendWithin naming what clashes.

    Figures are averaged by volume: what a blend's strength gains by contraction, some hundredths of a per cent by
    volume, is left out.
    """
    _check_bounds(stocks)
    low, high = [each.low for each in stocks], [each.high for each in stocks]
    spans = spans_of(limits)
    rows = {name: [each.figures[name] for each in stocks] for name in spans}
    linear: list[LinearRange] = [(rows[name], _end(span.low), _end(span.high)) for name, span in spans.items()]
    try:
        return Region.of(low, high, linear)
    except NoSuchDesign:
        reached = extreme_vertices(low, high)
        words = "; ".join(_reach(name, reached @ np.array(row), units) for name, row in rows.items())
        raise NoBlendWithin(
            f"no blend of these stocks keeps the limits: within the bounds {words}; widen a limit or a bound"
        ) from None


def is_simplex(region: Region) -> bool:
    """Return True if only lower bounds cut the mixtures, so that a lattice fits between them."""
    room = 1.0 - region.lower.sum()
    return not region.linear and bool((region.upper >= region.lower + room - 1e-9).all())


def _end(value: float) -> float | None:
    return None if np.isinf(value) else value


def _check_bounds(stocks: Sequence[TrialStock]) -> None:
    least, most = sum(each.low for each in stocks), sum(each.high for each in stocks)
    if least > 1 + 1e-9:
        raise NoBlendWithin(f"the least shares come to {100 * least:.4g} %; lower them to 100 % in all")
    if most < 1 - 1e-9:
        raise NoBlendWithin(f"the greatest shares come to {100 * most:.4g} %; raise them to 100 % in all")


def _reach(name: str, values: Floats, units: Units) -> str:
    low, high = (show_figure(name, float(end), units) for end in (values.min(), values.max()))
    return f"{figure_name(name)} lies from {low} to {high}"
