"""What is wrong with a figure or neglected at a vessel, as text: read alike by the signs and by the rounds."""

from datetime import datetime, timedelta

from cooperage.book import Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.declared.substances import TREATMENTS
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, show


def last_cared_for(standing: Standing) -> datetime | None:
    """Return when an empty barrel was last treated in a way that counts as care, or smelled; None since it is empty."""
    smelled = standing.seen("smell")
    treated = [standing.last(name) for name, treatment in TREATMENTS.items() if treatment.is_care]
    done = [at for at in (*treated, None if smelled is None else smelled.at) if at is not None]
    return max((at for at in done if _is_since_emptied(standing, at)), default=None)


def _is_since_emptied(standing: Standing, at: datetime) -> bool:
    emptied = standing.days_empty
    return emptied is None or at >= standing.at - timedelta(days=emptied)


def over_limit(va_g_l: float, ceiling_g_l: float, units: Units = DEFAULT) -> str:
    """Format volatile acidity over its limit."""
    limit = show(Quantity.ACID, ceiling_g_l, units, with_unit=False)
    return f"volatile acidity {show(Quantity.ACID, va_g_l, units)}, over {limit}"


def under_floor(standing: Standing, units: Units = DEFAULT) -> tuple[str, datetime | None] | None:
    """Return that molecular SO2 is under the barrel's floor, how sure, and since when; None where it is not."""
    molecular, floor = standing.molecular_so2, upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
    if molecular is None or molecular >= floor:
        return None
    has = show(Quantity.SULPHITE, molecular, units, digits=2)
    limit = show(Quantity.SULPHITE, floor, units, with_unit=False, digits=2)
    chance = chance_under(standing, floor)
    sure = "" if chance is None else f" ({sure_words(chance)})"
    return f"molecular SO2 {has}, under {limit}{sure}", _fell_under(standing, floor)


def chance_under(standing: Standing, limit_mg_l: float) -> float | None:
    """Return the chance that molecular SO2 is under a limit [mg/L] now; None where its course is not known."""
    course = standing.course(MOLECULAR)
    return None if course is None else course.chance(0.0, limit_mg_l, -1)


def sure_words(probability: float) -> str:
    """Return how sure something is: "97 % sure", and never that it is certain."""
    return "over 99 % sure" if probability > 0.99 else f"{100 * probability:.0f} % sure"


def _fell_under(standing: Standing, floor_mg_l: float) -> datetime | None:
    """Return when molecular SO2 fell under a floor by its course, at the earliest when hands last changed free SO2.

    Where no course is known it is when free SO2 was last read.
    """
    course = standing.course(MOLECULAR)
    if course is None:
        return standing.last("free_so2_mg_l")
    under, over = 0.0, _days_alone(standing)
    if course.after(-over)[0] < floor_mg_l:
        return _day_of(standing.at - timedelta(days=over))
    while over - under > _FINE_DAYS:
        middle = (under + over) / 2
        under, over = (middle, over) if course.after(-middle)[0] < floor_mg_l else (under, middle)
    return _day_of(standing.at - timedelta(days=under))


def _day_of(at: datetime) -> datetime:
    """Return the beginning of a day; a course is no finer than that."""
    return at.replace(hour=0, minute=0, second=0, microsecond=0)


def _days_alone(standing: Standing) -> float:
    """Return for how many days free SO2 has gone its own way: since it was known, added to, or racked."""
    since = standing.state.since_read("free_so2_mg_l", standing.at.timestamp())
    added, racked = [since.added_age] if since.added else [], [since.here] if since.racked else []
    return min([since.age, *added, *racked])


_FINE_DAYS = 0.001
