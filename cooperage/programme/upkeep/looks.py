"""When a vessel was tasted last, and which look at it is still to come: one answer for the rounds and for its page.

A look is met by what counts as tasted (a sample, or a verdict), scored or not.
"""

from datetime import datetime, timedelta

from cooperage.book import Standing
from cooperage.book.declared.acts import that_count_as
from cooperage.book.declared.counts import Counts

_SOON_ENOUGH = timedelta(weeks=2)


def filled_at(standing: Standing) -> datetime:
    """Return when this fill began."""
    return standing.at - timedelta(days=standing.days_in_wood or 0.0)


def latest_in_fill(standing: Standing, *kinds: str) -> datetime:
    """Return when the last of these was done in this fill, or when the fill began."""
    filled = filled_at(standing)
    return max(filled, *(standing.last(kind) or filled for kind in kinds))


def last_tasted(standing: Standing) -> datetime:
    """Return when it was last tasted or sampled in this fill, or when the fill began."""
    return latest_in_fill(standing, *that_count_as(Counts.TASTED))


def is_tasted(standing: Standing) -> bool:
    """Return True if it was tasted or sampled in this fill."""
    return last_tasted(standing) > filled_at(standing)


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
