"""Laws for any legal run of entries: late and struck ones included, on both backends.

A run is made of wishes: small generated values that become acts on what the cellar holds at that moment, so that most
of them are legal. What the book refuses is not part of the run; everything else must keep the laws.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, select

from cooperage.book import Book, Cellar
from cooperage.book.bottles import bottle_moves, bottle_stock
from cooperage.book.declared import acts
from cooperage.book.replay.latest import LatestStates
from cooperage.book.replay.snapshots import replayed
from cooperage.book.replay.state import to_text
from cooperage.book.store.registry import Registry
from cooperage.book.store.tables import BOTTLE_MOVE, BOTTLING, ENTRY, MOVE, STATE
from cooperage.book.trace import Share
from cooperage.book.writing.write import Written
from cooperage.errors import CooperageError
from tests.examples import tried_on

if TYPE_CHECKING:
    from tests.conftest import Clock

BEGINNING = datetime(2025, 1, 6, 8, 0, tzinfo=UTC)
BARRELS = ("B-1", "B-2", "B-3", "B-4")
VESSELS = ("T-1", "T-2", "K-1", *BARRELS)
KINDS = (
    *("receive", "fill", "top", "top", "rack", "rack away", "gauge", "dip", "sample", "reading", "reading"),
    *(
        "sulphite",
        "honey",
        "treat",
        "look",
        "judge",
        "climate",
        "lot cost",
        "lot end",
        "shift",
        "blend",
        "bottle",
        "bottle",
        "stow",
        "remove",
        "take back",
        "stocktake",
        "pour back",
        "retire",
        "strike",
        "strike older",
    ),
)


@dataclass(frozen=True)
class Wish:
    """What a hand would like to do: a kind, two vessels, a share of what is there, a yes or no, and how late."""

    kind: str
    one: str
    other: str
    barrel: str
    share: float
    yes: bool
    late: float | None

    def act(self, cellar: Cellar, written: list[Written]) -> acts.Act:
        """Make it an act on the cellar as it stands; some are still against the rules."""
        each, barrel = cellar[self.one], cellar[self.barrel]
        there, fits = each.ml, min(each.ml, cellar[self.other].headspace_ml)
        part, into = int(there * self.share), int(fits * self.share)
        match self.kind:
            case "receive":
                lot = "HEATHER" if self.yes else "LIME"
                return acts.Receive(lot=lot, vessel="T-1", volume=int(cellar["T-1"].headspace_ml * self.share))
            case "fill":
                volume = None if self.yes else int(barrel.headspace_ml * self.share)
                return acts.Fill(vessel=self.barrel, source="T-1", volume=volume)
            case "top":
                volume = 1 + int(4000 * self.share)
                return acts.Top(vessel=self.barrel, source="K-1", volume=volume, not_full=self.yes, sure=True)
            case "rack":
                lees = min(3000, there - into) if self.yes else 0
                return acts.Rack(vessel=self.one, destination=self.other, volume=into, lees=lees, empties=self.yes)
            case "rack away":
                return acts.Rack(vessel=self.one, destination=acts.POURED_AWAY, volume=None if self.yes else part)
            case "gauge":
                found = int(each.vessel.capacity_ml * self.share)
                return acts.Gauge(vessel=self.one, volume=found, cause="leak" if self.yes else "", sure=True)
            case "dip":
                return acts.Gauge(vessel=self.barrel, headspace=200 * self.share, sure=True)
            case "sample":
                return acts.Sample(vessel=self.one, volume=1 + int(1400 * self.share))
            case "reading":
                name, value = ("abv", 5 + 12 * self.share) if self.yes else ("sg", 0.99 + 0.06 * self.share)
                return acts.Reading(vessel=self.one, property=name, value=value)
            case "sulphite":
                return acts.Addition(vessel=self.one, substance="metabisulphite", amount=1 + 20 * self.share, sure=True)
            case "honey":
                return acts.Addition(vessel=self.one, substance="honey", amount=50 + 5000 * self.share, sure=True)
            case "treat":
                return acts.Treat(vessel=self.one, treatment="rinse" if there == 0 else "stir")
            case "look":
                return acts.Look(vessel=self.one, level="low", bung="weeping" if self.yes else "", note="seen")
            case "judge":
                verdict, weeks = ("look again", 1 + int(9 * self.share)) if self.yes else ("quarantine", None)
                return acts.Judge(vessel=self.one, verdict=verdict, weeks=weeks)
            case "climate":
                return acts.Climate(room="Loft", temperature=8 + 8 * self.share, humidity=70.0)
            case "lot cost":
                return acts.LotCost(lot="HEATHER", cost_per_l=round(9 * self.share, 2))
            case "lot end":
                return acts.LotEnd(lot="HEATHER", final_sg=1.0 if self.yes else None)
            case "shift":
                return acts.Shift(vessel=self.barrel, room="Loft" if self.yes else "Low", bay=int(9 * self.share))
            case "blend":
                draws = tuple((tag, int(cellar[tag].ml * self.share)) for tag in (self.barrel, "T-1") if cellar[tag].ml)
                return acts.Blend(vessel="T-2", draws=draws, doses=(("spirit", 4000.0),) if self.yes else ())
            case "bottle":
                bottles = int(there * self.share) // 750
                code = f"run {len(written)}"
                return acts.Bottle(vessel=self.one, code=code, bottles=bottles, loss=min(2000, there), empties=self.yes)
            case "stow" | "remove" | "take back" | "stocktake" | "pour back":
                return self._act_on_bottles(cellar, written)
            case "retire":
                return acts.Retire(vessel=self.barrel, reason="spent")
            case "strike older" if written:
                return acts.Strike(entry=written[int(min(1.0, self.share) * (len(written) - 1))].id)
            case _:
                return acts.Strike(entry="last")

    def _act_on_bottles(self, cellar: Cellar, written: list[Written]) -> acts.Act:
        """Do it with the bottles that were filled last, or before them; stores are found as they are."""
        filled = [each.act for each in written if isinstance(each.act, acts.Bottle)]
        last = filled[-1 - int(self.share * 2) % len(filled)] if filled else acts.Bottle(vessel="", code="-", bottles=0)
        some = int(last.bottles * min(1.0, self.share) / 2)
        match self.kind:
            case "stow":
                return acts.Stow(code=last.code, bottles=some, store="Loft" if self.yes else "Low")
            case "remove":
                went = "sold" if self.yes else "tasted"
                return acts.Remove(code=last.code, bottles=some, went=went, source="loft" if self.share > 0.5 else "")
            case "take back":
                return acts.TakeBack(code=last.code, bottles=some // 2, store="Low" if self.yes else "")
            case "stocktake":
                return acts.Stocktake(code=last.code, bottles=some, store="Low" if self.yes else "", sure=True)
            case _:
                some = min(some, cellar[self.one].headspace_ml // 750)
                return acts.PourBack(code=last.code, bottles=some, vessel=self.one, loss=min(200, 750 * some))


wishes = st.builds(
    Wish,
    kind=st.sampled_from(KINDS),
    one=st.sampled_from(VESSELS),
    other=st.sampled_from(VESSELS),
    barrel=st.sampled_from(BARRELS),
    share=st.floats(0, 1) | st.floats(0.9, 1.1),
    yes=st.booleans(),
    late=st.none() | st.none() | st.none() | st.floats(0, 1),  # of all the time that has passed
)
runs = st.lists(wishes, min_size=10, max_size=30)
pytestmark = pytest.mark.slow
quick = tried_on(50)


class Run:
    """A book in which a run of wishes is carried out; `written` are the legal ones."""

    def __init__(self, book: Book) -> None:
        self.book, self.clock = book, cast("Clock", book.now)
        self.written: list[Written] = []
        for act in (
            acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000),
            acts.Rack(vessel="T-1", destination="K-1", volume=45_000),
            acts.Fill(vessel="B-1", source="T-1"),
            acts.Fill(vessel="B-2", source="T-1"),
            acts.Fill(vessel="B-4", source="T-1"),
        ):
            self.book.write(act)

    def carry_out(self, run: list[Wish]) -> "Run":
        """Do what can be done of the wishes, one after the other."""
        for wish in run:
            now = self.clock.pass_days(3)
            at = None if wish.late is None else BEGINNING + wish.late * (now - BEGINNING - timedelta(minutes=5))
            act = wish.act(self.book.cellar(), self.written)
            try:
                self.written.append(self.book.write(act if act.kind == "strike" else replace(act, at=at)))
            except CooperageError:
                continue
        return self

    def states(self, *, anew: bool = False) -> dict[str, str]:
        with self.book.reading() as connection:
            registry = Registry(connection)
            found = replayed(connection, registry) if anew else LatestStates().read(connection, registry)[0]
            return {registry.by_id(key).tag: to_text(state) for key, state in found.items()}


@pytest.fixture
def on_sqlite(fresh_sqlite: Callable[[], Book]) -> Any:
    """Make a run on a fresh furnished book for every example."""
    return lambda: Run(fresh_sqlite())


def assert_litres_conserved(book: Book) -> None:
    """By raw rows and plain sums: all places sum to zero, and the vessels hold what the cellar says they hold."""
    balance: dict[str, int] = defaultdict(int)
    with book.reading() as connection:
        for source, destination, ml in connection.execute(select(MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml)):
            assert ml > 0
            balance[source] -= ml
            balance[destination] += ml
    assert sum(balance.values()) == 0
    for standing in book.cellar():
        assert standing.ml == balance[standing.vessel.id], standing.tag
        assert 0 <= standing.ml <= standing.vessel.capacity_ml, standing.tag


def assert_bottles_conserved(book: Book) -> None:
    """By plain sums at every moment: the bottles filled are in a store or in an outside place, and none is short."""
    with book.reading() as connection:
        moves, stock = bottle_moves(connection), bottle_stock(connection)
    held: dict[tuple[str, str], int] = defaultdict(int)
    for move in moves:
        held[move.code, move.source] -= move.bottles
        held[move.code, move.destination] += move.bottles
        assert held[move.code, move.source] >= 0 or move.source in ("filled", "count")
        filled = -held[move.code, "filled"]
        assert filled == sum(there for (code, place), there in held.items() if code == move.code and place != "filled")
    assert {(each.code, each.place): each.bottles for each in stock} == {key: n for key, n in held.items() if n}


def assert_all_laws(run: Run) -> None:
    assert_bottles_conserved(run.book)
    assert_litres_conserved(run.book)
    assert run.states() == run.states(anew=True)
    broken = [(finding.law, finding.broken) for finding in run.book.check() if finding.broken]
    assert broken == []


@given(run=runs)
@quick
def test_any_legal_run_keeps_every_law(on_sqlite: Any, run: Any) -> None:
    """Litres conserved, no vessel under nothing or over its brim, replay equals the cache, every law of `check`."""
    assert_all_laws(on_sqlite().carry_out(run))


@given(run=runs, wish=wishes)
@quick
def test_a_strike_restores(on_sqlite: Any, run: Any, wish: Any) -> None:
    """Whatever is written and struck again leaves every state, to the letter, as it was."""
    cellar = on_sqlite().carry_out(run)
    before = cellar.states()
    act = wish.act(cellar.book.cellar(), cellar.written)
    try:
        written = cellar.book.write(act)
    except CooperageError:
        assert cellar.states() == before
        return
    if isinstance(act, acts.Strike):
        return
    cellar.book.write(acts.Strike(entry=written.id))
    assert cellar.states() == before
    assert_litres_conserved(cellar.book)


class Followed:
    """Every standing move followed again, by raw rows: what the trace is held against.

    `exact` holds the millilitres of every (origin, last barrel) at every place as fractions, which never leave a rest
    behind; `joined` holds the places that a path from an origin, or from a last barrel, leads to. Origins, barrels and
    places go by the names that a trace tells.
    """

    def __init__(self, book: Book) -> None:
        with book.reading() as connection:
            registry = Registry(connection)
            vessels, self.lots = list(registry.load()), [lot.code for lot in registry.lots.values()]
            names = {vessel.id: vessel.tag for vessel in vessels} | {lot.id: lot.code for lot in registry.lots.values()}
            rows = connection.execute(_STANDING_MOVES).all()
        self.vessels = {vessel.tag for vessel in vessels}
        self.barrels = {vessel.tag for vessel in vessels if vessel.is_barrel}
        self.bottled: dict[str, int] = {}
        self.poured_back: dict[str, int] = defaultdict(int)
        self.steps = list(self._steps(rows, names))
        self.exact = self._parted()
        self.origins = {step.origin for step in self.steps if step.origin}
        self.joined = {start: self._led_to(start) for start in {*self.origins, *self.barrels, *self.lots}}

    def _steps(self, rows: Any, names: Any) -> Iterator["Step"]:
        held: dict[str, int] = defaultdict(int)
        for row in rows:
            source, destination = (names.get(place, place) for place in row[:2])
            if destination == "bottled":
                destination = f"bottling {row.code}"
                self.bottled[destination] = row.ml
            if source == "bottled":
                source = f"bottling {row.poured_back}"
                self.poured_back[source] += row.ml
            origin = names.get(row.lot_id, row.substance)
            if source not in {*self.vessels, *self.bottled} and origin is None and not held[destination]:
                origin = "unknown"
            held[source] -= row.ml
            held[destination] += row.ml
            yield Step(source, destination, row.ml, origin, held[source] == 0)

    def _parted(self) -> dict[str, dict[tuple[str, str | None], Fraction]]:
        there: dict[str, dict[tuple[str, str | None], Fraction]] = defaultdict(lambda: defaultdict(Fraction))
        for step in self.steps:
            goes_to = there[step.destination]
            if step.origin is not None:
                goes_to[step.origin, None] += step.ml
                continue
            is_inside = step.source in self.vessels  # else a gauge found more: more of what is there
            whole = there[step.source] if is_inside or step.source in self.bottled else goes_to
            share = Fraction(step.ml) / sum(whole.values())
            for (origin, last), part in list(whole.items()):
                whole[origin, last] -= part * share if is_inside else 0
                goes_to[origin, step.source if step.source in self.barrels else last] += part * share
        return there

    def _led_to(self, start: str) -> set[str]:
        """Search on from an origin or a barrel, through vessels until they stand empty or another barrel is last."""
        there: set[str] = set()
        vessels = self.vessels - self.barrels if start in self.barrels else self.vessels
        passing_on = {*vessels, *self.bottled}
        for step in self.steps:
            if start in (step.origin, step.source) or step.source in there & passing_on:
                there.add(step.destination)
            if step.empties:
                there.discard(step.source)
        return there

    def litres(self, place: str, *, origin: str | None = None, barrel: str | None = None) -> float:
        """The litres at a place that are of an origin, or rested last in a barrel."""
        parts = self.exact[place].items()
        return (
            sum(float(ml) for strand, ml in parts if origin in (strand[0], None) and barrel in (strand[1], None)) / 1000
        )


class Step(NamedTuple):
    """A move by names: an origin only where a path begins; `empties` where nothing is left behind."""

    source: str
    destination: str
    ml: int
    origin: str | None
    empties: bool


_POURED = BOTTLING.alias()
_MOVED = (MOVE.c.source_id, MOVE.c.destination_id, MOVE.c.ml, MOVE.c.lot_id, MOVE.c.substance)
_STANDING_MOVES = (
    select(*_MOVED, BOTTLING.c.code, _POURED.c.code.label("poured_back"))
    .join(ENTRY, ENTRY.c.id == MOVE.c.entry_id)
    .join(BOTTLING, BOTTLING.c.entry_id == ENTRY.c.id, isouter=True)
    .join(BOTTLE_MOVE, BOTTLE_MOVE.c.entry_id == ENTRY.c.id, isouter=True)
    .join(_POURED, _POURED.c.entry_id == BOTTLE_MOVE.c.bottling_id, isouter=True)
    .where(ENTRY.c.kind != "strike")
    .where(ENTRY.c.id.not_in(select(ENTRY.c.strikes_id).where(ENTRY.c.strikes_id.is_not(None))))
    .order_by(ENTRY.c.happened_at, ENTRY.c.id, MOVE.c.seq)
)


def assert_traced(book: Book) -> None:
    """Both directions of every trace agree with what is followed anew, and name what a path joins and nothing else."""
    followed = Followed(book)
    places = [place for place in followed.exact if place in followed.vessels or place.startswith("bottling ")]
    back = {place: book.trace(place.removeprefix("bottling ")) for place in places}
    for place, traced in back.items():
        led = {start for start, there in followed.joined.items() if place in there}
        _assert_whole(traced.lots, traced.litres)
        _assert_whole(traced.barrels, traced.litres)
        assert {share.name for share in traced.lots} == led - followed.barrels
        assert {share.name for share in traced.barrels} - {None} == led & followed.barrels
        for share in traced.lots:
            assert share.litres == pytest.approx(followed.litres(place, origin=share.name))
        for share in traced.barrels:
            assert share.name is None or share.litres == pytest.approx(followed.litres(place, barrel=share.name))
    for lot in followed.lots:
        onwards = book.trace(lot)
        _assert_whole(onwards.now, onwards.litres)
        assert {share.name for share in onwards.now} == followed.joined[lot]
        for share in onwards.now:
            place = str(share.name)
            left = 1 - followed.poured_back[place] / followed.bottled.get(place, 1)
            assert share.litres == pytest.approx(left * followed.litres(place, origin=lot))
            if share.name in back and left == 1:
                there = [there.litres for there in back[share.name].lots if there.name == lot]
                assert there == [pytest.approx(share.litres, rel=1e-9)]


def _assert_whole(parts: list[Share], litres: float) -> None:
    """The fractions sum to one and the litres to the whole; of nothing there are no parts."""
    assert sum(share.fraction for share in parts) == pytest.approx(1 if litres else 0, abs=1e-9)
    assert sum(share.litres for share in parts) == pytest.approx(litres)


@given(run=runs)
@quick
def test_a_trace_follows_paths_of_moves_and_nothing_else(on_sqlite: Any, run: Any) -> None:
    """Back from every bottling and vessel, on from every lot: named is what a path joins, and the parts sum to one."""
    assert_traced(on_sqlite().carry_out(run).book)


@given(run=runs)
@quick
def test_dropping_the_cache_changes_nothing(on_sqlite: Any, run: Any) -> None:
    """With the cache gone, the cellar stands as it stood, and the next act is judged as before."""
    cellar = on_sqlite().carry_out(run)
    before = cellar.states()
    with cellar.book.writing() as session:
        session.connection.execute(delete(STATE))
    assert cellar.states() == before
    try:
        cellar.book.write(acts.Sample(vessel="K-1", volume=1))
    except CooperageError:
        return
    assert cellar.states() == cellar.states(anew=True)


vessel, share = st.sampled_from(VESSELS), st.integers(1, 60_000)
explicit = st.one_of(
    st.builds(acts.Rack, vessel=vessel, destination=vessel, volume=share),
    st.builds(acts.Sample, vessel=vessel, volume=st.integers(1, 1_500)),
    st.builds(acts.Reading, vessel=vessel, property=st.just("abv"), value=st.floats(5, 17)),
    st.builds(acts.Reading, vessel=vessel, property=st.just("sg"), value=st.floats(0.99, 1.06)),
    st.builds(acts.Shift, vessel=vessel, room=st.just("Loft"), bay=st.integers(1, 9)),
)


@given(run=st.lists(explicit, min_size=6, max_size=14), order=st.randoms(use_true_random=False))
@quick
def test_the_order_of_typing_does_not_matter(on_sqlite: Any, run: list[Any], order: Any) -> None:
    """Acts that name their litres may be typed in any order the book allows: the cellar comes out the same."""
    straight, shuffled = on_sqlite(), on_sqlite()
    straight.clock.time = shuffled.clock.time = BEGINNING + timedelta(days=60)
    dated = [replace(wish, at=BEGINNING + timedelta(days=1 + day)) for day, wish in enumerate(run)]
    waiting = [act for act in dated if _goes(straight.book, act)]
    order.shuffle(waiting)
    moved = True
    while waiting and moved:
        again = [act for act in waiting if not _goes(shuffled.book, act)]
        moved, waiting = len(again) < len(waiting), again
    if not waiting:
        assert _held(shuffled.book) == pytest.approx(_held(straight.book))


def _goes(book: Book, act: Any) -> bool:
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
@settings(max_examples=8)
def test_the_laws_hold_on_postgresql_too(fresh_postgres: Callable[[], Book], run: Any) -> None:
    """The same laws on the other backend."""
    cellar = Run(fresh_postgres())
    try:
        assert_all_laws(cellar.carry_out(run))
        assert_traced(cellar.book)
    finally:
        cellar.book.close()
