"""Dips that were read and left as they are: where they and the book differ by more than a dip's own error."""

from datetime import datetime
from statistics import NormalDist

from cooperage.book import Standing
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.units import DEFAULT, Quantity, Units, show

_DEVIATIONS = NormalDist().inv_cdf(0.95)
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
    return standing.ml - (
        known.ml if known and known.at == read.at else volume_at_headspace(standing.vessel, read.value)
    )


def dip_band_ml(standing: Standing) -> int | None:
    """Return how far the last dip's volume may be off, 90 times of 100 [ml], by the dip's own error; None without."""
    read = standing.state.reads.get("headspace_mm")
    if read is None:
        return None
    off = _DEVIATIONS * read.uncertainty
    high, low = (volume_at_headspace(standing.vessel, max(0.0, read.value + by)) for by in (-off, off))
    return round((high - low) / 2)
