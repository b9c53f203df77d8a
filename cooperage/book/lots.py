"""Lots as they stand: how much of each is left in the vessels, and in which."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from cooperage.book.cellar import Cellar
from cooperage.book.declared.acts import LotCost, LotEnd
from cooperage.book.replay.events import STANDS
from cooperage.book.store.registry import Lot
from cooperage.book.store.tables import ENTRY


@dataclass(frozen=True, slots=True)
class Holding:
    """One vessel's part in a lot: what it holds of it [ml], and which fraction of the vessel that is."""

    vessel: str
    ml: int
    fraction: float


@dataclass(frozen=True, slots=True)
class LotNow:
    """A lot and what the vessels hold of it [ml], the largest holding first."""

    lot: Lot
    ml: int
    holdings: tuple[Holding, ...]


def lots_now(cellar: Cellar) -> list[LotNow]:
    """List every lot by its code with what is left of it in the vessels; a lot that is all gone has no holdings."""
    found: dict[str, list[Holding]] = {code: [] for code in cellar.lots}
    for standing in cellar:
        for code, fraction in standing.lots.items():
            if code in found:
                found[code].append(Holding(standing.tag, round(fraction * standing.ml), fraction))
    return [_lot_now(cellar.lots[code], holdings) for code, holdings in found.items()]


def _lot_now(lot: Lot, holdings: list[Holding]) -> LotNow:
    largest_first = sorted(holdings, key=lambda holding: (-holding.ml, holding.vessel))
    return LotNow(lot, sum(holding.ml for holding in holdings), tuple(largest_first))


def lots_as_known(connection: Connection, lots: Mapping[str, Lot], until: datetime) -> dict[str, Lot]:
    """Return lots by id with what was given last, up to a moment; else as they were registered.

    That is the cost of a litre, the day it finished fermenting, and its final gravity.
    """
    kinds = ENTRY.c.kind.in_((LotCost.kind, LotEnd.kind))
    given = select(ENTRY.c.kind, ENTRY.c.happened_at, ENTRY.c.said).where(STANDS, ENTRY.c.vessel_id.is_(None), kinds)
    known: dict[str, dict[str, Any]] = {}
    for kind, at, said in connection.execute(
        given.where(ENTRY.c.happened_at <= until).order_by(ENTRY.c.happened_at, ENTRY.c.id)
    ):
        of_lot = known.setdefault(str(said["lot"]).upper(), {})
        if kind == LotCost.kind:
            of_lot["cost_per_l"] = float(said["cost_per_l"])
        else:
            of_lot |= {"finished_on": at} | ({"final_sg": sg} if (sg := said.get("final_sg")) is not None else {})
    return {id_: replace(lot, **known.get(lot.code.upper(), {})) for id_, lot in lots.items()}
