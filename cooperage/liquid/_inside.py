"""The inside of a barrel: its dimensions checked, its volume, and the scale that a measured capacity sets."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import OutOfRange
from cooperage.liquid._ranges import Floats, within

LITRE = 1e6  # mm3
MOST_MM = 10_000.0


class HeadsWiderThanBung(OutOfRange):
    """A barrel is widest at the bung."""

    def __init__(self, bung_mm: float, head_mm: float) -> None:
        self.bung_mm, self.head_mm = bung_mm, head_mm
        super().__init__(f"heads of {head_mm:g} mm are wider than the bung's {bung_mm:g} mm; were they exchanged?")


class DipTooDeep(OutOfRange):
    """A dip cannot reach further than the vessel."""

    def __init__(self, dip_mm: float, most_mm: float) -> None:
        self.dip_mm, self.most_mm = dip_mm, most_mm
        super().__init__(f"a dip of {dip_mm:g} mm is deeper than the vessel, {most_mm:g} mm")


class Inside(NamedTuple):
    """Dimensions [mm] that make a barrel."""

    bung: Floats  # inside diameter [mm]
    head: Floats
    length: Floats


def inside(bung_mm: ArrayLike, head_mm: ArrayLike, length_mm: ArrayLike) -> Inside:
    """Return the dimensions as arrays, or raise if no barrel is like that."""
    bung = within("bung diameter", bung_mm, 10.0, MOST_MM, "mm")
    head = within("head diameter", head_mm, 10.0, MOST_MM, "mm")
    length = within("length", length_mm, 10.0, MOST_MM, "mm")
    wrong = head > bung
    if wrong.any():
        raise HeadsWiderThanBung(*(float(x[wrong].flat[0]) for x in np.broadcast_arrays(bung, head)))
    return Inside(bung, head, length)


def litres_inside(barrel: Inside) -> Floats:
    """Return the volume between parabolic staves [L]."""
    bung, head, length = barrel
    return np.pi * length / 60.0 * (8.0 * bung**2 + 4.0 * bung * head + 3.0 * head**2) / LITRE


def checked_dip(quantity: str, mm: ArrayLike, most: Floats) -> Floats:
    """Return a dip [mm], or raise if the vessel is not so deep."""
    dip = within(quantity, mm, 0.0, MOST_MM, "mm")
    deep = dip > most
    if deep.any():
        raise DipTooDeep(*(float(x[deep].flat[0]) for x in np.broadcast_arrays(dip, most)))
    return dip


def scale_to(barrel: Inside, capacity_l: ArrayLike) -> Floats:
    """Return the factor from the volume by dimensions to the measured one; 1 where none was measured."""
    capacity = within("capacity", capacity_l, 1.0, 100_000.0, "L")
    return np.where(np.isnan(capacity), 1.0, capacity / litres_inside(barrel))
