"""Spans of time by name."""

from datetime import UTC, date, datetime

import pytest

from cooperage.programme.losses.ledger import PERIODS, UnknownPeriod, period_began
from cooperage.units import midnight

NOW = datetime(2026, 10, 3, 9, 0, tzinfo=UTC)


def test_a_period_ends_now_and_all_time_has_no_beginning() -> None:
    """Thirty days before 3 October is 3 September, from its midnight on."""
    assert period_began("30 days", NOW) == midnight(date(2026, 9, 3))
    assert period_began("all time", NOW) is None


def test_an_unknown_period_names_those_there_are() -> None:
    """The line lists every name."""
    with pytest.raises(UnknownPeriod, match=", ".join(PERIODS)):
        period_began("a while", NOW)
