"""A limit as it is typed: `3`, `<95%`, `>=2 L`, `1-2 gal`."""

import re
from dataclasses import dataclass
from math import inf

from cooperage.units import NotAQuantity, Quantity, Units, read

_TYPED = re.compile(
    r"(?P<sign><=|>=|<|>)?\s*(?P<low>[0-9.,]+)\s*(?:[-–]\s*(?P<high>[0-9.,]+))?\s*(?P<unit>[^0-9.,<>-].*)?"
)


@dataclass(frozen=True, slots=True)
class Bounds:
    """A stretch of figures with both its ends, in the canonical unit; `open_ends` leaves the ends themselves out."""

    low: float
    high: float
    open_ends: bool = False

    def holds(self, value: float) -> bool:
        """Return True if a figure lies within."""
        return self.low < value < self.high if self.open_ends else self.low <= value <= self.high


def limit_in(text: str, quantity: Quantity, bare: str, units: Units) -> Bounds | None:
    """Read a limit; None where it is none.

    `bare` is the sign of a figure that has none: "=" is just that figure, and "" does not let it pass without one.
    """
    typed = _TYPED.fullmatch(text.strip())
    if typed is None or (typed["sign"] and typed["high"]):
        return None
    unit = typed["unit"] or ""
    try:
        low = float(read(quantity, f"{typed['low']} {unit}", units))
        high = float(read(quantity, f"{typed['high']} {unit}", units)) if typed["high"] else low
    except NotAQuantity:
        return None
    return _limit("=" if typed["high"] else typed["sign"] or bare, low, high)


def _limit(sign: str, low: float, high: float) -> Bounds | None:
    if not sign:
        return None
    if sign == "=":
        return Bounds(min(low, high), max(low, high))
    bounds = (-inf, high) if sign.startswith("<") else (low, inf)
    return Bounds(*bounds, open_ends=not sign.endswith("="))
