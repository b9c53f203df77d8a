"""Spans of time that a report looks back over, by name."""

from datetime import datetime, timedelta

from cooperage.errors import BadInput, choose_from
from cooperage.units import local_day, midnight

DAYS: dict[str, int | None] = {"30 days": 30, "90 days": 90, "12 months": 365, "24 months": 730, "all time": None}


class UnknownPeriod(BadInput):
    """A period that has no name."""

    def __init__(self, period: str) -> None:
        self.period = period
        super().__init__(f"'{period}' is no period{choose_from(period, DAYS)}")


def since(period: str, now: datetime) -> datetime | None:
    """Return when a period that ends now began, at the midnight of its first day; None for all time.

    Raises UnknownPeriod.
    """
    if period not in DAYS:
        raise UnknownPeriod(period)
    days = DAYS[period]
    return None if days is None else midnight(local_day(now) - timedelta(days=days))
