"""The best blend of a trial as a brief of the blend desk: its shares, the trial's limits, and the litres wanted."""

import math
from typing import Any

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.trials.results import TrialResults
from cooperage.blending.trials.trial import TrialStock
from cooperage.book import Cellar
from cooperage.errors import Refused
from cooperage.units import DEFAULT, Quantity, Units, show

SHARE_WITHIN = 0.005
"""How far a share may lie from that of the best blend: less than a panel finds (common practice, no source)."""
_LEAST_SHARE = 0.005
_TO_SPARE = 0.99


class NothingToHandOver(Refused):
    """A trial without a blend that could be handed over, or stocks that give none of it."""


def brief_of_best(found: TrialResults, cellar: Cellar, litres: float | None = None) -> dict[str, Any]:
    """Return a brief for the best blend; of as many litres as the stocks give, in whole ones, where none are given.

    Each stock's share is held within half a point, and nothing else is drawn. A lot is meant by its label, so that any
    of its barrels may give; then shares are held exactly. Raises NothingToHandOver, BadBrief.
    """
    drawn = _drawn(found)
    wanted = litres if litres is not None else most_litres(found, cellar)
    brief: dict[str, Any] = {"litres": wanted}
    if found.trial.limits:
        brief["limits"] = {name: dict(limit) for name, limit in found.trial.limits.items()}
    has_lots = any(stock.vessels != (stock.name,) for stock, _ in drawn)
    within = 0.0 if has_lots else SHARE_WITHIN  # shares that sum to 1 leave no room for another stock
    brief["share"] = {_label(stock): _within(share, within) for stock, share in drawn}
    if not has_lots:
        brief["draws"] = {"max_stocks": len(drawn)}
    read_brief(brief)
    return brief


def short_words(found: TrialResults, cellar: Cellar, litres: float | None, units: Units = DEFAULT) -> str:
    """Return that the stocks give less of the best blend than is wanted; empty where they give as much.

    Raises NothingToHandOver.
    """
    most = most_litres(found, cellar)
    if litres is None or litres <= most:
        return ""
    there, wanted = (show(Quantity.VOLUME, round(1000 * each), units) for each in (most, litres))
    return f"The stocks give {there} of this blend; {wanted} are asked for."


def _drawn(found: TrialResults) -> list[tuple[TrialStock, float]]:
    """Return the stocks of the best blend with their shares; raises NothingToHandOver."""
    if found.best is None:
        raise NothingToHandOver(
            f"trial {found.trial.code} shows no best blend: nothing is left over to judge its scores by"
        )
    shares = _rounded([float(share) for share in found.best.shares])
    return [(stock, share) for stock, share in zip(found.trial.stocks, shares, strict=True) if share > 0]


def _rounded(shares: list[float]) -> list[float]:
    """Return shares to a tenth of a point that sum to 1; a trace that no one can pipette is left out."""
    kept = [share if share >= _LEAST_SHARE else 0.0 for share in shares]
    whole = sum(kept)
    rounded = [round(share / whole, 3) for share in kept]
    largest = rounded.index(max(rounded))
    rounded[largest] = round(rounded[largest] + 1.0 - sum(rounded), 3)
    return rounded


def _within(share: float, within: float) -> dict[str, float]:
    low, high = max(0.0, share - within), min(1.0, share + within)
    return {"min": round(low, 4), "max": round(high, 4)}


def _label(stock: TrialStock) -> str:
    """Return how a brief names a stock: a vessel by its tag, the barrels of a lot by their label."""
    return stock.name if stock.vessels == (stock.name,) else f"lot:{stock.name}"


def most_litres(found: TrialResults, cellar: Cellar) -> float:
    """Return how much of the best blend the stocks give, in whole litres; raises NothingToHandOver."""
    drawn = _drawn(found)
    held = [sum(cellar[tag].litres for tag in stock.vessels) for stock, _ in drawn]
    most = min(there / (share + SHARE_WITHIN) for there, (_, share) in zip(held, drawn, strict=True))
    litres = math.floor(most * _TO_SPARE)
    if litres < 1:
        names = ", ".join(stock.name for there, (stock, _) in zip(held, drawn, strict=True) if there < 1)
        raise NothingToHandOver(f"{names or found.trial.code} gives less than a litre of the best blend by now")
    return float(litres)
