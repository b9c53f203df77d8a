"""How much of a dosing stock (honey, water, spirit) brings a mead to a wanted strength or sweetness.

Masses are conserved and the answer is true to contraction: it is what `mix` would need.
"""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.honey import honey_stream
from cooperage.liquid.mixing import mix


class OutOfReach(OutOfRange):
    """The dosing stock leads away from what is wanted, or stops short of it."""

    def __init__(self, quantity: str, unit: str, start: float, stock: float, wanted: float) -> None:
        self.quantity, self.start, self.stock, self.wanted, self.unit = quantity, start, stock, wanted, unit
        super().__init__(
            f"{quantity} {wanted:g} {unit} cannot be reached from {start:g} with a stock of {stock:g} {unit}"
        )


def dose_for_abv(
    litres: ArrayLike,
    abv: ArrayLike,
    extract_g_l: ArrayLike,
    stock_abv: ArrayLike,
    stock_extract_g_l: ArrayLike,
    wanted_abv: ArrayLike,
) -> Floats:
    """Litres of a stock that bring a mead to a strength.

    Parameters
    ----------
    litres : array, any shape
        [L at 20 °C], 0 or more
    abv : array, broadcast with it
        [% vol], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    stock_abv : array, broadcast with it
        [% vol], 0 to 100
    stock_extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    wanted_abv : array, broadcast with it
        [% vol], 0 to 100

    Returns
    -------
    array, broadcast shape [L of the stock at 20 °C]

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.
    OutOfReach
        The wanted strength does not lie between the mead's and the stock's.

    Source
    ------
    Conservation of mass and ethanol (see `mix`), solved by repeated proportion.

    Examples
    --------
    >>> round(float(dose_for_abv(100.0, 50.0, 0.0, 0.0, 0.0, 20.0)), -1)
    150.0

    """
    return _dose("strength", "% vol", 1, (litres, abv, extract_g_l), (stock_abv, stock_extract_g_l), wanted_abv)


def dose_for_extract(
    litres: ArrayLike,
    abv: ArrayLike,
    extract_g_l: ArrayLike,
    stock_abv: ArrayLike,
    stock_extract_g_l: ArrayLike,
    wanted_extract_g_l: ArrayLike,
) -> Floats:
    """Litres of a stock that bring a mead to a sweetness.

    Parameters
    ----------
    litres : array, any shape
        [L at 20 °C], 0 or more
    abv : array, broadcast with it
        [% vol], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    stock_abv : array, broadcast with it
        [% vol], 0 to 100
    stock_extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    wanted_extract_g_l : array, broadcast with it
        [g/L], -10 to 1228

    Returns
    -------
    array, broadcast shape [L of the stock at 20 °C]

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.
    OutOfReach
        The wanted extract does not lie between the mead's and the stock's.

    Source
    ------
    Conservation of mass and extract (see `mix`), solved by repeated proportion.

    Examples
    --------
    >>> round(float(dose_for_extract(100.0, 0.0, 0.0, 0.0, 216.2, 108.1)), 0)
    100.0

    """
    return _dose("extract", "g/L", 2, (litres, abv, extract_g_l), (stock_abv, stock_extract_g_l), wanted_extract_g_l)


def honey_kg_for_extract(
    litres: ArrayLike,
    abv: ArrayLike,
    extract_g_l: ArrayLike,
    moisture: ArrayLike,
    wanted_extract_g_l: ArrayLike,
) -> Floats:
    """Kilograms of honey that sweeten a mead to an extract.

    Parameters
    ----------
    litres : array, any shape
        [L at 20 °C], 0 or more
    abv : array, broadcast with it
        [% vol], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L], -10 to 1228
    moisture : array, broadcast with it
        [g water per 100 g of honey], 15 to 30
    wanted_extract_g_l : array, broadcast with it
        [g/L], -10 to 1228

    Returns
    -------
    array, broadcast shape [kg of honey]

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.
    OutOfReach
        The mead is sweeter already, or honey is not sweet enough.

    Source
    ------
    Conservation of mass and extract, with `honey_stream`.

    Examples
    --------
    >>> kilograms = honey_kg_for_extract(225.0, 13.5, 40.0, 18.0, 60.0)
    >>> bool(5.5 < kilograms < 6.0)  # 225 x 20 g = 4.5 kg of solids = 5.5 kg, and its own room
    True

    """
    per_kg = honey_stream(1.0, moisture)
    return dose_for_extract(litres, abv, extract_g_l, 0.0, per_kg.extract_g_l, wanted_extract_g_l) / per_kg.litres


def _dose(
    quantity: str,
    unit: str,
    field: int,
    mead: tuple[ArrayLike, ArrayLike, ArrayLike],
    stock: tuple[ArrayLike, ArrayLike],
    wanted: ArrayLike,
) -> Floats:
    """Find the share of the stock in the blend by halving its range until float64 resolves no more."""
    volume = within("litres", mead[0], 0.0, unit="L")
    strength, extract = (_side_by_side(*pair) for pair in zip(mead[1:], stock, strict=True))
    start, end = np.moveaxis((strength, extract)[field - 1], -1, 0)
    target = np.asarray(wanted, dtype=np.float64)
    _refuse_beyond(quantity, unit, start, end, target)
    low = np.zeros(np.broadcast(volume, strength[..., 0], extract[..., 0], target).shape)
    high = np.ones_like(low)
    for _ in range(60):
        share = (low + high) / 2.0
        figure = mix(np.stack([1.0 - share, share], axis=-1), strength, extract)[field]
        short = np.where(end > start, figure < target, figure > target)
        low, high = np.where(short, share, low), np.where(short, high, share)
    unknown = 0.0 * (volume + target + strength.sum(-1) + extract.sum(-1))  # NaN where anything is
    return np.asarray(np.where(start == target, 0.0, volume * low / (1.0 - low)) + unknown)[()]


def _side_by_side(first: ArrayLike, second: ArrayLike) -> Floats:
    pair = np.broadcast_arrays(np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64))
    return np.stack(pair, axis=-1)


def _refuse_beyond(quantity: str, unit: str, start: Floats, stock: Floats, wanted: Floats) -> None:
    start, stock, wanted = np.broadcast_arrays(start, stock, wanted)
    beyond = (wanted != start) & ((wanted - start) * (stock - wanted) <= 0.0)
    if beyond.any():
        raise OutOfReach(quantity, unit, *(float(x[beyond].flat[0]) for x in (start, stock, wanted)))
