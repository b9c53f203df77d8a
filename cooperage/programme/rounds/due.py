"""The rounds: what is due, why, and in which order one walks past it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

from cooperage.book import Cellar, Standing, Upkeep
from cooperage.book.declared.acts import that_count_as
from cooperage.book.declared.counts import Counts
from cooperage.book.store.registry import Position
from cooperage.book.vessel_words import empty_words, judged_words
from cooperage.programme.losses.level import Level, level_now, rate_of, short_on, wants_topping
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.rounds.kegs import best_keg, kegs_of
from cooperage.programme.rounds.risk import LONGEST_DAYS, acidity_at_risk, gravity_at_risk, sulphite_at_risk
from cooperage.programme.signs.leak import leak_sign
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.upkeep.dips import dip_that_disagrees
from cooperage.programme.upkeep.looks import filled_at, last_tasted, latest_in_fill, next_look
from cooperage.programme.upkeep.verdicts import last_cared_for, over_limit, under_floor
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_ago, show_day


class Task(StrEnum):
    """What a stop on the rounds asks for, in the order it is done at the barrel."""

    GAUGE = "gauge"
    TOP = "top"
    SULPHITE = "sulphite"
    VA = "va"
    GRAVITY = "gravity"
    TASTE = "taste"
    SNIFF = "sniff"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to do at one vessel: since when, why, and for a topping the litres to expect and the keg to take.

    `level` is what the vessel holds by then, `warning` a leak that is as good as sure.
    """

    barrel: str
    task: Task
    due: datetime
    why: str
    position: Position = (None, None, None, None)
    expected_ml: int | None = None
    keg: str | None = None
    overdue_days: float = 0.0
    level: Level | None = None
    warning: str = ""


Looks = Mapping[str, tuple[datetime, str]]
"""When barrels are to be tasted by the forecast of their readiness, and why, by tag."""
_NO_LOOKS: Looks = MappingProxyType({})


def rounds(
    cellar: Cellar,
    on: datetime | None = None,
    rates: Mapping[str, LossRate] | None = None,
    units: Units = DEFAULT,
    looks: Looks = _NO_LOOKS,
) -> list[Due]:
    """List what is due by `on` (now, if left out), in walking order; `rates` are loss rates by tag.

    Reasons are worded in `units`. `looks` are those that a forecast of readiness asks for.
    """
    by = on or cellar.at
    return [due for due in all_coming(cellar, by, rates, units, looks) if due.due <= by]


def all_coming(
    cellar: Cellar,
    by: datetime,
    rates: Mapping[str, LossRate] | None = None,
    units: Units = DEFAULT,
    looks: Looks = _NO_LOOKS,
) -> list[Due]:
    """List everything that is coming, in walking order, whether due `by` then or not."""
    kegs = kegs_of(cellar)
    return [
        due
        for standing in cellar.in_walking_order()
        for due in _of_vessel(standing, by, kegs, rates or {}, units, looks)
    ]


def next_task(cellar: Cellar, coming: Iterable[Due]) -> str:
    """Return what comes due first of all, and when: "B-001 top on 2026-12-24"; nothing where nothing does.

    `coming` is all that is coming by now.
    """
    later = (due for due in coming if due.due > cellar.at)
    first = min(later, key=lambda due: due.due, default=None)
    return "" if first is None else f"{first.barrel} {first.task} on {show_day(first.due)}"


def next_due(
    standing: Standing,
    cellar: Cellar | None = None,
    rates: Mapping[str, LossRate] | None = None,
    units: Units = DEFAULT,
    looks: Looks = _NO_LOOKS,
) -> list[Due]:
    """List everything that is coming for one vessel, soonest first, whether due yet or not."""
    kegs = kegs_of(cellar) if cellar is not None else []
    return sorted(_of_vessel(standing, standing.at, kegs, rates or {}, units, looks), key=lambda due: due.due)


def _of_vessel(
    standing: Standing, by: datetime, kegs: list[Standing], rates: Mapping[str, LossRate], units: Units, looks: Looks
) -> Iterator[Due]:
    if standing.is_retired or not standing.vessel.is_barrel:
        return
    upkeep, rate = upkeep_of(standing), rate_of(standing, rates)
    level = level_now(standing, rate, by)
    is_empty = standing.ml == 0
    tasks = _empty(standing, upkeep) if is_empty else _holding(standing, upkeep, level, rate, kegs, units, looks)
    warning = sure_leak(standing, rate, units)
    for due in tasks:
        overdue = max(0.0, (by - due.due) / timedelta(days=1))
        yield replace(due, position=standing.position, overdue_days=overdue, level=level, warning=warning)


_AS_GOOD_AS_SURE = 0.99


def sure_leak(standing: Standing, rate: LossRate | None, units: Units = DEFAULT) -> str:
    """Return a leak that is as good as sure, in the words of its sign; nothing where there is none."""
    signs = leak_sign(standing, rate, units)
    return next((sign.why for sign in signs if (sign.sure or 0.0) > _AS_GOOD_AS_SURE), "")


def _empty(standing: Standing, upkeep: Upkeep) -> Iterator[Due]:
    latest, emptied = last_cared_for(standing), standing.days_empty
    since = latest or (standing.at - timedelta(days=emptied) if emptied is not None else standing.at)
    every = upkeep.sniff_every_days or 0
    empty = empty_words(standing) if emptied is not None else "empty, never filled here"
    seen = "not sniffed since" if latest is None else f"last treated {_ago(standing, latest)}"
    yield Due(standing.tag, Task.SNIFF, since + timedelta(days=every), f"{empty}, {seen}")


def _holding(
    standing: Standing,
    upkeep: Upkeep,
    level: Level,
    rate: LossRate,
    kegs: list[Standing],
    units: Units,
    looks: Looks,
) -> Iterator[Due]:
    if (dip := dip_that_disagrees(standing, units)) is not None:
        yield Due(standing.tag, Task.GAUGE, *dip)
    yield from _topping(standing, upkeep, level, rate, kegs, units)
    yield from _sulphite(standing, upkeep, units)
    va, ceiling = standing.figure("va_g_l"), upkeep.va_ceiling_g_l or 0.0
    if va.value is not None and va.value > ceiling:
        at = standing.last("va_g_l") or standing.at
        yield Due(standing.tag, Task.VA, at, over_limit(va.value, ceiling, units))
    elif (risk := acidity_at_risk(standing, ceiling, units)) is not None:
        yield Due(standing.tag, Task.VA, *risk)
    if (risk := gravity_at_risk(standing, units)) is not None:
        yield Due(standing.tag, Task.GRAVITY, *risk)
    yield _tasting(standing, looks)


def _tasting(standing: Standing, looks: Looks) -> Due:
    """Return when a vessel is to be tasted, and why: by what was decided, by its forecast, or by its interval."""
    foreseen, by_forecast = looks.get(standing.tag, (None, ""))
    look, tasted = next_look(standing, foreseen), last_tasted(standing)
    match look.by:
        case "verdict":
            why = judged_words(standing)
        case "forecast":
            why = by_forecast
        case _:
            why = _since_fill(standing, tasted, f"tasted or sampled {_ago(standing, tasted)}", "not tasted yet")
    return Due(standing.tag, Task.TASTE, look.at, why)


def _since_fill(standing: Standing, at: datetime, done: str, never: str) -> str:
    """Return what was done; where nothing was since the fill began, that and when it began."""
    return f"{never}; filled {_ago(standing, at)}" if at == filled_at(standing) else done


def _topping(
    standing: Standing, upkeep: Upkeep, level: Level, rate: LossRate, kegs: list[Standing], units: Units
) -> Iterator[Due]:
    if upkeep.topping == "never":
        return
    reasons = [_found_short(standing, units), _by_policy(standing, upkeep, level, rate, units)]
    for due, why in sorted(reason for reason in reasons if reason is not None)[:1]:
        keg = best_keg(standing, kegs, level.short_ml, upkeep.top_from)
        yield Due(standing.tag, Task.TOP, due, why, expected_ml=level.short_ml, keg=keg)


def _found_short(standing: Standing, units: Units) -> tuple[datetime, str] | None:
    """A barrel that was left or seen short wants topping, whatever its policy, until it is full."""
    found = wants_topping(standing, units)
    return None if found is None else (found[0], f"{found[1]} {_ago(standing, found[0])}")


def _by_policy(
    standing: Standing, upkeep: Upkeep, level: Level, rate: LossRate, units: Units
) -> tuple[datetime, str] | None:
    """Return since when and why its topping policy asks for a barrel; None while it does not."""
    topped = latest_in_fill(standing, *that_count_as(Counts.TOPPED))
    match upkeep.topping:
        case "opened":
            opened = latest_in_fill(standing, *that_count_as(Counts.OPENED))
            return (opened, f"opened {_ago(standing, opened)}, topped when opened") if opened > topped else None
        case "level":
            return _by_level(standing, upkeep.top_below_ml or 0, level, rate, units)
    every = timedelta(days=upkeep.top_every_days or 0)
    seen = latest_in_fill(standing, *that_count_as(Counts.SEEN_FULL), "seen full")
    found = f"topped {_ago(standing, topped)}" if seen == topped else f"found full {_ago(standing, seen)}"
    often = counted(upkeep.top_every_days or 0, "day")
    return seen + every, f"{_since_fill(standing, seen, found, _NEVER_TOPPED)}, every {often}"


_NEVER_TOPPED = "never topped here"


def _by_level(
    standing: Standing, limit: int, level: Level, rate: LossRate, units: Units
) -> tuple[datetime, str] | None:
    """Return when a barrel is expected to be short by its limit; None where that never comes."""
    due = short_on(standing, rate, limit)
    if due is None:
        return None
    short, low = show(Quantity.VOLUME, level.short_ml, units), show(Quantity.VOLUME, limit, units)
    return due, f"about {short} short by now, topped when {low} short"


def _sulphite(standing: Standing, upkeep: Upkeep, units: Units) -> Iterator[Due]:
    floor = upkeep.molecular_so2_floor_mg_l or 0.0
    read, filled = latest_in_fill(standing, "free_so2_mg_l", "fill"), filled_at(standing)
    if (low := under_floor(standing, units)) is not None:
        why, since = low
        yield Due(standing.tag, Task.SULPHITE, since or standing.at, why)
    elif standing.value("free_so2_mg_l") is None:
        yield Due(standing.tag, Task.SULPHITE, filled, f"free SO2 never measured; filled {_ago(standing, filled)}")
    else:
        yield Due(standing.tag, Task.SULPHITE, *min(_sulphite_readings(standing, upkeep, read, floor, units)))


def _sulphite_readings(
    standing: Standing, upkeep: Upkeep, read: datetime, floor: float, units: Units
) -> Iterator[tuple[datetime, str]]:
    """Yield when free SO2 is to be read, and why: by its interval, and before the floor may be passed.

    Where a person set no interval and the figure is aged, the chance decides, and the longest time without a reading.
    """
    last = standing.days_since("free_so2_mg_l")
    is_read = last is not None and last <= (standing.days_in_wood or 0.0)
    why = f"free SO2 read {_ago(standing, read)}" if is_read else "free SO2 not read in this fill"
    every = upkeep.sulphite_every_days or 0
    if standing.course("free_so2_mg_l") is not None and standing.vessel.upkeep.sulphite_every_days is None:
        every = LONGEST_DAYS
    if (risk := sulphite_at_risk(standing, floor, units)) is not None:
        soonest = read + timedelta(days=standing.facts.walk_every_days)  # it was read at this walk or the last
        yield max(risk[0], soonest), risk[1]
    yield read + timedelta(days=every), why


def _ago(standing: Standing, at: datetime) -> str:
    return show_ago(at, standing.at)
