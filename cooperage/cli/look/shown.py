"""What the commands that look have in common: a volume, a level, the moment at which a cellar is seen."""

from datetime import datetime
from typing import Any

from cooperage.book import utc_now
from cooperage.cli.shared.desk import settings
from cooperage.programme.losses.level import Level
from cooperage.units import Quantity, read_span, show


def volume(ml: int | None) -> str:
    """Write a volume in the person's unit."""
    return show(Quantity.VOLUME, ml, settings().units)


def level_row(level: Level | None) -> dict[str, Any] | None:
    """Return a level as scripts read it [L]; `low_l` is null where it is not known how far below `value_l` it is."""
    if level is None:
        return None
    low = None if level.low is None else level.low / 1000
    return {"value_l": level.ml / 1000, "low_l": low, "high_l": level.high / 1000, "how": level.how}


def seen_at(day: str | None) -> datetime | None:
    """Return the end of the day at which a cellar is to be seen, or the moment; None for now."""
    now = utc_now()
    return read_span(None, day, now).seen_at(now)
