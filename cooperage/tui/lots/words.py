"""Lots and bottlings in lines: what a lot is and where it went, what a bottling is made of."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from cooperage.blending.brief.figures import show_figure
from cooperage.book import Cellar, Lot
from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.lots import LotNow
from cooperage.book.trace import Share, Trace, share_words
from cooperage.programme.batches.status import LotStatus
from cooperage.programme.upkeep.registering import registered_words
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.shared.gauges import whole_phrases
from cooperage.units import Quantity, Units, counted, show, show_date

_SHORT_NAME, _STATUS = 10, 11
"""Columns that a name is cut down to at most, and that a status has: nothing moves when it is known."""
_MORE = ", …"
_BOTTLING = "{:<12} {:<11} {:>7} {:>10}  "
_BOTTLING_NARROW = "{:<9} {:<11} {:>7} {:>9}  "
_NARROW = 70
"""Columns below which the parts of a bottling's line stand close."""

_OUTSIDE = {place.value: outside.label for place, outside in OUTSIDE.items() if place is not Outside.BOTTLED}


def lot_columns(units: Units) -> ListedColumns:
    """Return the columns of the list of lots; the cost is per the person's unit of volume."""
    cost = f"{units.currency or 'cost'}/{units.volume}"
    titles = ("lot", "held", "vessels", "status", "strength", cost, "name", "gravity", "honey")
    return ListedColumns(titles, ((8, 0), (7, 0), (2, 0), (5, 0), (6, _SHORT_NAME)), frozenset((1, 2, 4, 5)))


def lot_cells(now: LotNow, status: LotStatus | None, units: Units) -> Row:
    """Return a lot as a row of `lot_columns`; its status is None until it is known."""
    lot, words = now.lot, status or ""
    ferments = status is LotStatus.FERMENTING and lot.abv is None
    return (
        lot.code,
        show(Quantity.VOLUME, now.ml, units),
        str(len(now.holdings)),
        f"{words:<{_STATUS}}",
        "not yet" if ferments else show(Quantity.STRENGTH, lot.abv, units),
        show_figure("cost_per_l", lot.cost_per_l, units, with_unit=False),
        lot.name,
        gravity_words(lot, units),
        lot.honey or "?",
    )


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
    return f"{before}{_first_of(lots, width - len(before))}"


def _first_of(phrases: str, room: int) -> str:
    """Return the phrases that have room; where some are left out, a mark at the end shows it."""
    shown = whole_phrases(phrases, room)
    if shown == phrases:
        return shown
    fewer = whole_phrases(phrases, room - len(_MORE))
    return f"{fewer}{_MORE}" if fewer else _MORE.strip(", ")


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
