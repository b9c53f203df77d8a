"""Volume and headspace of lying barrels from their inside dimensions, in millimetres.

A stave is taken as a parabola: the radius falls from the bung to the heads as 1 - (distance)². A measured capacity,
where known, scales the shape; outside dimensions alone are off by several percent.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._inside import LITRE, Inside, checked_dip, inside, litres_inside, scale_to
from cooperage.liquid._ranges import LARGEST, Floats, within


def _gauss_legendre(points: int) -> tuple[Floats, Floats]:
    """Nodes and weights on -1 to 1 (Golub and Welsch (1969), Math. Comp. 23, 221-230); saves loading np.polynomial."""
    k = np.arange(1.0, points)
    beside = np.diag(k / np.sqrt(4.0 * k**2 - 1.0), 1)
    nodes, vectors = np.linalg.eigh(beside + beside.T)
    return nodes, 2.0 * vectors[0] ** 2


NODES, WEIGHTS = _gauss_legendre(40)

# By row: nominal litres, inside diameter at the bung and at the heads [mm]; the length follows from the litres
USUAL_SHAPES = np.array(
    [
        [200.0, 225.0, 228.0, 300.0, 350.0, 500.0],
        [620.0, 645.0, 665.0, 710.0, 750.0, 860.0],
        [505.0, 515.0, 535.0, 560.0, 590.0, 700.0],
    ]
)


class BarrelShape(NamedTuple):
    """Inside dimensions of a barrel [mm]."""

    bung_diameter_mm: Floats
    head_diameter_mm: Floats
    length_mm: Floats


def barrel_litres(bung_diameter_mm: ArrayLike, head_diameter_mm: ArrayLike, length_mm: ArrayLike) -> Floats:
    """Volume of a barrel from its inside dimensions.

    Parameters
    ----------
    bung_diameter_mm : array, any shape
        [mm inside], 10 to 10000
    head_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    length_mm : array, broadcast with it
        [mm between the heads], 10 to 10000

    Returns
    -------
    array, broadcast shape [L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    HeadsWiderThanBung
        The heads are wider than the bung.

    Source
    ------
    The classic formula for parabolic staves, pi L/60 (8 D² + 4 D d + 3 d²).

    Examples
    --------
    >>> round(float(barrel_litres(621.0, 506.0, 841.0)), 0)
    225.0

    """
    return litres_inside(inside(bung_diameter_mm, head_diameter_mm, length_mm))


def barrel_shape(capacity_l: ArrayLike) -> BarrelShape:
    """Likely inside dimensions of a barrel of which only the capacity is known.

    Parameters
    ----------
    capacity_l : array, any shape
        [L], 1 to 10000

    Returns
    -------
    BarrelShape of arrays, same shape: bung_diameter_mm [mm], head_diameter_mm [mm], length_mm [mm], scaled from the
    usual barrel nearest in size so that the volume is right

    Raises
    ------
    OutsideFormula
        A capacity lies outside the range above.

    Source
    ------
    Usual inside sizes of 200 to 500 L barrels; common practice, no source. Expect 3 % in a dip's litres.

    Examples
    --------
    >>> round(float(barrel_litres(*barrel_shape(225.0))), 1)
    225.0

    """
    litres = within("capacity", capacity_l, 1.0, 10_000.0, "L")
    nominal, bung, head = USUAL_SHAPES[:, np.abs(USUAL_SHAPES[0] - litres[..., None]).argmin(axis=-1)]
    length = 1000.0 * nominal / barrel_litres(bung, head, 1000.0)
    grown = (litres / nominal) ** (1.0 / 3.0)
    return BarrelShape(bung * grown, head * grown, length * grown)


def ullage_litres(
    headspace_mm: ArrayLike,
    bung_diameter_mm: ArrayLike,
    head_diameter_mm: ArrayLike,
    length_mm: ArrayLike,
    capacity_l: ArrayLike = np.nan,
) -> Floats:
    """Litres missing from a lying barrel, from the dry depth under the bung.

    Parameters
    ----------
    headspace_mm : array, any shape
        [mm from the inside of the bung stave down to the mead], 0 to 10000
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
    Integration of circular segments along the parabolic stave (Gauss-Legendre, 40 points, over the part of the length
    that the headspace reaches). The old quarter rule errs by up to 1.2 % of capacity and fails above 85 % full.

    Examples
    --------
    >>> round(float(ullage_litres(40.0, *barrel_shape(225.0))), 1)
    3.0

    """
    barrel = inside(bung_diameter_mm, head_diameter_mm, length_mm)
    dry = checked_dip("headspace", headspace_mm, barrel.bung)
    return _segment_litres(dry, barrel) * scale_to(barrel, capacity_l)


def _segment_litres(dry: Floats, barrel: Inside) -> Floats:
    """Volume above a level, by symmetry always calculated on the smaller side."""
    bung, head, length = barrel
    shallow = np.minimum(dry, bung - dry)
    height = bung / 2.0 - shallow  # of the level above the axis
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.sqrt(
            np.minimum(np.maximum((bung - 2.0 * height) / (bung - head), 0.0), 1.0)
        )  # share of the half length, 0 to 1
    reach = np.where(bung > head, reach, 1.0)
    along = reach[..., None] * (NODES + 1.0) / 2.0
    radius = (bung[..., None] - (bung - head)[..., None] * along**2) / 2.0
    area = _circle_above(height[..., None], radius)
    small = length * reach * (area * (WEIGHTS / 2.0)).sum(axis=-1) / LITRE
    above: Floats = np.where(dry > bung / 2.0, litres_inside(barrel) - small, small)[()]
    return above


def _circle_above(height: Floats, radius: Floats) -> Floats:
    """Area of the part of a circle that lies above a chord at this height over the centre."""
    cosine = np.minimum(np.maximum(height / radius, -1.0), 1.0)
    area: Floats = radius**2 * (np.arccos(cosine) - cosine * np.sqrt(1.0 - cosine**2))
    return area


def headspace_mm(
    ullage_l: ArrayLike,
    bung_diameter_mm: ArrayLike,
    head_diameter_mm: ArrayLike,
    length_mm: ArrayLike,
    capacity_l: ArrayLike = np.nan,
) -> Floats:
    """Dry depth to expect under the bung of a lying barrel that lacks so many litres; inverse of `ullage_litres`.

    Parameters
    ----------
    ullage_l : array, any shape
        [L missing], 0 to 100000
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
    array, broadcast shape [mm]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above, or more is missing than the barrel holds.
    HeadsWiderThanBung
        The dimensions contradict each other.

    Source
    ------
    `ullage_litres` turned round by halving.

    Examples
    --------
    >>> round(float(headspace_mm(3.04, *barrel_shape(225.0))), 0)
    40.0

    """
    barrel = inside(bung_diameter_mm, head_diameter_mm, length_mm)
    missing = within("missing litres", ullage_l, 0.0, 100_000.0, "L") / scale_to(barrel, capacity_l)
    within("share of the barrel that is missing", missing / litres_inside(barrel), 0.0, 1.0 + 1e-9)
    low, high = 0.0 * (missing + barrel.bung), barrel.bung + 0.0 * missing
    for _ in range(60):
        middle = (low + high) / 2.0
        deeper = _segment_litres(middle, barrel) < missing
        low, high = np.where(deeper, middle, low), np.where(deeper, high, middle)
    return low + 0.0 * (missing + barrel.length + barrel.head)


def cap_ullage_litres(
    headspace_mm: ArrayLike, bung_diameter_mm: ArrayLike, head_diameter_mm: ArrayLike, length_mm: ArrayLike
) -> Floats:
    """Litres missing near the bung of a lying barrel by the quick rule k x (dry millimetres)².

    Parameters
    ----------
    headspace_mm : array, any shape
        [mm], 0 to 100
    bung_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    head_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    length_mm : array, broadcast with it
        [mm between the heads], 10 to 10000

    Returns
    -------
    array, broadcast shape [L]; about 4 % high at 50 mm and 10 % at 100 mm

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    HeadsWiderThanBung
        The dimensions contradict each other, or the staves are straight.

    Source
    ------
    Cap of a surface with radii R1 = D/2 and R2 = L²/(4 (D - d)) at the bung: pi s² sqrt(R1 R2).

    Examples
    --------
    >>> round(float(cap_ullage_litres(10.0, *barrel_shape(225.0))), 2)
    0.19

    """
    bung, head, length = inside(bung_diameter_mm, head_diameter_mm, length_mm)
    dry = within("headspace", headspace_mm, 0.0, 100.0, "mm")
    bulge = within("bulge of the staves", bung - head, 1.0, LARGEST, "mm")
    return np.pi * dry**2 * np.sqrt(bung / 2.0 * length**2 / (4.0 * bulge)) / LITRE


def barrel_area_m2(bung_diameter_mm: ArrayLike, head_diameter_mm: ArrayLike, length_mm: ArrayLike) -> Floats:
    """Inside surface of a barrel: staves and both heads.

    Parameters
    ----------
    bung_diameter_mm : array, any shape
        [mm inside], 10 to 10000
    head_diameter_mm : array, broadcast with it
        [mm inside], 10 to 10000
    length_mm : array, broadcast with it
        [mm between the heads], 10 to 10000

    Returns
    -------
    array, broadcast shape [m2]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    HeadsWiderThanBung
        The heads are wider than the bung.

    Source
    ------
    Surface of revolution of the parabolic stave (Gauss-Legendre), and two circles.

    Examples
    --------
    >>> round(float(barrel_area_m2(*barrel_shape(225.0))), 2)
    1.93

    """
    bung, head, length = (x[..., None] for x in inside(bung_diameter_mm, head_diameter_mm, length_mm))
    along = (NODES + 1.0) / 2.0
    radius = (bung - (bung - head) * along**2) / 2.0
    steepness = 2.0 * (bung - head) * along / length  # d radius / d length
    staves: Floats = (length * np.pi * radius * np.hypot(1.0, steepness) * WEIGHTS).sum(axis=-1)
    heads = np.pi / 2.0 * head[..., 0] ** 2
    return (staves + heads) / LITRE
