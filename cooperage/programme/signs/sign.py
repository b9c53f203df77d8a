"""A sign of trouble, as every finder of such signs returns it."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book.dangers.dangers import Caution

TROUBLE = frozenset({"leak", "va", "smell", "sulphite", "bung", "dip", "litres", "partial", "empty"})
"""Kinds of signs that are trouble now (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of trouble at a vessel: its kind, why, since when and how sure [0 to 1], where those are known.

    `cautions` are what to mind before it is acted upon.
    """

    vessel: str
    kind: str
    why: str
    since: datetime | None = None
    sure: float | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def is_trouble(self) -> bool:
        """Return True if mead is lost or spoils meanwhile, or a figure is wrong; others are for the next visit."""
        return self.kind in TROUBLE
