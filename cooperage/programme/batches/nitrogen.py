"""Nitrogen that yeast can use: what a must needs, and what was given."""

from collections.abc import Iterable

from cooperage.programme.batches.readings import Dosed

NEED_AT_21, AT_BRIX = 200.0, 21.0
NEEDS_PER_BRIX = 25.0
"""Nitrogen for a must of 21 Brix [mg/L], and what every Brix more asks for: Bisson and Butzke, Am. J. Enol. Vitic.
51:168-177 (2000), of grape must; from memory. Honey itself brings next to none (common practice, no source)."""
NUTRIENT = "nutrient"


def nitrogen_need(brix: float) -> float:
    """Return the nitrogen a must needs [mg/L] by its sugar [g per 100 g]; below 21 Brix in proportion."""
    if brix < AT_BRIX:
        return NEED_AT_21 * brix / AT_BRIX
    return NEED_AT_21 + NEEDS_PER_BRIX * (brix - AT_BRIX)


def nitrogen_given(given: Iterable[Dosed], mg_per_g: float | None, litres: float | None) -> float | None:
    """Return the nitrogen that the nutrients brought [mg/L]; None where their nitrogen or the litres are unknown."""
    grams = sum(each.amount for each in given if each.substance == NUTRIENT)
    if not grams:
        return 0.0
    return None if mg_per_g is None or not litres else grams * mg_per_g / litres
