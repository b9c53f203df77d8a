"""What oak gives: a rise towards a ceiling that falls with every fill. It is a guide for when to taste, no more.

No extraction figures for honey wine are published. Barrels of one lot differ by 15 to 40 % (27 % on average), toast
labels differ between coopers, and the time constants below are lore with a factor of two in them. So every answer is a
band, in percent of what a new 225 L barrel gives in the long run, and can be rescaled to the cellar's own scores.
"""

from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.liquid._ranges import Floats, within

MarkerGroup: TypeAlias = Literal["lactone", "vanillin", "toast", "tannin"]

BETWEEN_BARRELS = 0.27  # coefficient of variation between barrels of one lot (Am. J. Enol. Vitic. 47:17, 1996)
AREA_225 = 85.8  # cm2 of wood per litre in a 225 L barrel
CAVEAT = "A guide only: barrels of one lot differ by about a quarter, and no figures for mead are published. Taste."


class Marker(NamedTuple):
    """How one group of compounds comes out of the wood."""

    days: float
    """Time constant [days]: 63 % of the ceiling."""
    quickest: float
    slowest: float
    ceilings: tuple[float, ...]
    """Long-run yield of fill 1, 2, ... [% of a new barrel]; nothing after the last."""


MARKERS: dict[str, Marker] = {
    "lactone": Marker(180.0, 90.0, 360.0, (100.0, 60.0, 35.0, 15.0)),
    "vanillin": Marker(90.0, 45.0, 180.0, (100.0, 50.0, 25.0, 10.0)),
    "toast": Marker(21.0, 7.0, 60.0, (100.0, 15.0, 5.0)),
    "tannin": Marker(120.0, 60.0, 360.0, (100.0, 50.0, 10.0)),
}


class Extraction(NamedTuple):
    """What the wood has given so far, and how far that may be trusted."""

    percent: Floats
    """[% of what a new 225 L barrel gives in the long run, times the scale]."""
    low: Floats
    """Lower end of a 95 % band."""
    high: Floats
    """Upper end of a 95 % band."""
    caveat: str
    """To be shown with the figures."""


class WoodLeft(NamedTuple):
    """What the next fill would be given by wood that has been used."""

    percent: Floats
    """[% of what the same barrel gave new], by the group asked for."""
    low: Floats
    """The least of any group of compounds [%]."""
    high: Floats
    """The most of any group of compounds [%]."""


class UnknownMarker(BadInput):
    """No such group of oak compounds is kept."""

    def __init__(self, group: str) -> None:
        self.group = group
        super().__init__(f"the oak group is one of {', '.join(MARKERS)}, not {group!r}")


class Scale(NamedTuple):
    """A factor from percent to the cellar's own scores."""

    factor: Floats
    """[score per percent]."""
    standard_uncertainty: Floats
    """Of the factor, [score per percent]."""


def wood_extraction(
    days: ArrayLike,
    fill: ArrayLike,
    group: MarkerGroup = "vanillin",
    area_cm2_l: ArrayLike = AREA_225,
    scale: ArrayLike = 1.0,
) -> Extraction:
    """Oak drawn out after so many days in a barrel at its nth fill.

    Parameters
    ----------
    days : array, any shape
        [days in the wood], 0 to 7300
    fill : array, broadcast with it
        [1 for new wood, 2 for the second fill, ...], 1 to 100
    group : str
        [name], "lactone" (coconut), "vanillin", "toast" (furfurals, guaiacols) or "tannin"
    area_cm2_l : array, broadcast with it
        [cm2 of wood per litre, 86 in a 225 L barrel], 5 to 1000
    scale : array, broadcast with it
        [cellar's scores per percent, see `wood_scale`], 0 to 1000

    Returns
    -------
    Extraction of arrays, broadcast shape: percent [%], low [%], high [%]; and a caveat

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    UnknownMarker
        The group is none of those named.

    Source
    ------
    First-order approach to a ceiling. Spread between barrels: Am. J. Enol. Vitic. 47:17 (1996), 27 %. Shape: toast
    compounds in the first days, vanillin after three months, lactone about linear with time and size (PMID 12926895);
    toast nearly gone by the second use, lactone lasting. Time constants and ceilings by fill are common practice, no
    source.

    Examples
    --------
    >>> new, old = (wood_extraction(365.0, fill).percent for fill in (1, 3))
    >>> bool(new > 3 * old)
    True

    """
    marker = _marker(group)
    time = within("days", days, 0.0, 7300.0, "days")
    size = within("area per litre", area_cm2_l, 5.0, 1000.0, "cm2/L") / AREA_225
    most = _ceiling(within("fill", fill, 1.0, 100.0), marker) * size * within("scale", scale, 0.0, 1000.0)
    band = 1.96 * BETWEEN_BARRELS
    return Extraction(
        most * _approach(time, marker.days),
        most * _approach(time, marker.slowest) * (1.0 - band),
        most * _approach(time, marker.quickest) * (1.0 + band),
        CAVEAT,
    )


def wood_drawn(days: ArrayLike, group: MarkerGroup = "vanillin") -> Floats:
    """Share of what one fill draws in the long run that is out after so many days.

    Parameters
    ----------
    days : array, any shape
        [days in the wood], 0 to 7300
    group : str
        [name], as in `wood_extraction`

    Returns
    -------
    array, same shape [fraction, 0 to 1]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    UnknownMarker
        The group is none of those named.

    Source
    ------
    As in `wood_extraction`.

    Examples
    --------
    >>> round(float(wood_drawn(90.0)), 2)
    0.63

    """
    return _approach(within("days", days, 0.0, 7300.0, "days"), _marker(group).days)


def wood_left(used: ArrayLike, group: MarkerGroup = "vanillin") -> WoodLeft:
    """What wood gives its next fill after so many fills, of which parts count as such.

    Parameters
    ----------
    used : array, any shape
        [fills drawn from the wood, 0 for new], 0 to 100
    group : str
        [name], as in `wood_extraction`

    Returns
    -------
    WoodLeft of arrays, same shape: percent [%], low [%], high [%]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    UnknownMarker
        The group is none of those named.

    Source
    ------
    The ceilings by fill of `wood_extraction`, on straight lines between them: common practice, no source.

    Examples
    --------
    >>> wood_left([0.0, 1.0, 1.5]).percent.tolist()
    [100.0, 50.0, 37.5]

    """
    fills = within("used", used, 0.0, 100.0, "fills")
    every = np.array([_between(fills, marker) for marker in MARKERS.values()])
    return WoodLeft(_between(fills, _marker(group)), every.min(axis=0)[()], every.max(axis=0)[()])


def _between(used: Floats, marker: Marker) -> Floats:
    ceilings = (*marker.ceilings, 0.0)
    return np.asarray(np.interp(used, range(len(ceilings)), ceilings))[()]


def _marker(group: str) -> Marker:
    if group not in MARKERS:
        raise UnknownMarker(group)
    return MARKERS[group]


def _approach(days: Floats, constant: float) -> Floats:
    return -np.expm1(-days / constant)


def _ceiling(fill: Floats, marker: Marker) -> Floats:
    ceilings = np.array([*marker.ceilings, 0.0])
    known = np.nan_to_num(fill, nan=1.0).astype(int)
    return np.asarray(ceilings[np.minimum(known, len(ceilings)) - 1] + 0.0 * fill)[()]


def wood_scale(percent: ArrayLike, score: ArrayLike) -> Scale:
    """Fit the cellar's own oak scores to the percentages calculated for the same barrels.

    Parameters
    ----------
    percent : array, shape (barrels,)
        [%, from `wood_extraction`], 0 or more
    score : array, shape (barrels,)
        [points], 0 or more

    Returns
    -------
    Scale of arrays, shape (): factor [points per percent], standard_uncertainty [points per percent]; the latter is
    NaN for fewer than two barrels, and barrels with an unknown figure are left out

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Least squares through zero.

    Examples
    --------
    >>> round(float(wood_scale([20.0, 40.0], [2.0, 4.0]).factor), 3)
    0.1

    """
    x, y = within("percent", percent, 0.0, unit="%"), within("score", score, 0.0, unit="points")
    known = ~np.isnan(x + y)
    x, y = x[known], y[known]
    with np.errstate(divide="ignore", invalid="ignore"):
        weight = np.asarray((x * x).sum())
        factor = (x * y).sum() / weight
        scatter = ((y - factor * x) ** 2).sum() / np.float64(x.size - 1 if x.size > 1 else np.nan)
        return Scale(factor, np.sqrt(scatter / weight))
