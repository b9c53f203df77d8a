"""How far a lot has come, by the book alone: fermenting, clearing, ageing, ready, bottled out."""

from enum import StrEnum

from cooperage.book import Cellar
from cooperage.book.lots import LotNow

_MOST_OF = 0.5


class LotStatus(StrEnum):
    """How far a lot has come."""

    PLANNED = "planned"
    FERMENTING = "fermenting"
    CLEARING = "clearing"
    AGEING = "ageing"
    READY = "ready"
    BOTTLED = "bottled out"


def status_of(now: LotNow, cellar: Cellar, *, was_received: bool, ferments: bool) -> LotStatus:
    """Return how far a lot has come.

    What holds nothing of it any more is bottled out, or not received yet; it is ready where most of its litres lie in
    vessels that were judged ready, and ages where most lie in wood; else it clears, unless it `ferments`.
    """
    if not now.ml:
        return LotStatus.BOTTLED if was_received else LotStatus.PLANNED
    ready = wood = 0
    for holding in now.holdings:
        standing = cellar[holding.vessel]
        wood += holding.ml * standing.vessel.is_barrel
        ready += holding.ml * (standing.state.judged is not None and standing.state.judged.verdict in _READY)
    if ready > _MOST_OF * now.ml:
        return LotStatus.READY
    if wood > _MOST_OF * now.ml:
        return LotStatus.AGEING
    return LotStatus.FERMENTING if ferments else LotStatus.CLEARING


_READY = ("ready",)
