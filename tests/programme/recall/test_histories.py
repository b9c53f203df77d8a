"""A history from a time on is the end of the whole one."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.store.tables import ENTRY, VESSEL
from cooperage.book.tracing import onward
from cooperage.book.tracing.histories import Histories
from tests.programme.recall.test_sold import forward


def test_from_a_time_on_a_vessel_holds_what_it_held(bottled: Book) -> None:
    """At every moment of the book, with a strike and a late entry in it: of one vessel, and of all in one question."""
    topping = bottled.write(acts.Top(vessel="B-1", source="T-2", volume=2_000, not_full=True, sure=True))
    bottled.write(acts.Strike(entry=topping.id))
    late = bottled.now() - timedelta(days=30)
    bottled.write(acts.Rack(vessel="K-1", destination="B-4", volume=1_000, at=late, sure=True))
    bottled.write(acts.PourBack(code="RUN", bottles=10, vessel="B-4"))
    with bottled.reading() as connection:
        vessels = list(connection.scalars(select(VESSEL.c.id)))
        moments = list(connection.scalars(select(ENTRY.c.happened_at).distinct()))
        for at in [datetime.min.replace(tzinfo=UTC), *moments]:
            one_by_one, at_once = Histories(connection), Histories(connection)
            at_once.since(vessels[0], at, vessels[1:])
            for vessel in vessels:
                whole = one_by_one.of(vessel)
                first = whole.first_from((at, "", 0))
                for found in (one_by_one.since(vessel, at), at_once.since(vessel, at)):
                    assert (found.passages, found.before) == (whole.passages[first:], whole.before[first:])
                    assert found.ml == whole.ml


def test_how_many_are_read_at_once_changes_nothing(bottled: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = {"code": "HEATHER"}, {"code": "B-1"}, {"hand": "Ada"}
    before = [forward(bottled, **each) for each in asked]
    monkeypatch.setattr(onward, "_AT_ONCE", 1)
    assert [forward(bottled, **each) for each in asked] == before
