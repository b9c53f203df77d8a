"""When a reading is due because a limit may be passed, unseen, before the next walk."""

from datetime import datetime, timedelta

from cooperage.programme.ageing.aged import AgedStanding
from cooperage.programme.ageing.course import Course
from cooperage.units import DEFAULT, Quantity, Units, show

LONGEST_DAYS = 180
"""No longer than this goes by without a reading of free SO2, however sure its course (common practice, no source)."""
_GRAVITY_WORTH = 0.003
"""A fall of gravity that one would want to know of: some 8 g/L of sugar (common practice, no source)."""
_SHOWN_AHEAD_DAYS = 60.0
"""A limit further off than this is not on the list of what is coming."""


def sulphite_at_risk(standing: AgedStanding, floor_mg_l: float, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return when free SO2 is to be read since molecular SO2 may pass its floor, and why; None while it is safe."""
    found = _at_risk(standing, standing.molecular_course(), floor_mg_l, -1)
    if found is None:
        return None
    due, chance = found
    floor = show(Quantity.SULPHITE, floor_mg_l, units, with_unit=False, digits=2)
    now = show(Quantity.SULPHITE, standing.molecular_so2, units, digits=2)
    return due, f"molecular SO2 {now}, {chance} under {floor} by the walk after"


def acidity_at_risk(standing: AgedStanding, ceiling_g_l: float, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return when volatile acidity is to be read since it may pass its ceiling, and why; None while it is safe."""
    found = _at_risk(standing, standing.now("va_g_l").course, ceiling_g_l, 1)
    if found is None:
        return None
    due, chance = found
    limit = show(Quantity.ACID, ceiling_g_l, units, with_unit=False)
    now = show(Quantity.ACID, standing.value("va_g_l"), units)
    return due, f"volatile acidity {now}, {chance} over {limit} by the walk after"


def gravity_at_risk(standing: AgedStanding, units: Units = DEFAULT) -> tuple[datetime, str] | None:
    """Return when gravity is to be read since it may have fallen by much since it was, and why; None while it stands.

    Where the record shows no movement, that is far off.
    """
    if "sg" not in standing.state.reads or (now := standing.now("sg")).value is None or now.measured is None:
        return None
    found = _at_risk(standing, now.course, now.measured - _GRAVITY_WORTH, -1)
    if found is None:
        return None
    due, chance = found
    value, last = (show(Quantity.GRAVITY, each, units) for each in (now.value, now.measured))
    return due, f"gravity {value}, read as {last}, {chance} to have fallen well below that by the walk after"


def _at_risk(standing: AgedStanding, course: Course | None, limit: float, sign: int) -> tuple[datetime, str] | None:
    """Return the day of the last walk at which the chance is still accepted, and the chance as text."""
    facts = standing.facts
    days = None if course is None else course.days_until(limit, sign, facts.risk)
    if course is None or days is None or days - facts.walk_every_days > _SHOWN_AHEAD_DAYS:
        return None
    ahead = max(0.0, days - facts.walk_every_days)
    chance = course.chance(ahead + facts.walk_every_days, limit, sign)
    day = (standing.at + timedelta(days=ahead)).replace(hour=0, minute=0, second=0, microsecond=0)
    return day, f"{100 * chance:.0f} % likely"
