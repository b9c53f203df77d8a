"""Mixing: masses add, volumes do not."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from cooperage.liquid._ranges import Floats, within
from cooperage.liquid._tabarie import checked_liquid, settled_litres


class Mixture(NamedTuple):
    """What a mixture comes to. Each field has the shape of the streams less their last axis."""

    litres: Floats
    """True volume at 20 °C [L]."""
    abv: Floats
    """Strength [% vol at 20 °C]."""
    extract_g_l: Floats
    """Extract [g/L at 20 °C]."""
    contraction: Floats
    """Litres poured in less litres come out [L]; negative where the liquid swells."""


def mix(litres: ArrayLike, abv: ArrayLike, extract_g_l: ArrayLike) -> Mixture:
    """Pour streams together: total mass, ethanol and extract are conserved, the volume follows from density.

    Parameters
    ----------
    litres : array, shape (..., streams)
        [L at 20 °C], 0 or more
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 100
    extract_g_l : array, broadcast with it
        [g/L at 20 °C], -10 to 1228

    Returns
    -------
    Mixture of arrays, shape (...): litres [L], abv [% vol], extract_g_l [g/L], contraction [L]; strength and
    extract of nothing at all are NaN, and a stream of no litres counts for nothing whatever its figures

    Raises
    ------
    OutsideFormula, NoSuchLiquid
        A figure lies outside the range above, or there is no such liquid.

    Source
    ------
    Conservation of mass, with the density of `density_of`.

    Examples
    --------
    >>> spirit_and_water = mix([1000.0, 1000.0], [80.0, 0.0], 0.0)
    >>> round(float(spirit_and_water.litres), -1), round(float(spirit_and_water.abv), 1)
    (1960.0, 40.8)

    """
    volume = within("litres", litres, 0.0, unit="L")
    volume, strength, extract, sg = np.broadcast_arrays(volume, *checked_liquid(abv, extract_g_l))
    poured: Floats = np.einsum("...i->...", volume)  # as volume.sum(axis=-1), but quick over two or three streams
    mass, ethanol, sugar = (_total(volume, each) for each in (sg, strength, extract))
    together = settled_litres(mass, ethanol, sugar, poured)
    with np.errstate(invalid="ignore"):  # nothing at all has no strength: 0/0 is NaN
        strength = np.minimum(ethanol / together, 100.0)  # rounding must not make spirit stronger than ethanol
        return Mixture(together, strength, sugar / together, poured - together)


def _total(litres: Floats, per_litre: Floats) -> Floats:
    """Sum litres x figure over the last axis, where no litres of an unknown count for nothing."""
    idle = litres == 0.0
    if idle.any():
        per_litre = np.where(idle, 0.0, per_litre)
    total: Floats = np.einsum("...i,...i->...", litres, per_litre)
    return total
