"""The keys of JSON: each figure has its unit at the end of its key."""

from collections.abc import Mapping

from cooperage.book.declared.fields import Holds
from cooperage.units import Quantity

_ENDINGS: Mapping[Quantity | Holds, str] = {
    Quantity.VOLUME: "_l",
    Quantity.LENGTH: "_mm",
    Quantity.TEMPERATURE: "_c",
    Quantity.PERCENT: "_percent",
    Quantity.STRENGTH: "_abv",
    Quantity.DAYS: "_days",
}


def unit_key(name: str, holds: Quantity | Holds) -> str:
    """Return the key of a figure: "walk_every_days"; the name where it holds no figure, or one without a unit."""
    return name + _ENDINGS.get(holds, "")
