"""Spirit that mead took up from wood on its way: how much of it lay in which barrel that held spirit."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from cooperage.book import Cellar, Standing
from cooperage.book.dangers.lingering import spirit_in_wood
from cooperage.book.store.registry import Registry
from cooperage.book.tracing.back import Back
from cooperage.book.tracing.histories import LAST, Histories
from cooperage.units import DEFAULT, Quantity, Units, show

LEAST_SHARE = 0.01
"""Less of the mead than this cannot be seen in its strength: a hundredth of the two per cent by volume or so that a
barrel gives (common practice, no source)."""
_NAMED = 2


@dataclass(frozen=True, slots=True)
class SpiritOnWay:
    """A barrel that held spirit, in which a share of the mead lies or lay: its tag, the share, what is known of it."""

    tag: str
    share: float
    held: str
    is_there: bool


def spirit_on_way(connection: Connection, cellar: Cellar, standings: Sequence[Standing]) -> list[SpiritOnWay]:
    """Return the barrels with spirit in their wood that a share of the mead of some vessels came through, most first.

    The mead is followed back along its moves as far as they go. Barrels that less than `LEAST_SHARE` of it came
    through are left out; what a barrel held is taken from the book as it is now, on the safe side.
    """
    whole = sum(each.ml for each in standings)
    registry, histories = Registry(connection), Histories(connection)
    shares: dict[str, float] = {}
    for standing in standings:
        shares[standing.vessel.id] = shares.get(standing.vessel.id, 0.0) + standing.ml / whole
        for vessel, ml in _came_through(histories, registry, cellar.at, standing).items():
            if vessel != standing.vessel.id:
                shares[vessel] = shares.get(vessel, 0.0) + ml / whole
    there = {each.vessel.id for each in standings}
    found = [
        SpiritOnWay(each.tag, min(1.0, shares[each.vessel.id]), held, each.vessel.id in there)
        for each in cellar
        if shares.get(each.vessel.id, 0.0) >= LEAST_SHARE and (held := spirit_in_wood(each.vessel, each.state))
    ]
    return sorted(found, key=lambda each: (-each.share, each.tag))


def _came_through(histories: Histories, registry: Registry, at: datetime, standing: Standing) -> dict[str, float]:
    """Return how much of what a vessel holds came through each other [ml], by id."""
    later = [passage.key for passage in histories.of(standing.vessel.id).passages if passage.at > at]
    origins = Back(histories, registry).of_vessel(standing.vessel.id, later[0] if later else LAST, at)
    return {vessel: min(float(origins.ml), stay.ml) for vessel, stay in origins.stays.items()}


def spirit_words(found: Sequence[SpiritOnWay], units: Units = DEFAULT) -> str:
    """Return which barrels with spirit the mead lies in or came through, with the shares; empty where none."""
    words = [_words(each, units) for each in found[:_NAMED]]
    more = len(found) - _NAMED
    return "; ".join([*words, *([f"and {more} more such barrels" if more > 1 else "and one more"] if more > 0 else [])])


def _words(each: SpiritOnWay, units: Units) -> str:
    if each.is_there:
        return f"{each.tag} {each.held}"
    return f"{show(Quantity.PERCENT, 100 * each.share, units)} of it came through {each.tag}, which {each.held}"
