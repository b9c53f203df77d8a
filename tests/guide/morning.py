"""The morning of the guide and of the README's pictures: Thursday 26 November 2026, eight o'clock."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta, tzinfo

import pytest

MORNING = datetime(2026, 11, 26, 8, 0, tzinfo=UTC)


class _Clock(datetime):
    """A clock that begins on that morning and moves a second at each look, so that entries keep their order."""

    at = MORNING

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override] # a moment of the usual kind
        """Return the moment that it is."""
        _Clock.at += timedelta(seconds=1)
        return _Clock.at.astimezone(tz)


@contextmanager
def fixed_morning() -> Iterator[None]:
    """Let it be that morning for the book, and the time of day that of Greenwich."""
    _Clock.at = MORNING
    zone = os.environ.get("TZ")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("cooperage.book.book.datetime", _Clock)
        patched.setenv("TZ", "UTC")
        _take_zone()
        yield
    assert os.environ.get("TZ") == zone
    _take_zone()


def _take_zone() -> None:
    if hasattr(time, "tzset"):
        time.tzset()
