"""The wood as text: a row of the list, the page of one barrel, what to buy, which barrel a lot goes into."""

from collections.abc import Iterator, Sequence
from math import isinf

from cooperage.book import Book, Cellar
from cooperage.programme.kept import kept
from cooperage.programme.wood.cost import BarrelCost
from cooperage.programme.wood.effect import EffectLeft
from cooperage.programme.wood.history import Faults
from cooperage.programme.wood.need import Band90, KindNeed, YearNeed
from cooperage.programme.wood.pairs import LotInBarrel, part_words
from cooperage.programme.wood.retired import Retirement, retirement_of
from cooperage.programme.wood.standings import WoodStanding, wood_standings
from cooperage.units import DEFAULT, Quantity, Units, counted, local_day, show, show_day
from cooperage.units.showing import volume_unit

HOLDS = "the band holds 90 times of 100"


def left_words(effect: EffectLeft | None) -> tuple[str, str]:
    """Return what is left [% of new] and its band: "25", "5-45"; "?" where it is unknown."""
    if effect is None:
        return "?", ""
    return f"{effect.percent:.0f}", f"{effect.low:.0f}-{effect.high:.0f}"


def left_line(each: WoodStanding) -> str:
    """Return wood left with its band, and the rank: "25 % of new wood left (5-45), rank 27 of 50: keep"."""
    value, band = left_words(each.effect)
    left = "wood left ?" if each.effect is None else f"{value} % of new wood left ({band})"
    return f"{left}, rank {each.rank} of {each.of}: {each.advice.verdict}"


def wood_line(book: Book, cellar: Cellar, tag: str, units: Units = DEFAULT) -> str:
    """Return one barrel's wood in a line, of a retired one what is written off; "" for others. Raises NoSuchVessel."""
    standing = cellar[tag]
    if not standing.vessel.is_barrel:
        return ""
    if (retired := retirement_of(book, cellar, tag)) is not None:
        return "; ".join(part for part in (retired.disposition, written_off_words(retired, units)) if part)
    return _left_lines(book, cellar)[standing.tag]


def _left_lines(book: Book, cellar: Cellar) -> dict[str, str]:
    """Return the line of every barrel of the programme by its tag: ranked together, so worked out once for a day."""

    def found() -> dict[str, str]:
        return {each.tag: left_line(each) for each in wood_standings(book, cellar)}

    return kept(cellar.mark, f"wood_lines-{local_day(cellar.at):%Y%m%d}", found, dict, dict)


def sure_words(sure: float | None) -> str:
    """Return how sure: "81 %", "?" where it is unknown; never that it is certain."""
    return "?" if sure is None else "over 99 %" if sure > 0.995 else f"{100 * sure:.0f} %"


def money(sum_: float | None, units: Units = DEFAULT) -> str:
    """Return a sum; "?" where it is unknown."""
    return show(Quantity.MONEY, sum_, units)


def litres(value: float, units: Units = DEFAULT) -> str:
    """Return litres in the person's unit."""
    return show(Quantity.VOLUME, round(1000 * value), units)


def per_month(value: float | None, units: Units = DEFAULT, *, with_unit: bool = True) -> str:
    """Return a cost by the month and the person's unit of volume; "?" where it is unknown."""
    if value is None:
        return "?"
    return show(Quantity.MONEY, value * volume_unit(units)[1], units, digits=3, with_unit=with_unit)


def cost_heading(units: Units = DEFAULT) -> str:
    """Return the heading of a cost: "cost/litre month", or the currency in place of the first word."""
    return f"{units.currency or 'cost'}/{volume_unit(units)[0]} month"


def wood_head(units: Units = DEFAULT) -> tuple[str, ...]:
    """Return the heading of `wood_row`."""
    return "rank", "barrel", "what to do", "sure", "left %", "band", "fill", cost_heading(units), "why"


def wood_row(each: WoodStanding, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return one barrel in a row of the list."""
    fill = each.standing.fill_number
    return (
        str(each.rank),
        each.tag,
        each.advice.verdict.value,
        sure_words(each.advice.sure),
        *left_words(each.effect),
        "?" if fill is None else str(fill),
        per_month(each.cost.per_l_month, units, with_unit=False),
        "; ".join(each.advice.why),
    )


def wood_lines(each: WoodStanding, units: Units = DEFAULT) -> Iterator[tuple[str, str]]:
    """Yield everything about one barrel's wood: a label and its words."""
    advice, cost = each.advice, each.cost
    yield "what to do", f"{advice.verdict}, rank {each.rank} of {each.of}; {sure_words(advice.sure)} sure"
    for why in advice.why:
        yield "why", why
    yield "wood left", _left(each.effect)
    yield "fills", _fills(each)
    yield from cost_lines(cost, units)
    yield "found", fault_words(each.past.faults)
    gone = f"let go wrongly, {money(advice.let_go_cost, units)} of its price is lost"
    used = f"used as a sound one wrongly, {litres(advice.used_l, units)}" if advice.used_l else ""
    yield "if wrong", "; ".join(part for part in (gone, used) if part)


def _left(effect: EffectLeft | None) -> str:
    if effect is None:
        return "unknown: the fills before it came are not known"
    value, band = left_words(effect)
    return f"{value} % of what it gave new, {band} ({HOLDS}); {effect.basis}"


def _fills(each: WoodStanding) -> str:
    barrel, now = each.standing.vessel.barrel, each.standing.at.timestamp()
    before = None if barrel is None else barrel.fills_before
    came = "an unknown number before it came" if before is None else f"{before} before it came"
    days = ", ".join(counted(round(fill.days(now)), "day") for fill in each.past.fills)
    return f"{came}; here {days or 'none'}"


def cost_lines(cost: BarrelCost, units: Units = DEFAULT) -> Iterator[tuple[str, str]]:
    """Yield the cost of a barrel in its parts."""
    if cost.price is None:
        yield "price", "?"
    else:
        charges = ", ".join(money(each, units) for each in cost.price.charges) or "nothing yet"
        how = "by wood used" if cost.price.spread == "effect" else "in equal parts"
        left = f"{money(cost.price.left, units)} left"
        yield "price", f"{money(cost.price.price, units)}, {how}; its fills bear {charges}; {left}"
    yield "lost", f"{litres(cost.lost_l, units)}, which had cost {money(cost.lost, units)}"
    work = "its cost is not set" if cost.work is None else money(cost.work, units)
    yield "work", f"on {counted(cost.days_worked, 'day')}; {work}"
    parts = (cost.wood_per_l_month, cost.lost_per_l_month, cost.work_per_l_month)
    named = ", ".join(f"{name} {per_month(each, units)}" for name, each in zip(_PARTS, parts, strict=True))
    unknown = f"; not known: {', '.join(cost.not_known)}" if cost.not_known else ""
    yield cost_heading(units), f"{per_month(cost.per_l_month, units)}: {named}{unknown}"


_PARTS = ("price", "lost", "work")


def fault_words(faults: Faults) -> str:
    """Return what was found wrong and done about it: "vinegar or solvent once; 2 repairs"."""
    parts = (
        (faults.sour, f"vinegar or solvent smelled {counted(faults.sour, 'time')}"),
        (faults.taint, f"mould or spoilage yeast smelled {counted(faults.taint, 'time')}"),
        (faults.leaks, counted(faults.leaks, "loss put down to a leak", "losses put down to a leak")),
        (faults.repairs, counted(faults.repairs, "repair")),
        (faults.treatments, counted(faults.treatments, "treatment")),
    )
    return "; ".join(words for count, words in parts if count) or "nothing in the book"


def written_off_words(retired: Retirement, units: Units = DEFAULT) -> str:
    """Return what of a barrel's price is written off: "75.00 left in the books, 45.00 received: 30.00 written off"."""
    left, received = money(retired.book_value, units), money(retired.received, units)
    return f"{left} left in the books, {received} received: {money(retired.written_off, units)} written off"


def retired_lines(retired: Retirement, units: Units = DEFAULT) -> Iterator[tuple[str, str]]:
    """Yield what became of a retired barrel: a label and its words."""
    yield "retired", f"{show_day(retired.at)}: {retired.reason}"
    yield "became", retired.disposition or "?"
    yield "money", written_off_words(retired, units)


NEED_HEAD = (
    *("wood", "size", "held", "there", "neutral", "drop out", "band", "filled last year", "buy"),
    *("price", "band", "budget"),
)
NEED_NUMBERS = (1, 3, 4, 5, 7, 8, 9, 11)
"""The columns of `need_row` that hold numbers."""


def need_row(need: KindNeed, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return one kind of barrel in a row of what to buy."""
    kind, out = need.kind, need.drop_out
    return (
        kind.wood or "?",
        show(Quantity.VOLUME, kind.capacity_ml, units, digits=0),
        kind.past or "?",
        str(need.there),
        str(need.neutral),
        show(Quantity.NUMBER, out.value, units, digits=1),
        f"{out.low:.0f}-{out.high:.0f}",
        str(need.fills_last_year),
        str(need.buy),
        *_band(need.price, units),
        _band(need.budget, units)[0],
    )


def _band(band: Band90 | None, units: Units) -> tuple[str, str]:
    if band is None:
        return "?", ""
    return money(band.value, units), f"{money(band.low, units)}-{money(band.high, units)}"


def need_lines(need: YearNeed, units: Units = DEFAULT) -> Iterator[str]:
    """Yield what stands under the rows: the budget, and what finds no room."""
    bought = sum(each.buy for each in need.kinds)
    value, band = _band(need.budget, units)
    unpriced = f"; the price of {counted(need.unpriced, 'kind')} is not known" if need.unpriced else ""
    yield f"to keep as many with wood left: {counted(bought, 'barrel')}, {value} ({band}){unpriced}; {HOLDS}"
    if need.neutral:
        yield f"{counted(need.neutral, 'barrel')} neutral already: not replaced, for neutral use"
    waits, room = (show(Quantity.VOLUME, ml, units) for ml in (need.waiting_ml, need.empty_ml))
    more = counted(need.barrels_without_room, "more barrel")
    usual = show(Quantity.VOLUME, need.usual_ml, units)
    yield f"{waits} waits in tanks, {room} has room in empty barrels: the rest would fill {more} of {usual}"


PAIR_HEAD = ("lot", "into", "costs", "gives up", "if not there", "why")
PAIR_NUMBERS = (2, 3, 4)


def pair_row(pair: LotInBarrel, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a part of a lot and its barrel in a row, costs as litres of mead."""
    if_not = (
        "" if pair.if_not_l is None else "no other way" if isinf(pair.if_not_l) else f"+{litres(pair.if_not_l, units)}"
    )
    return (
        part_words(pair.part, units),
        "waits" if pair.barrel is None else pair.barrel.tag,
        litres(pair.costs_l, units),
        litres(pair.gives_up_l, units),
        if_not,
        "; ".join(f"{litres(cost.litres, units)}: {cost.why}" for cost in pair.costs if cost.litres >= 0.05),
    )


def pairs_total(pairs: Sequence[LotInBarrel]) -> float:
    """Return what all pairs cost together [litres]."""
    return sum(pair.costs_l for pair in pairs)
