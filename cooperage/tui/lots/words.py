"""Lots and bottlings in lines: what a lot is and where it went, what a bottling is made of."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Cellar, Lot
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.lots import LotNow
from cooperage.book.trace import Share, Trace, share_words
from cooperage.programme.upkeep.registering import registered_words
from cooperage.tui.shared.gauges import whole_phrases
from cooperage.units import Quantity, Units, counted, show, show_date

_LOT = "{:<12} {:>13} {:>7} {:>10} {:>7}  {:<24} {:<14}  {}"
_LOT_NARROW = "{:<8} {:>9} {:>7} {:>10}  {}"
_BOTTLING = "{:<12} {:<11} {:>7} {:>10}  "
_BOTTLING_NARROW = "{:<9} {:<11} {:>7} {:>9}  "
_NARROW = 70
"""Columns below which a lot's line has room for no more than what is left of it and its name."""

_OUTSIDE = {place.value: outside.label for place, outside in OUTSIDE.items() if place is not Outside.BOTTLED}


def lots_head(units: Units, width: int) -> str:
    """Return the heading of `lot_line`; the cost is per the person's unit of volume."""
    if width < _NARROW:
        return _LOT_NARROW.format("lot", "held", "vessels", "strength", "name")
    cost = f"{units.currency or 'cost'}/{units.volume}"
    return _LOT.format("lot", "in the cellar", "vessels", "strength", cost, "name", "gravity", "honey")


def lot_line(now: LotNow, width: int, units: Units) -> str:
    """Return a lot in one line; where there is little room, without its cost, its gravity and its honey."""
    lot, held = now.lot, show(Quantity.VOLUME, now.ml, units)
    abv = show(Quantity.STRENGTH, lot.abv, units)
    if width < _NARROW:
        return _LOT_NARROW.format(lot.code, held, len(now.holdings), abv, lot.name)
    cost = show_figure("cost_per_l", lot.cost_per_l, units, with_unit=False)
    gravity, honey = gravity_words(lot, units), lot.honey or "?"
    return _LOT.format(lot.code, held, len(now.holdings), abv, cost, lot.name[:24], gravity, honey)


def bottlings_head(width: int) -> str:
    """Return the heading of `bottling_line`."""
    return f"{_bottling_columns(width).format('bottling', 'bottled', 'bottles', 'volume')}lots"


def _bottling_columns(width: int) -> str:
    return _BOTTLING_NARROW if width < _NARROW else _BOTTLING


def bottling_line(traced: Trace, width: int, units: Units, now: datetime) -> str:
    """Return a bottling in one line; of its lots those that have room, the largest first."""
    lots = ", ".join(f"{share.name} {share_words(share.fraction, units)}" for share in traced.lots)
    litres = litres_words(traced.litres, units)
    bottled = show_date(traced.at, now)
    before = _bottling_columns(width).format(traced.code, bottled, traced.bottles or 0, litres)
    return f"{before}{whole_phrases(lots, width - len(before))}"


def litres_words(litres: float, units: Units) -> str:
    """Return litres in the person's unit of volume."""
    return show(Quantity.VOLUME, round(1000 * litres), units)


def gravity_words(lot: Lot, units: Units) -> str:
    """Return a lot's original and final gravity."""
    return f"{show(Quantity.GRAVITY, lot.original_sg, units)} to {show(Quantity.GRAVITY, lot.final_sg, units)}"


def about_lot(lot: Lot, units: Units, now: datetime) -> list[str]:
    """Return everything that is known of a lot, and who registered it; "?" where it is unknown."""
    abv, cost = show(Quantity.STRENGTH, lot.abv, units), show_figure("cost_per_l", lot.cost_per_l, units)
    lines = [
        lot.called,
        f"Honey {lot.honey or '?'}; gravity {gravity_words(lot, units)}; strength {abv}, cost {cost}.",
        f"Pitched {show_date(lot.pitched_on, now).strip()}, finished {show_date(lot.finished_on, now).strip()}.",
    ]
    registered = registered_words(lot, now)
    if registered:
        lines[-1] += f" {registered[0].upper()}{registered[1:]}."
    return [*lines, lot.note] if lot.note else lines


def where_lot_is(traced: Trace, cellar: Cellar, units: Units) -> list[str]:
    """Return where a lot is now, with what gauges found more of it: in vessels, bottled, lost."""
    parts = [(_kind(share, cellar), share) for share in traced.now]
    lines = [f"Where its {litres_words(traced.litres, units)} are now:"]
    for kind in ("in vessels", "bottled", "lost"):
        shares = [share for found, share in parts if found == kind]
        if shares:
            lines += [f"{kind}:", *(_share_line(share, units) for share in shares)]
    return lines


def _kind(share: Share, cellar: Cellar) -> str:
    name = share.name or ""
    return "in vessels" if name in cellar else "lost" if name in _OUTSIDE else "bottled"


def what_bottling_is(traced: Trace, units: Units, now: datetime) -> list[str]:
    """Return what a bottling is made of: its lots, and the barrels they rested in last, each summing to the whole."""
    return list(_bottling(traced, units, now))


def _bottling(traced: Trace, units: Units, now: datetime) -> Iterator[str]:
    litres = litres_words(traced.litres, units)
    bottled = show_date(traced.at, now).strip()
    yield f"{traced.code}: {counted(traced.bottles or 0, 'bottle')}, {litres}, bottled {bottled}."
    yield "Lots:"
    yield from (_share_line(share, units) for share in traced.lots)
    yield "Barrels they rested in last:"
    yield from _barrel_lines(traced.barrels, units)


def _barrel_lines(barrels: Sequence[Share], units: Units) -> Iterator[str]:
    for share in barrels:
        yield _share_line(share, units, nothing="no barrel")


def _share_line(share: Share, units: Units, nothing: str = "?") -> str:
    name = share.name or nothing
    label = _OUTSIDE.get(name, name)
    return f"  {label:<26} {litres_words(share.litres, units):>12}  {share_words(share.fraction, units):>7}"
