"""Dips that were read and left as they are: where they and the book differ by more than a dip's own error."""

from datetime import datetime

from cooperage.book import Standing
from cooperage.book.store.gauging import volume_at_headspace
from cooperage.units import DEFAULT, Quantity, Units, show

_DIP_DISAGREES = 0.02  # of the capacity: more than a dip's own error near the bung


def dip_that_disagrees(standing: Standing, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return when the last dip was read, and by how much the book differs; None where the two agree."""
    read = standing.state.reads.get("headspace_mm")
    if read is None or read.changed:
        return None
    known = standing.state.known
    shown = known.ml if known and known.at == read.at else volume_at_headspace(standing.vessel, read.value)
    gap = standing.ml - shown
    if abs(gap) <= _DIP_DISAGREES * standing.vessel.capacity_ml:
        return None
    which = "less" if gap > 0 else "more"
    text = f"the dip shows {show(Quantity.VOLUME, abs(gap), units)} {which} than the book"
    return standing.last("headspace_mm") or standing.at, text
