"""The rounds: what is due, why, and in which order one walks past it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from cooperage.book import Cellar, Standing, Upkeep
from cooperage.book.gauging import volume_at_headspace
from cooperage.book.looks import SEEN_FULL
from cooperage.book.registry import Position
from cooperage.programme.upkeep import upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, show


class Task(StrEnum):
    """What a stop on the rounds asks for, in the order it is done at the barrel."""

    GAUGE = "gauge"
    TOP = "top"
    SULPHITE = "sulphite"
    VA = "va"
    TASTE = "taste"
    SNIFF = "sniff"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to do at one vessel: since when, why, and for a topping the litres to expect and the keg to take."""

    barrel: str
    task: Task
    due: datetime
    why: str
    position: Position = (None, None, None, None)
    expected_ml: int | None = None
    keg: str | None = None
    overdue_days: float = 0.0


USUAL_LOSS_PER_YEAR = 0.04
"""What a barrel loses in a year until its own toppings say otherwise (common practice, no source)."""

_DIP_DISAGREES = 0.02  # of the capacity: more than a dip's own error near the bung


def rounds(
    cellar: Cellar, on: datetime | None = None, rates: Mapping[str, float] | None = None, units: Units = DEFAULT
) -> list[Due]:
    """List what is due by `on` (now, if left out), in walking order; `rates` are losses [ml/day] by tag.

    Reasons are worded in `units`.
    """
    by = on or cellar.at
    kegs = kegs_of(cellar)
    return [
        due
        for standing in cellar.in_walking_order()
        for due in _of_vessel(standing, by, kegs, rates or {}, units)
        if due.due <= by
    ]


def next_due(
    standing: Standing,
    cellar: Cellar | None = None,
    rates: Mapping[str, float] | None = None,
    units: Units = DEFAULT,
) -> list[Due]:
    """List everything that is coming for one vessel, soonest first, whether due yet or not."""
    kegs = kegs_of(cellar) if cellar is not None else []
    return sorted(_of_vessel(standing, standing.at, kegs, rates or {}, units), key=lambda due: due.due)


def _of_vessel(
    standing: Standing, by: datetime, kegs: list[Standing], rates: Mapping[str, float], units: Units
) -> Iterator[Due]:
    if standing.is_retired or not standing.vessel.is_barrel:
        return
    upkeep = upkeep_of(standing)
    tasks = _empty(standing, upkeep) if standing.ml == 0 else _holding(standing, upkeep, by, kegs, rates, units)
    for due in tasks:
        overdue = max(0.0, (by - due.due) / timedelta(days=1))
        yield Due(
            due.barrel, due.task, due.due, due.why, standing.position, due.expected_ml, due.keg, overdue_days=overdue
        )


def _empty(standing: Standing, upkeep: Upkeep) -> Iterator[Due]:
    latest = max(
        (moment for moment in map(standing.last, ("sniff", "rinse", "sulphur wick", "so2 gas", "steam")) if moment),
        default=None,
    )
    emptied = standing.days_empty
    since = latest or (standing.at - timedelta(days=emptied) if emptied is not None else standing.at)
    every = upkeep.sniff_every_days or 0
    empty = f"empty for {emptied:.0f} days" if emptied is not None else "empty"
    seen = "never smelled since" if latest is None else f"last seen to {_ago(standing, latest)}"
    yield Due(standing.tag, Task.SNIFF, since + timedelta(days=every), f"{empty}, {seen}")


def _holding(
    standing: Standing, upkeep: Upkeep, by: datetime, kegs: list[Standing], rates: Mapping[str, float], units: Units
) -> Iterator[Due]:
    yield from dip_that_disagrees(standing, units)
    yield from _topping(standing, upkeep, by, kegs, rates, units)
    yield from _sulphite(standing, upkeep, units)
    va, ceiling = standing.figure("va_g_l"), upkeep.va_ceiling_g_l or 0.0
    if va.value is not None and va.value > ceiling:
        at = standing.last("va_g_l") or standing.at
        yield Due(standing.tag, Task.VA, at, over_limit(va.value, ceiling, units))
    tasted = _latest(standing, "taste", "sample")
    due = tasted + timedelta(days=upkeep.taste_every_days or 0)
    yield Due(standing.tag, Task.TASTE, due, f"tasted or sampled {_ago(standing, tasted)}")


def over_limit(va_g_l: float, ceiling_g_l: float, units: Units = DEFAULT) -> str:
    """Say that volatile acidity is over its limit."""
    limit = show(Quantity.ACID, ceiling_g_l, units, with_unit=False)
    return f"volatile acidity {show(Quantity.ACID, va_g_l, units)}, over {limit}"


def under_floor(molecular_mg_l: float, floor_mg_l: float, units: Units = DEFAULT) -> str:
    """Say that molecular SO2 is under its floor."""
    has = show(Quantity.SULPHITE, molecular_mg_l, units, digits=2)
    return f"molecular SO2 {has}, under {show(Quantity.SULPHITE, floor_mg_l, units, with_unit=False, digits=2)}"


def dip_that_disagrees(standing: Standing, units: Units = DEFAULT) -> Iterator[Due]:
    """Tell where the last dip and the book differ by more than a dip's own error."""
    read = standing.state.reads.get("headspace_mm")
    if read is None or read.changed:
        return
    gap = standing.ml - volume_at_headspace(standing.vessel, read.value)
    if abs(gap) > _DIP_DISAGREES * standing.vessel.capacity_ml:
        which = "less" if gap > 0 else "more"
        at = standing.last("headspace_mm") or standing.at
        yield Due(
            standing.tag,
            Task.GAUGE,
            at,
            f"the dip shows {show(Quantity.VOLUME, abs(gap), units)} {which} than the book",
        )


def _topping(
    standing: Standing, upkeep: Upkeep, by: datetime, kegs: list[Standing], rates: Mapping[str, float], units: Units
) -> Iterator[Due]:
    if upkeep.topping == "never":
        return
    topped = _latest(standing, "top", "fill")
    rate = loss_rate_ml_per_day(standing, rates)
    days = max(0.0, (by - topped) / timedelta(days=1))
    expected = standing.headspace_ml + round(rate * days)
    reasons = [_seen_low(standing, topped), _by_policy(standing, upkeep, topped, expected, rate, units)]
    for due, why in sorted(reason for reason in reasons if reason is not None)[:1]:
        keg = best_keg(standing, kegs, expected, upkeep.top_from)
        yield Due(standing.tag, Task.TOP, due, why, expected_ml=expected, keg=keg)


def _seen_low(standing: Standing, topped: datetime) -> tuple[datetime, str] | None:
    """A barrel that somebody saw low wants topping, whatever its policy, until it is topped or seen full."""
    seen = standing.seen("level")
    if seen is None or seen.word == SEEN_FULL or seen.at <= topped:
        return None
    return seen.at, f"seen {seen.word} {_ago(standing, seen.at)}"


def _by_policy(
    standing: Standing, upkeep: Upkeep, topped: datetime, expected: int, rate: float, units: Units
) -> tuple[datetime, str] | None:
    """Tell since when and why its topping policy asks for a barrel; None while it does not."""
    match upkeep.topping:
        case "opened":
            opened = _latest(standing, "top", "fill", "sample", "taste")
            return (opened, f"opened {_ago(standing, opened)}, topped when opened") if opened > topped else None
        case "level":
            limit = upkeep.top_below_ml or 0
            wait = max(0.0, (limit - standing.headspace_ml) / rate) if rate > 0 else 0.0
            short, level = show(Quantity.VOLUME, expected, units), show(Quantity.VOLUME, limit, units)
            return topped + timedelta(days=wait), f"reckoned {short} short, topped when {level} short"
    every = timedelta(days=upkeep.top_every_days or 0)
    seen = _latest(standing, "top", "fill", "inspect", "seen full")
    found = f"topped {_ago(standing, topped)}" if seen == topped else f"found full {_ago(standing, seen)}"
    return seen + every, f"{found}, every {upkeep.top_every_days} days"


def loss_rate_ml_per_day(standing: Standing, rates: Mapping[str, float]) -> float:
    """Return a barrel's own loss rate [ml/day], or the usual one for its size."""
    usual = standing.vessel.capacity_ml * USUAL_LOSS_PER_YEAR / 365.25
    return max(0.0, rates.get(standing.tag, usual))


def _sulphite(standing: Standing, upkeep: Upkeep, units: Units) -> Iterator[Due]:
    floor, molecular = upkeep.molecular_so2_floor_mg_l or 0.0, standing.molecular_so2
    read = _latest(standing, "free_so2_mg_l", "fill")
    if molecular is not None and molecular < floor:
        at = standing.last("free_so2_mg_l") or standing.at
        yield Due(standing.tag, Task.SULPHITE, at, under_floor(molecular, floor, units))
    else:
        due = read + timedelta(days=upkeep.sulphite_every_days or 0)
        last = standing.days_since("free_so2_mg_l")
        is_read = last is not None and last <= (standing.days_in_wood or 0.0)
        why = f"free SO2 read {_ago(standing, read)}" if is_read else "free SO2 not read in this fill"
        yield Due(standing.tag, Task.SULPHITE, due, why)


def _latest(standing: Standing, *kinds: str) -> datetime:
    """Return when the last of these was done in this fill, or when the fill began."""
    filled = standing.at - timedelta(days=standing.days_in_wood or 0.0)
    return max(filled, *(standing.last(kind) or filled for kind in kinds))


def _ago(standing: Standing, at: datetime) -> str:
    days = (standing.at - at).days
    return "today" if days <= 0 else f"{days} day{'s' if days != 1 else ''} ago"


def kegs_of(cellar: Cellar) -> list[Standing]:
    """List the small vessels that hold something to top with."""
    return [s for s in cellar if s.vessel.kind in ("keg", "demijohn") and s.ml > 0 and not s.is_retired]


def likeness(standing: Standing, other: Standing) -> float:
    """Return how much of two meads is of the same lots: 1 is all, 0 nothing."""
    return sum(min(share, other.lots.get(lot, 0.0)) for lot, share in standing.lots.items())


_SOURCES = {"keg": 0, "demijohn": 1, "tank": 2, "barrel": 3}


def sources_for(barrel: Standing, cellar: Cellar) -> list[Standing]:
    """List vessels to top a barrel from: kegs first, then tanks, then barrels of the same lot; most alike first."""
    held = [s for s in cellar if s.ml > 0 and s.tag != barrel.tag and not s.is_retired]
    alike = [s for s in held if not s.vessel.is_barrel or likeness(barrel, s) > 0]
    return sorted(alike, key=lambda s: (_SOURCES[s.vessel.kind], -likeness(barrel, s), s.tag))


def best_keg(standing: Standing, kegs: list[Standing], needed_ml: int, wanted: str | None = None) -> str | None:
    """Choose the keg that holds enough and is most like the barrel; None where no keg holds anything."""
    named = [keg for keg in kegs if keg.tag == wanted and keg.ml >= needed_ml]
    if named:
        return named[0].tag
    ranked = sorted(kegs, key=lambda keg: (keg.ml < needed_ml, -likeness(standing, keg), keg.ml, keg.tag))
    return ranked[0].tag if ranked else None
