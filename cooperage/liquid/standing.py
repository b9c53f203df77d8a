"""Vessels that stand: barrels on their head, and upright tanks."""

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._inside import LITRE, MOST_MM, checked_dip, inside, scale_to
from cooperage.liquid._ranges import Floats, within


def standing_litres(
    wet_mm: ArrayLike,
    bung_diameter_mm: ArrayLike,
    head_diameter_mm: ArrayLike,
    length_mm: ArrayLike,
    capacity_l: ArrayLike = np.nan,
) -> Floats:
    """Litres in a barrel that stands on its head.

    Parameters
    ----------
    wet_mm : array, any shape
        [mm of mead above the lower head], 0 to 10000
    bung_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    head_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    length_mm : array, broadcast with it
        [mm between the heads], 10 to 10000
    capacity_l : array, broadcast with it
        [L measured; NaN where only the dimensions are known], 1 to 100000

    Returns
    -------
    array, broadcast shape [L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    HeadsWiderThanBung, DipTooDeep
        The dimensions contradict each other or the dip.

    Source
    ------
    Integral of pi r² for the parabolic stave, in closed form.

    Examples
    --------
    >>> round(float(standing_litres(420.5, 621.0, 506.0, 841.0)), 1)  # half of 225.0
    112.5

    """
    barrel = inside(bung_diameter_mm, head_diameter_mm, length_mm)
    wet = checked_dip("wet depth", wet_mm, barrel.length)
    bung, bulge = barrel.bung, barrel.bung - barrel.head

    def from_middle(u: Floats) -> Floats:  # integral of (D - bulge u²)² from the middle, u in half lengths
        return bung**2 * u - 2.0 / 3.0 * bung * bulge * u**3 + bulge**2 * u**5 / 5.0

    level = 2.0 * wet / barrel.length - 1.0
    litres = np.pi / 4.0 * barrel.length / 2.0 * (from_middle(level) + from_middle(np.ones(()))) / LITRE
    return litres * scale_to(barrel, capacity_l)


def tank_litres(wet_mm: ArrayLike, diameter_mm: ArrayLike, cone_mm: ArrayLike = 0.0) -> Floats:
    """Litres in an upright round tank with a flat or conical bottom.

    Parameters
    ----------
    wet_mm : array, any shape
        [mm of mead above the lowest point], 0 to 100000
    diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    cone_mm : array, broadcast with it
        [mm height of the conical bottom, 0 for flat], 0 to 10000

    Returns
    -------
    array, broadcast shape [L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Volumes of a cylinder and of a cone.

    Examples
    --------
    >>> round(float(tank_litres(1000.0, 1128.38)), 0)
    1000.0

    """
    wet = within("wet depth", wet_mm, 0.0, 100_000.0, "mm")
    across = np.pi / 4.0 * within("diameter", diameter_mm, 10.0, MOST_MM, "mm") ** 2
    cone = within("cone", cone_mm, 0.0, MOST_MM, "mm")
    in_cone = np.minimum(wet, cone)
    share = np.where(cone > 0.0, in_cone / np.where(cone > 0.0, cone, 1.0), 0.0)
    litres: Floats = across * (in_cone * share**2 / 3.0 + (wet - in_cone)) / LITRE
    return litres
