"""Dips that were read and left as they are: where they and the book differ by more than a dip's own error."""

from datetime import datetime
from statistics import NormalDist
from typing import TypeAlias

from cooperage.book import Cellar, Standing
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.book.store.registry import Vessel
from cooperage.programme.kept import kept
from cooperage.units import DEFAULT, Quantity, Units, show

_DEVIATIONS = NormalDist().inv_cdf(0.95)
_Dip: TypeAlias = tuple[int | None, float, int]
"""Of a barrel of a capacity [ml], a dry dip [mm] and what the barrel then holds [ml]."""
_MOST = 20_000
_known: dict[tuple[int | None, float], int] = {}
_DIP_DISAGREES = 0.02  # of the capacity: more than a dip's own error near the bung


def dip_that_disagrees(standing: Standing, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return when the last dip was read, and by how much the book differs; None where the two agree."""
    gap = dip_gap_ml(standing)
    if abs(gap) <= _DIP_DISAGREES * standing.vessel.capacity_ml:
        return None
    which = "less" if gap > 0 else "more"
    text = f"the dip shows {show(Quantity.VOLUME, abs(gap), units)} {which} than the book"
    return standing.last("headspace_mm") or standing.at, text


def dip_gap_ml(standing: Standing) -> int:
    """Return by how much the book has more than the last dip showed [ml]; nothing where hands have moved it since."""
    read = standing.state.reads.get("headspace_mm")
    if read is None or read.changed:
        return 0
    known = standing.state.known
    return standing.ml - (known.ml if known and known.at == read.at else _volume_ml(standing.vessel, read.value))


def dip_band_ml(standing: Standing) -> int | None:
    """Return how far the last dip's volume may be off, 90 times of 100 [ml], by the dip's own error; None without."""
    read = standing.state.reads.get("headspace_mm")
    if read is None:
        return None
    off = _DEVIATIONS * read.uncertainty
    high, low = (_volume_ml(standing.vessel, max(0.0, read.value + by)) for by in (-off, off))
    return round((high - low) / 2)


def remember_dips(cellar: Cellar) -> None:
    """Take in what the dips showed when this cellar was looked at before: to look again then calculates none."""

    def calculated() -> list[_Dip]:
        for standing in cellar.barrels:
            dip_band_ml(standing)
        return [(*dip, ml) for dip, ml in _known.items()]

    found: list[_Dip] = kept(cellar.mark, "dips", calculated, list, list)
    _known.update(((capacity_ml, mm), ml) for capacity_ml, mm, ml in found)


def _volume_ml(vessel: Vessel, dry_mm: float) -> int:
    """Return what a barrel with a dry dip holds [ml], calculated once for each that is met. Raises as the book does."""
    dip = vessel.barrel_ml, dry_mm
    if dip not in _known:
        if len(_known) >= _MOST:
            _known.clear()
        _known[dip] = volume_at_headspace(vessel, dry_mm)
    return _known[dip]
