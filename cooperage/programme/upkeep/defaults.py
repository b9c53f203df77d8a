"""How often a vessel wants looking after when no schedule is set: the cellar's defaults.

Common practice, no source: new barrels weekly for four weeks, fortnightly to the third month, then every four weeks;
used ones of 225 L every four weeks, larger ones every six, small ones weekly; empties smelled every four weeks.
"""

from typing import TypeVar

from cooperage.book import Standing, Upkeep

T = TypeVar("T")

_NEW_WEEKLY_DAYS, _NEW_FORTNIGHTLY_DAYS = 28, 90
_SMALL_ML, _MIDDLING_ML, _LARGE_ML = 60_000, 150_000, 290_000

DEFAULT_FLOOR = 0.5
"""Molecular SO2 below which a barrel is on the rounds [mg/L]; the usual target (common practice, no source)."""
DEFAULT_VA_CEILING = 0.8
"""Volatile acidity at which a barrel is to be looked at [g/L as acetic acid] (common practice, no source)."""

GRAVITY_MOVES = 0.0015
"""A fall of gravity by so much is worth a look [SG] (common practice, no source)."""


def upkeep_of(standing: Standing) -> Upkeep:
    """Return a vessel's upkeep with every default filled in."""
    own = standing.vessel.upkeep
    return Upkeep(
        topping=_or(own.topping, "interval"),
        top_every_days=_or(own.top_every_days, usual_topping_days(standing)),
        top_below_ml=_or(own.top_below_ml, standing.vessel.capacity_ml // 100),
        taste_every_days=_or(own.taste_every_days, 42),
        sulphite_every_days=_or(own.sulphite_every_days, 30),
        sniff_every_days=_or(own.sniff_every_days, 28),
        molecular_so2_floor_mg_l=_or(own.molecular_so2_floor_mg_l, DEFAULT_FLOOR),
        va_ceiling_g_l=_or(own.va_ceiling_g_l, DEFAULT_VA_CEILING),
        top_from=own.top_from,
    )


def _or(own: T | None, default: T) -> T:
    return default if own is None else own


def usual_topping_days(standing: Standing) -> int:
    """Return the usual days between toppings for a barrel's size and the age of its fill."""
    if standing.vessel.capacity_ml < _SMALL_ML:
        return 7
    if standing.fill_number == 1:
        days = standing.days_in_wood or 0.0
        if days <= _NEW_WEEKLY_DAYS:
            return 7
        if days <= _NEW_FORTNIGHTLY_DAYS:
            return 14
    if standing.vessel.capacity_ml < _MIDDLING_ML:
        return 14
    return 28 if standing.vessel.capacity_ml < _LARGE_ML else 42
