"""When a vessel was tasted last, and which look at it is still to come: one answer for every door.

A look is met by what counts as tasted (a sample, or a verdict), scored or not, and by scores of a revealed flight,
sampled or not.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

from cooperage.book import Standing
from cooperage.book.declared.acts import that_count_as
from cooperage.book.declared.counts import Counts
from cooperage.programme.upkeep.defaults import upkeep_of

_SOON_ENOUGH = timedelta(weeks=2)
VERDICT, FORECAST, INTERVAL = "verdict", "forecast", "interval"
"""By what a look is asked for: scripts rely on these words."""


class NextLook(NamedTuple):
    """When a vessel is to be tasted next, and by what."""

    at: datetime
    by: str


def next_look(standing: Standing, foreseen: datetime | None = None) -> NextLook:
    """Return the look that is still to come: what was decided, else what a forecast asks for, else its interval's.

    `foreseen` is the forecast's. One that was met leaves the interval, and so does a quarantine; an interval that a
    person set to the vessel is kept where it is sooner.
    """
    if (decided := decided_look(standing)) is not None:
        return NextLook(decided, VERDICT)
    by_interval = last_tasted(standing) + timedelta(days=upkeep_of(standing).taste_every_days or 0)
    if foreseen is None or standing.is_quarantined or is_met(standing, foreseen):
        return NextLook(by_interval, INTERVAL)
    is_set = standing.vessel.upkeep.taste_every_days is not None
    return NextLook(by_interval, INTERVAL) if is_set and by_interval < foreseen else NextLook(foreseen, FORECAST)


def filled_at(standing: Standing) -> datetime:
    """Return when this fill began."""
    return standing.at - timedelta(days=standing.days_in_wood or 0.0)


def latest_in_fill(standing: Standing, *kinds: str) -> datetime:
    """Return when the last of these was done in this fill, or when the fill began."""
    filled = filled_at(standing)
    return max(filled, *(standing.last(kind) or filled for kind in kinds))


def last_tasted(standing: Standing) -> datetime:
    """Return when it was last tasted, scored or sampled in this fill, or when the fill began."""
    tasted = latest_in_fill(standing, *that_count_as(Counts.TASTED))
    return tasted if standing.scored_at is None else max(tasted, standing.scored_at)


def decided_look(standing: Standing) -> datetime | None:
    """Return when it was decided to look again; None once that was done: tasted in the later half of the wait."""
    judged = standing.judged
    if judged is None or judged.next_look is None:
        return None
    is_done = last_tasted(standing) > judged.at + (judged.next_look - judged.at) / 2
    return None if is_done else judged.next_look


def is_met(standing: Standing, look: datetime) -> bool:
    """Return True if a look that a forecast asks for was done: tasted, or filled, not long before it."""
    return last_tasted(standing) > look - _SOON_ENOUGH
