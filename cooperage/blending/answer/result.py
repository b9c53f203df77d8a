"""What is judged on the blend itself: the order to pull its draws, and pH and molecular SO2 as far as known."""

from collections.abc import Iterator, Mapping

import numpy as np

from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.quantities import AmountText, QuantityText
from cooperage.blending.stocks.pool import Flags, Floats, Stocks
from cooperage.book.declared.properties import PROPERTIES
from cooperage.liquid import molecular_so2
from cooperage.units import Quantity

SULPHITE = ("free_so2_mg_l", "total_so2_mg_l")
PK_KNOWN_TO_ABV = 20.0  # OIV-MA-AS323-04C


def pull_order(brief: Brief, stocks: Stocks, litres: Floats) -> np.ndarray:
    """Return the places of the draws in the order to pull them (common practice, no source).

    The largest first, so that the blend is well on its way before anything doubtful is opened; then those rich in
    sulphite; last the faulty, so that a bad barrel can still be left out.
    """
    drawn = np.flatnonzero(litres)
    doubt = 2 * _faulty(brief, stocks) + _over(brief, stocks, SULPHITE)
    return drawn[np.lexsort((-litres[drawn], doubt[drawn]))]


def _faulty(brief: Brief, stocks: Stocks) -> Flags:
    return _over(brief, stocks, ("va_g_l",))


def _over(brief: Brief, stocks: Stocks, names: tuple[str, ...]) -> Flags:
    """Return the stocks that alone would break the brief's maximum, or have more than is usual where it sets none."""
    over = np.zeros(len(stocks), dtype=np.bool_)
    for name in names:
        if name in stocks.figures:
            most = brief.limits[name].high if name in brief.limits else PROPERTIES[name].usual[1]
            over |= stocks.figures[name] > most
    return over


# What hurts in a dose stands in cooperage.book.dangers.dangers; these are for reference.
DOSE_NOTES = {
    "honey": "honey starts the yeast again: stabilise the blend before it goes in",
    "water": "how much water may be added is a matter of law: ask your own authority first",
    "spirit": "spirit can move the blend to another class of law: ask your own authority first",
}


def result_notes(brief: Brief, stocks: Stocks, litres: Floats, blend: Mapping[str, float | None]) -> Iterator[str]:
    """Return what its doses call for, and what can be known of the blend's pH and SO2 before they are measured."""
    yield from (DOSE_NOTES[name] for name in brief.dosing if litres[stocks.names == name].any())
    yield from _measured_again(stocks, litres, blend)


def _measured_again(stocks: Stocks, litres: Floats, blend: Mapping[str, float | None]) -> Iterator[str]:
    if "ph" not in stocks.figures:
        return
    low, high = _ph_between(stocks, litres)
    yield "pH does not average: measure it again in the blend" + (
        f" (it will lie between {low:.2f} and {high:.2f})" if low < high else ""
    )
    free, abv = blend.get("free_so2_mg_l"), blend.get("abv")
    if free is None or abv is None or not np.isfinite([low, high]).all() or abv > PK_KNOWN_TO_ABV:
        return
    celsius = float(stocks.temperatures @ litres / litres.sum())
    most, least = molecular_so2(free, np.clip([low, high], 2.0, 5.0), abv, celsius)
    starts = f"at {least:.2g}" if f"{least:.2g}" == f"{most:.2g}" else f"between {least:.2g} and {most:.2g}"
    at = AmountText(Quantity.TEMPERATURE, celsius)
    rest = ", and some binds within hours: measure free SO2 and pH again"
    yield QuantityText(f"molecular SO2 starts {starts} mg/L at ", at, rest)


def _ph_between(stocks: Stocks, litres: Floats) -> tuple[float, float]:
    """Return the ends between which the blend's pH lies: those of its stocks; NaN where one is unknown.

    The charge that a litre lacks at a given pH falls steadily with pH and adds up over the draws, so that the pH at
    which the sum is nothing lies between the pH of the stocks.
    """
    ph = stocks.figures["ph"][litres > 0]
    return float(ph.min(initial=np.inf)), float(ph.max(initial=-np.inf))
