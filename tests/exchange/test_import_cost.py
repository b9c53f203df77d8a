"""What an import asks of the database, counted in statements and in passes over the past, never in seconds."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.replay import snapshots
from cooperage.book.replay.events import events
from cooperage.book.replay.snapshots import snapshots_kept
from cooperage.exchange import import_folder

if TYPE_CHECKING:
    from tests.conftest import Clock


PER_ENTRY = 2  # the entry, and its moves or its readings
ONCE = 40  # registry, the states of some vessels, the cache kept at the end


class Cost:
    """Statements seen by the database, and passes over entries of the past."""

    def __init__(self) -> None:
        self.statements: list[str] = []
        self.passes = 0

    def of(self, verb: Any, table: Any) -> Any:
        return sum(message.startswith(verb) and f" {table} " in f"{message} " for message in self.statements)


@pytest.fixture
def cost(cellar_book: Book, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Count from now on."""
    counted = Cost()

    def seen(_connection: Any, _cursor: Any, statement: Any, _parameters: Any, _context: Any, _many: Any) -> None:
        counted.statements.append(" ".join(statement.split()))

    def passed(*args: Any, **bounds: Any) -> Any:
        counted.passes += 1
        return events(*args, **bounds)

    event.listen(cellar_book._engine, "before_cursor_execute", seen)
    monkeypatch.setattr(snapshots, "events", passed)
    return counted


def toppings(clock: "Clock", count: Any, *, vessel: Any = "B-1", first_day: Any = 0.0) -> Any:
    """Rows of toppings and readings, each an hour after the one before."""
    began = clock.time + timedelta(days=first_day)
    rows = []
    for number in range(count):
        at = (began + timedelta(hours=number)).isoformat()
        rows.append(f"{at},top,{vessel},50 ml,K-1,,,yes" if number % 2 else f"{at},reading,{vessel},,,ph,3.6,yes")
    return "\n".join(["when,kind,vessel,volume,from,property,value,sure", *rows, ""])


def test_entries_in_order_of_time_cost_a_few_statements_each(
    cellar_book: Book, clock: "Clock", folder: Callable[..., Path], cost: Any
) -> None:
    """Two hundred of them from months ago: two statements each, and the past is never passed again."""
    entries = toppings(clock, 200, first_day=1)
    clock.pass_days(400)
    cost.statements.clear()
    assert import_folder(cellar_book, folder(entries=entries)).counts == {"entries": 200}
    assert len(cost.statements) <= 200 * PER_ENTRY + ONCE
    assert cost.passes == 0
    assert not any(finding.broken for finding in cellar_book.check())


def test_entries_older_than_the_snapshots_let_go_of_them_once(
    cellar_book: Book, clock: "Clock", folder: Callable[..., Path], cost: Any
) -> None:
    """A barrel nobody touched since is imported into a book with snapshots: one deletion, not one an entry."""
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1"))
    entries = toppings(clock, 100, vessel="B-4", first_day=1)
    cellar_book.write(acts.Rack(vessel="T-1", destination="T-2", volume=50_000))
    for _ in range(6):
        clock.pass_days(30)
        cellar_book.write(acts.Sample(vessel="T-2", volume=100))
    cellar_book.write(acts.Sample(vessel="T-2", volume=50, at=clock() - timedelta(days=2)))
    cost.statements.clear()
    cost.passes = 0
    import_folder(cellar_book, folder(entries=entries))
    assert cost.of("DELETE FROM", "snapshot") == 1
    assert len(cost.statements) <= 100 * PER_ENTRY + ONCE
    assert cost.passes == 0
    with cellar_book.reading() as connection:
        oldest = clock.time - timedelta(days=179)
        assert all(at <= oldest for at, _, _ in snapshots_kept(connection))
    assert not any(finding.broken for finding in cellar_book.check())


def test_a_late_entry_among_many_is_passed_over_twice_and_no_more(
    cellar_book: Book, clock: "Clock", folder: Callable[..., Path], cost: Any
) -> None:
    """One of a hundred comes late: the past before it and the present after it are reckoned once each, and right."""
    first, *rows = toppings(clock, 100, first_day=1).splitlines()
    late = rows.pop(20)
    clock.pass_days(90)
    import_folder(cellar_book, folder(entries="\n".join([first, *rows])))
    before, cost.passes = len(cost.statements), 0
    import_folder(cellar_book, folder(entries="\n".join([first, late])))
    assert cost.passes == 2
    assert len(cost.statements) - before <= ONCE + 20
    assert not any(finding.broken for finding in cellar_book.check())
