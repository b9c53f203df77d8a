"""Laws for any legal run of entries: late and struck ones included, on both backends.

The run is made of wishes: small generated tuples that become acts on whatever the cellar holds. What the book
refuses is not part of the run; everything else must keep the laws.
"""

from collections import defaultdict
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from cooperage.book import Book, acts
from cooperage.book.cache import kept_states, replayed
from cooperage.book.models import MoveRow, ReckonedRow
from cooperage.book.registry import Registry
from cooperage.book.state import to_text
from cooperage.book.trace import all_bottlings
from cooperage.errors import CooperageError

BEGINNING = datetime(2025, 1, 6, 8, 0, tzinfo=UTC)
BARRELS = ("B-1", "B-2", "B-3", "B-4")
VESSELS = ("T-1", "T-2", "K-1", *BARRELS)

vessel = st.sampled_from(VESSELS)
barrel = st.sampled_from(BARRELS)
volume = st.integers(1, 260_000)
small = st.integers(1, 6_000)

wishes = st.one_of(
    st.builds(
        acts.Receive, lot=st.sampled_from(["HEATHER", "LIME"]), vessel=st.sampled_from(["T-1", "T-2"]), volume=volume
    ),
    st.builds(acts.Fill, vessel=barrel, source=vessel, volume=st.none() | volume),
    st.builds(acts.Top, vessel=barrel, source=st.just("K-1"), volume=small, not_full=st.booleans(), sure=st.just(True)),
    st.builds(
        acts.Rack,
        vessel=vessel,
        destination=vessel,
        volume=st.none() | volume,
        lees=st.integers(0, 5_000),
        empties=st.booleans(),
    ),
    st.builds(acts.Rack, vessel=vessel, destination=st.just(acts.POURED_AWAY), volume=volume),
    st.builds(
        acts.Gauge, vessel=vessel, volume=volume, cause=st.sampled_from(["", "leak", "evaporated"]), sure=st.just(True)
    ),
    st.builds(acts.Gauge, vessel=barrel, headspace=st.floats(0, 300), sure=st.just(True)),
    st.builds(acts.Sample, vessel=vessel, volume=st.integers(1, 1_500)),
    st.builds(acts.Reading, vessel=vessel, property=st.just("abv"), value=st.floats(4, 18)),
    st.builds(acts.Reading, vessel=vessel, property=st.just("sg"), value=st.floats(0.990, 1.06)),
    st.builds(acts.Reading, vessel=vessel, property=st.just("free_so2_mg_l"), value=st.floats(0, 60)),
    st.builds(
        acts.Addition, vessel=vessel, substance=st.just("metabisulphite"), amount=st.floats(0.5, 50), sure=st.just(True)
    ),
    st.builds(
        acts.Addition, vessel=vessel, substance=st.just("honey"), amount=st.floats(50, 9_000), sure=st.just(True)
    ),
    st.builds(acts.Treat, vessel=vessel, treatment=st.sampled_from(["rinse", "stir", "taste"])),
    st.builds(acts.Shift, vessel=vessel, room=st.sampled_from(["Low", "Loft"]), bay=st.integers(1, 9)),
    st.builds(
        acts.Blend,
        vessel=st.just("T-2"),
        draws=st.lists(
            st.tuples(st.sampled_from((*BARRELS, "T-1")), volume), min_size=1, max_size=3, unique_by=lambda d: d[0]
        ).map(tuple),
        doses=st.sampled_from([(), (("spirit", 4_000.0),), (("water", 9_000.0), ("honey", 2_000.0))]),
    ),
    st.builds(
        acts.Bottle, vessel=vessel, code=st.uuids().map(str), bottles=st.integers(1, 250), loss=st.integers(0, 3_000)
    ),
    st.builds(acts.Retire, vessel=barrel, reason=st.just("spent")),
    st.builds(acts.Strike, entry=st.just("last")),
)
# When: so many hours after the one before, or late by a share of all that has passed.
moments = st.one_of(st.none(), st.none(), st.none(), st.floats(0, 1))
runs = st.lists(st.tuples(wishes, moments), min_size=1, max_size=25)
pytestmark = pytest.mark.slow
quick = settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))


class Run:
    """A book in which a run of wishes is carried out; `written` are the legal ones."""

    def __init__(self, book: Book) -> None:
        self.book, self.clock = book, book.now
        self.written = []
        self.book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=800_000))
        self.book.write(acts.Rack(vessel="T-1", destination="K-1", volume=45_000))

    def carry_out(self, run) -> "Run":
        for wish, late in run:
            now = self.clock.pass_days(0.4)
            at = None if late is None else BEGINNING + late * (now - BEGINNING - timedelta(minutes=5))
            try:
                self.written.append(self.book.write(wish if isinstance(wish, acts.Strike) else replace(wish, at=at)))
            except CooperageError:
                continue
        return self

    def states(self, *, anew: bool = False) -> dict[str, str]:
        with self.book.reading() as connection:
            registry = Registry(connection)
            found = replayed(connection, registry) if anew else kept_states(connection, registry)
            return {registry.by_id(key).tag: to_text(state) for key, state in found.items()}


@pytest.fixture
def on_sqlite(fresh_sqlite):
    """Make a run on a fresh furnished book for every example."""
    return lambda: Run(fresh_sqlite())


def assert_litres_conserved(book: Book) -> None:
    """By raw rows and plain sums: all places sum to zero, and the vessels hold what the cellar says they hold."""
    balance: dict[str, int] = defaultdict(int)
    with book.reading() as connection:
        for source, destination, ml in connection.execute(
            select(MoveRow.source_id, MoveRow.destination_id, MoveRow.ml)
        ):
            assert ml > 0
            balance[source] -= ml
            balance[destination] += ml
    assert sum(balance.values()) == 0
    for standing in book.cellar():
        assert standing.ml == balance[standing.vessel.id], standing.tag
        assert 0 <= standing.ml <= standing.vessel.capacity_ml, standing.tag


def assert_all_laws(run: Run) -> None:
    assert_litres_conserved(run.book)
    assert run.states() == run.states(anew=True)
    broken = [(finding.law, finding.broken) for finding in run.book.check() if finding.broken]
    assert broken == []


@given(run=runs)
@quick
def test_any_legal_run_keeps_every_law(on_sqlite, run):
    """Litres conserved, no vessel under nothing or over its brim, replay equals the cache, every law of `check`."""
    assert_all_laws(on_sqlite().carry_out(run))


@given(run=runs, wish=wishes)
@quick
def test_a_strike_restores(on_sqlite, run, wish):
    """Whatever is written and struck again leaves every state, to the letter, as it was."""
    cellar = on_sqlite().carry_out(run)
    before = cellar.states()
    try:
        written = cellar.book.write(wish)
    except CooperageError:
        assert cellar.states() == before
        return
    if isinstance(wish, acts.Strike):
        return
    cellar.book.write(acts.Strike(entry=written.id))
    assert cellar.states() == before
    assert_litres_conserved(cellar.book)


@given(run=runs)
@quick
def test_trace_fractions_sum_to_one(on_sqlite, run):
    """The lots of every bottling sum to one and so do its barrels; a lot is somewhere, all of it."""
    book = on_sqlite().carry_out(run).book
    with book.reading() as connection:
        traces = all_bottlings(connection)
    for traced in traces:
        assert sum(share.fraction for share in traced.lots) == pytest.approx(1, abs=1e-9)
        assert sum(share.fraction for share in traced.barrels) == pytest.approx(1, abs=1e-9)
    heather = book.trace("HEATHER")
    assert sum(share.fraction for share in heather.now) == pytest.approx(1 if heather.litres else 0, abs=1e-9)


@given(run=runs)
@quick
def test_dropping_the_cache_changes_nothing(on_sqlite, run):
    """With the cache gone, the cellar stands as it stood, and the next act is judged as before."""
    cellar = on_sqlite().carry_out(run)
    before = cellar.states()
    with cellar.book.writing() as session:
        session.connection.execute(ReckonedRow.__table__.delete())
    assert cellar.states() == before
    try:
        cellar.book.write(acts.Sample(vessel="K-1", volume=1))
    except CooperageError:
        return
    assert cellar.states() == cellar.states(anew=True)


explicit = st.one_of(
    st.builds(acts.Rack, vessel=vessel, destination=vessel, volume=st.integers(1, 100_000)),
    st.builds(acts.Sample, vessel=vessel, volume=st.integers(1, 1_500)),
    st.builds(
        acts.Reading, vessel=vessel, property=st.sampled_from(["abv", "sg"]), value=st.just(1.01) | st.just(12.0)
    ),
    st.builds(acts.Top, vessel=barrel, source=st.just("K-1"), volume=small, not_full=st.just(True), sure=st.just(True)),
    st.builds(acts.Shift, vessel=vessel, room=st.just("Loft"), bay=st.integers(1, 9)),
)


@given(run=st.lists(explicit, min_size=2, max_size=10), order=st.randoms(use_true_random=False))
@quick
def test_the_order_of_typing_does_not_matter(on_sqlite, run, order):
    """Acts that name their litres may be typed in any order the book allows: the cellar comes out the same."""
    straight, shuffled = on_sqlite(), on_sqlite()
    dated = []
    for number, wish in enumerate(run):
        act = replace(wish, at=BEGINNING + timedelta(days=1 + number))
        straight.clock.time = shuffled.clock.time = BEGINNING + timedelta(days=60)
        try:
            straight.book.write(act)
        except CooperageError:
            continue
        dated.append(act)
    order.shuffle(dated)
    waiting, moved = dated, True
    while waiting and moved:
        again = [act for act in waiting if not _goes(shuffled.book, act)]
        moved, waiting = len(again) < len(waiting), again
    if not waiting:
        assert _held(shuffled.book) == pytest.approx(_held(straight.book))


def _goes(book: Book, act) -> bool:
    try:
        book.write(act)
    except CooperageError:
        return False
    return True


def _held(book: Book) -> dict[str, float]:
    return {
        f"{standing.tag} {name}": value
        for standing in book.cellar(BEGINNING + timedelta(days=90))
        for name, value in (
            ("ml", standing.ml),
            ("abv", standing.value("abv") or 0.0),
            ("sugar", standing.value("sugar_g_l") or 0.0),
            ("wood", standing.mead_days_in_wood),
            *standing.lots.items(),
        )
    }


@given(run=runs)
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_laws_hold_on_postgresql_too(fresh_postgres, run):
    """The same laws on the other backend."""
    cellar = Run(fresh_postgres())
    try:
        assert_all_laws(cellar.carry_out(run))
    finally:
        cellar.book.close()
