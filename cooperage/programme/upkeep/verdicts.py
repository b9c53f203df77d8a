"""What is wrong with a figure or neglected at a vessel, as text: read alike by the signs and by the rounds."""

from datetime import datetime, timedelta

from cooperage.book import Standing
from cooperage.book.declared.substances import TREATMENTS
from cooperage.units import DEFAULT, Quantity, Units, show


def last_cared_for(standing: Standing) -> datetime | None:
    """Return when an empty barrel was last treated in a way that counts as care, or smelled; None since it is empty."""
    smelled = standing.seen("smell")
    treated = [standing.last(name) for name, treatment in TREATMENTS.items() if treatment.is_care]
    done = [at for at in (*treated, None if smelled is None else smelled.at) if at is not None]
    return max((at for at in done if _is_since_emptied(standing, at)), default=None)


def _is_since_emptied(standing: Standing, at: datetime) -> bool:
    emptied = standing.days_empty
    return emptied is None or at >= standing.at - timedelta(days=emptied)


def over_limit(va_g_l: float, ceiling_g_l: float, units: Units = DEFAULT) -> str:
    """Format volatile acidity over its limit."""
    limit = show(Quantity.ACID, ceiling_g_l, units, with_unit=False)
    return f"volatile acidity {show(Quantity.ACID, va_g_l, units)}, over {limit}"


def under_floor(molecular_mg_l: float, floor_mg_l: float, units: Units = DEFAULT) -> str:
    """Format molecular SO2 under its floor."""
    has = show(Quantity.SULPHITE, molecular_mg_l, units, digits=2)
    return f"molecular SO2 {has}, under {show(Quantity.SULPHITE, floor_mg_l, units, with_unit=False, digits=2)}"
