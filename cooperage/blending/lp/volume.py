"""How many litres come of litres poured together: their plain sum, or their true volume by mass balance."""

from functools import cached_property
from typing import Protocol

import numpy as np

from cooperage.blending.stocks.pool import BadPool, Floats, Stocks
from cooperage.errors import OutOfRange
from cooperage.liquid import density_of, mix
from cooperage.liquid.mixing import Mixture

STEP_ABV = 0.01
STEP_EXTRACT = 0.1


class Mixing(Protocol):
    """Litres of n stocks in, litres of blend out."""

    def litres(self, poured: Floats) -> float:
        """Return the volume of the blend [L] of n draws [L]."""

    def factors(self, poured: Floats) -> Floats:
        """Return for each of n stocks the litres by which one more litre of it would raise that blend."""


class PlainMixing:
    """Litres add up."""

    def litres(self, poured: Floats) -> float:
        """Return the sum of the draws."""
        return float(poured.sum())

    def factors(self, poured: Floats) -> Floats:
        """Return ones: a litre adds a litre."""
        return np.ones(len(poured))


class LiquidMixing:
    """Mass, ethanol and extract add up; the volume V follows from the density of the blend.

    With V rho(E/V, S/V) = M for ethanol E, extract S and mass M, differentiating gives the partial volume of a stock of
    density r, strength a and extract s as (r - rho_a a - rho_s s) / (rho - rho_a A - rho_s S), where A and S are
    those of the blend and rho_a, rho_s the slopes of density there. The factors of a blend weighted by its draws sum
    to V exactly (Euler), which is why a programme written in them is right at the plan it was written for.
    """

    def __init__(self, stocks: Stocks) -> None:
        self._stocks = stocks
        self._abv, self._extract = stocks.figures["abv"], stocks.figures["sugar_g_l"]
        self._last: tuple[Floats, Mixture] | None = None

    @cached_property
    def _density(self) -> Floats:
        return _densities(self._stocks)

    def litres(self, poured: Floats) -> float:
        """Return the true volume at 20 °C."""
        return float(self._blend(poured).litres)

    def _blend(self, poured: Floats) -> Mixture:
        """Mix draws; the same ones are asked for twice in a row, for their volume and for the next factors."""
        if self._last is None or self._last[0] is not poured:
            used = poured > 0
            self._last = poured, mix(poured[used], self._abv[used], self._extract[used])
        return self._last[1]

    def factors(self, poured: Floats) -> Floats:
        """Return the partial volumes in the blend of these draws; ones if nothing is drawn."""
        if not poured.any():
            return np.ones(len(poured))
        density, blend = self._density, self._blend(poured)  # in this order: a stock that is no liquid is named
        abv, extract = float(blend.abv), float(blend.extract_g_l)
        by_abv, by_extract = _density_slopes(abv, extract)
        level = float(density_of(abv, extract)) - by_abv * abv - by_extract * extract
        factors: Floats = (density - by_abv * self._abv - by_extract * self._extract) / level
        return factors


def _densities(stocks: Stocks) -> Floats:
    """Return the density of every stock; raise BadPool naming the one that is no liquid."""
    abv, extract = stocks.figures["abv"], stocks.figures["sugar_g_l"]
    try:
        return density_of(abv, extract)
    except OutOfRange:
        for name, strength, sugar in zip(stocks.names, abv, extract, strict=True):
            _check_liquid(str(name), strength, sugar)
        raise


def _check_liquid(name: str, abv: float, extract: float) -> None:
    try:
        density_of(abv, extract)
    except OutOfRange as error:
        raise BadPool(f"stock {name!r}: {error}") from error


def _density_slopes(abv: float, extract: float) -> tuple[float, float]:
    """Return d(density)/d(abv) and d(density)/d(extract), by differences that stay inside 0 to 100 % vol."""
    weak, strong = max(abv - STEP_ABV, 0.0), min(abv + STEP_ABV, 100.0)
    thin, thick = max(extract - STEP_EXTRACT, 0.0), extract + STEP_EXTRACT
    density = density_of([strong, weak, abv, abv], [extract, extract, thick, thin])
    return (
        float(density[0] - density[1]) / (strong - weak),
        float(density[2] - density[3]) / (thick - thin),
    )
