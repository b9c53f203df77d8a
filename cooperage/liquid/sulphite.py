"""Sulphite: how much of the free SO2 is molecular, and what to add. Two conventions; each answer names its own.

"oiv"
    The thermodynamic pK of OIV-MA-AS323-04C Table I, by strength and temperature, less the ionic strength
    correction. It gives what the liquid holds.
"pk181"
    pK 1.81 whatever the liquid: plain water near room temperature. Most cellar tables and rules of thumb
    (0.5, 0.8 mg/L) were written with it, so compare those with this one.
"""

from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.liquid._curves import bilinear
from cooperage.liquid._molecular import (
    IONIC_SHIFT,
    KELVIN,
    MOST_BOUND,
    PER_KELVIN,
    PH,
    PK_ABV,
    PK_CELSIUS,
    PK_THERMODYNAMIC,
    SO2_IN_METABISULPHITE,
    STRENGTH,
    TEMPERATURE,
)
from cooperage.liquid._ranges import Floats, within
from cooperage.liquid.hazards import CAUTION, MOST_RISE

Convention: TypeAlias = Literal["oiv", "pk181"]

PK_CONVENTIONAL = 1.81
_ABV, _CELSIUS, _PK = np.array(PK_ABV), np.array(PK_CELSIUS), np.array(PK_THERMODYNAMIC)


class StrengthNeeded(BadInput):
    """The "oiv" convention was asked for without strength or temperature."""

    def __init__(self) -> None:
        super().__init__('give strength and temperature for molecular SO2, or the convention "pk181"')


def so2_pk(abv: ArrayLike, celsius: ArrayLike = 20.0) -> Floats:
    """The pK of the first dissociation of SO2 in a fermented liquid (mixed constant, for a pH as measured).

    Parameters
    ----------
    abv : array, any shape
        [% vol at 20 °C], 0 to 20
    celsius : array, broadcast with it
        [°C], 0 to 40

    Returns
    -------
    array, broadcast shape [1]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    OIV-MA-AS323-04C Table I after Usseglio-Tomasset and Bosia (1984), interpolated linearly; less 0.075 for
    an ionic strength of 0.038 mol/L. The table starts at 20 °C: below, its 20 °C column is carried down by
    van 't Hoff's law with the standard enthalpy, -17.4 kJ/mol (NBS tables, 1982).

    Examples
    --------
    >>> round(float(so2_pk(0.0, 20.0)), 3)
    1.723

    """
    strength = within("strength", abv, *STRENGTH, "% vol")
    t = within("temperature", celsius, *TEMPERATURE, "°C")
    tabulated = bilinear(_ABV, _CELSIUS, _PK, strength, np.maximum(t, PK_CELSIUS[0]))
    colder = 1.0 / (np.minimum(t, PK_CELSIUS[0]) + KELVIN) - 1.0 / (PK_CELSIUS[0] + KELVIN)
    pk: Floats = tabulated + PER_KELVIN * colder - IONIC_SHIFT
    return pk


def _share(ph: ArrayLike, abv: ArrayLike | None, celsius: ArrayLike | None, convention: Convention) -> Floats:
    acidity = within("pH", ph, *PH)
    if convention == "pk181":
        return 1.0 / (1.0 + 10.0 ** (acidity - PK_CONVENTIONAL))
    if convention != "oiv":
        raise BadInput(f'the convention is "oiv" or "pk181", not {convention!r}')
    if abv is None or celsius is None:
        raise StrengthNeeded
    return 1.0 / (1.0 + 10.0 ** (acidity - so2_pk(abv, celsius)))


def molecular_so2(
    free_mg_l: ArrayLike,
    ph: ArrayLike,
    abv: ArrayLike | None = None,
    celsius: ArrayLike | None = None,
    convention: Convention = "oiv",
) -> Floats:
    """Molecular SO2, the part of the free that keeps microbes down.

    Parameters
    ----------
    free_mg_l : array, any shape
        [mg/L], 0 or more
    ph : array, broadcast with it
        [pH], 2 to 5
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 20
    celsius : array, broadcast with it
        [°C], 0 to 40
    convention : str
        [name], "oiv" (pK by strength and temperature) or "pk181" (1.81 whatever the liquid;
        needs neither strength nor temperature)

    Returns
    -------
    array, broadcast shape [mg/L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    StrengthNeeded
        Convention "oiv" without strength or temperature.

    Source
    ------
    OIV-MA-AS323-04C for "oiv" (see `so2_pk`); University of California Enology Briefs 1 (1982) for "pk181".

    Examples
    --------
    >>> bool(molecular_so2(32.0, 3.4, 13.5, 20.0) > 1.0)  # alcohol raises it: pK 2.0 instead of 1.81
    True
    >>> round(float(molecular_so2(32.0, 3.4, convention="pk181")), 1)
    0.8

    """
    return within("free SO2", free_mg_l, 0.0, unit="mg/L") * _share(ph, abv, celsius, convention)


def free_so2_for(
    molecular_mg_l: ArrayLike,
    ph: ArrayLike,
    abv: ArrayLike | None = None,
    celsius: ArrayLike | None = None,
    convention: Convention = "oiv",
) -> Floats:
    """Free SO2 that gives a wanted molecular SO2; the inverse of `molecular_so2`.

    Parameters
    ----------
    molecular_mg_l : array, any shape
        [mg/L], 0 or more
    ph : array, broadcast with it
        [pH], 2 to 5
    abv : array, broadcast with it
        [% vol at 20 °C], 0 to 20
    celsius : array, broadcast with it
        [°C], 0 to 40
    convention : str
        [name], "oiv" or "pk181", see `molecular_so2`

    Returns
    -------
    array, broadcast shape [mg/L]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.
    StrengthNeeded
        Convention "oiv" without strength or temperature.

    Source
    ------
    See `molecular_so2`.

    Examples
    --------
    >>> round(float(free_so2_for(0.8, 3.4, 0.0, 20.0)), 0)  # water at 20 °C, pK 1.723: 0.8 x (1 + 10^1.677)
    39.0
    >>> round(float(free_so2_for(0.8, 3.4, convention="pk181")), 0)
    32.0

    """
    return within("molecular SO2", molecular_mg_l, 0.0, unit="mg/L") / _share(ph, abv, celsius, convention)


class SulphiteDose(NamedTuple):
    """One dose in the three forms it may take, and the caution that goes with it."""

    metabisulphite_g: Floats
    """Potassium metabisulphite powder [g]."""
    solution_ml: Floats
    """Stock solution [mL]."""
    gas_g: Floats
    """Sulphur dioxide itself, liquefied or gas [g]."""
    caution: str
    """To be shown wherever the dose is shown."""


def sulphite_dose(
    litres: ArrayLike,
    rise_mg_l: ArrayLike,
    bound_share: ArrayLike = 0.0,
    solution_so2_g_l: ArrayLike = 50.0,
) -> SulphiteDose:
    """What to add so that free SO2 rises by so much.

    Parameters
    ----------
    litres : array, any shape
        [L], 0 or more
    rise_mg_l : array, broadcast with it
        [mg/L of free SO2], 0 to 350
    bound_share : array, broadcast with it
        [share of the addition that binds], 0 to 0.9
    solution_so2_g_l : array, broadcast with it
        [g SO2 per L of stock solution], 1 to 120

    Returns
    -------
    SulphiteDose of arrays, broadcast shape: metabisulphite_g [g], solution_ml [mL], gas_g [g]; and the caution

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Stoichiometry: 57.62 % SO2 in potassium metabisulphite when fresh. A third to a half of a first addition
    commonly binds (common practice, no source); `bound_share_measured` gives the cellar's own.

    Examples
    --------
    >>> round(float(sulphite_dose(225.0, 10.0).metabisulphite_g), 1)
    3.9

    """
    volume = within("litres", litres, 0.0, unit="L")
    rise = within("rise of free SO2", rise_mg_l, 0.0, MOST_RISE, "mg/L")
    binding = within("share that binds", bound_share, 0.0, MOST_BOUND)
    strength = within("stock solution", solution_so2_g_l, 1.0, 120.0, "g/L SO2")
    so2 = volume * rise / 1000.0 / (1.0 - binding)  # mg to g
    return SulphiteDose(so2 / SO2_IN_METABISULPHITE, 1000.0 * so2 / strength, so2, CAUTION)


def bound_share_measured(free_rise_mg_l: ArrayLike, total_rise_mg_l: ArrayLike) -> Floats:
    """Share of an addition that was bound, from free and total SO2 measured before and after.

    Parameters
    ----------
    free_rise_mg_l : array, any shape
        [mg/L], 0 to 350
    total_rise_mg_l : array, broadcast with it
        [mg/L], 0.1 to 350

    Returns
    -------
    array, broadcast shape [1]; below zero when free rose more than total, which only reading errors do

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Definition: total is free and bound together.

    Examples
    --------
    >>> round(float(bound_share_measured(18.0, 30.0)), 1)
    0.4

    """
    free = within("rise of free SO2", free_rise_mg_l, 0.0, MOST_RISE, "mg/L")
    return 1.0 - free / within("rise of total SO2", total_rise_mg_l, 0.1, MOST_RISE, "mg/L")
