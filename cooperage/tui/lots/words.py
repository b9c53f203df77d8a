"""Lots and bottlings in lines: what a lot is and where it went, what a bottling is made of."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Cellar, Lot
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.lots import LotNow
from cooperage.book.trace import Share, Trace, share_words
from cooperage.programme.upkeep.registering import registered_words
from cooperage.units import Quantity, Units, counted, show, show_day

_LOT = "{:<12} {:>13} {:>7} {:>10} {:>7}  {:<24} {:<14}  {}"
_BOTTLING = "{:<12} {:<10} {:>7} {:>10}  {}"
BOTTLINGS_HEAD = _BOTTLING.format("bottling", "bottled on", "bottles", "volume", "lots")

_OUTSIDE = {place.value: outside.label for place, outside in OUTSIDE.items() if place is not Outside.BOTTLED}


def lots_head(units: Units) -> str:
    """Return the heading of `lot_line`; the cost is per the person's unit of volume."""
    cost = f"cost/{units.volume}"
    return _LOT.format("lot", "in the cellar", "vessels", "strength", cost, "name", "gravity", "honey")


def lot_line(now: LotNow, units: Units) -> str:
    """Return a lot in one line."""
    lot, held = now.lot, show(Quantity.VOLUME, now.ml, units)
    abv = show(Quantity.STRENGTH, lot.abv, units)
    cost = show_figure("cost_per_l", lot.cost_per_l, units, with_unit=False)
    gravity, honey = gravity_words(lot, units), lot.honey or "?"
    return _LOT.format(lot.code, held, len(now.holdings), abv, cost, lot.name[:24], gravity, honey)


def bottling_line(traced: Trace, units: Units) -> str:
    """Return a bottling in one line."""
    lots = ", ".join(f"{share.name} {share_words(share.fraction, units)}" for share in traced.lots)
    litres = litres_words(traced.litres, units)
    return _BOTTLING.format(traced.code, show_day(traced.at), traced.bottles or 0, litres, lots)


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
        f"{lot.code}  {lot.name}",
        f"Honey {lot.honey or '?'}; gravity {gravity_words(lot, units)}; strength {abv}, cost {cost}.",
        f"Pitched {show_day(lot.pitched_on)}, finished {show_day(lot.finished_on)}.",
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


def what_bottling_is(traced: Trace, units: Units) -> list[str]:
    """Return what a bottling is made of: its lots, and the barrels they rested in last, each summing to the whole."""
    return list(_bottling(traced, units))


def _bottling(traced: Trace, units: Units) -> Iterator[str]:
    litres = litres_words(traced.litres, units)
    yield f"{traced.code}: {counted(traced.bottles or 0, 'bottle')}, {litres}, bottled {show_day(traced.at)}."
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
