"""The law of value over random histories: to the cent, what came in is what is left, went out and was lost."""

import shutil
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.bottles import bottle_stock
from cooperage.book.facts import FACTS, read_fact, set_fact
from cooperage.programme.money.pricing import set_price
from cooperage.programme.money.rows import VALUE_BY, sum_of
from cooperage.programme.money.value import CellarValue, value_at
from cooperage.programme.money.worth import MEAD, WOOD, MeadCost, allot, share_of
from cooperage.programme.wood.basis import cost_basis
from cooperage.programme.wood.cost import spread_price
from cooperage.programme.wood.history import histories
from tests.book.test_laws import BARRELS, Run, Wish, wishes
from tests.conftest import Clock
from tests.examples import tried_on

if TYPE_CHECKING:
    from collections.abc import Mapping

COSTS = (950.0, 333.33, None, 0.07)


def furnish_with_costs(book: Book, settings: "Mapping[str, str]", priced: list[str]) -> None:
    """Register what the runs of wishes name, with what it cost; one barrel's price is not known."""
    with book.writing() as session:
        for tag, kind, ml in (("T-1", "tank", 1_000_000), ("T-2", "tank", 1_000_000), ("K-1", "keg", 50_000)):
            session.add_vessel(Vessel("", tag, kind, ml, "measured"))
        for tag, cost, ml in zip(BARRELS, COSTS, (225_000, 225_000, 200_000, 50_000), strict=True):
            wood = Barrel(wood="oak", past_kind="wine", fills_before=1, cost=cost)
            session.add_vessel(Vessel("", tag, "barrel", ml, "measured", ("Low", "A", 1, 1), barrel=wood))
        session.add_lot(Lot("", "HEATHER", "Heather", "heather", 1.110, 1.010, 13.0, 6.0))
        session.add_lot(Lot("", "LIME", "Lime blossom", "lime-blossom", 1.120, 1.030, 12.0, 8.337))
        for key, text in settings.items():
            set_fact(session.connection, FACTS[key], read_fact(FACTS[key], text))
    for item in priced:
        set_price(book, item, "13.37", size="750ml" if item == "bottle" else "", since="2024-01-01")


SETTINGS = st.fixed_dictionaries(
    {
        "currency": st.sampled_from(["EUR", "JPY", "KWD"]),
        "barrel_spread": st.sampled_from(["straight", "effect"]),
        "barrel_fills": st.sampled_from(["1", "6"]),
        "work_minutes": st.sampled_from(["0", "7.5"]),
        "written_off": st.sampled_from(["none", "spilled; leak; poured away", "evaporated; lees; sample"]),
    }
)
PRICES = ("honey", "metabisulphite", "bottle", "closure", "label", "hour", "racking", "topping", "bottling")
PRICED = st.lists(st.sampled_from(PRICES), unique=True)


def assert_value_adds_up(value: CellarValue, book: Book) -> None:
    """To the cent, with no cost below zero; every list has the same sum, and the litres are the cellar's own."""
    into, left, out, lost = (sum(each.values()) for each in (value.into, value.left, value.out, value.lost))
    assert into == left + out + lost
    assert all(cents > 0 for _, worth in value.places for cents in worth.parts.values())
    assert all(each.books is None or (each.books.left or 0) >= 0 for each in value.ledger.held.values())
    by = {name: sum_of(rows(value)).cents for name, rows in VALUE_BY.items()}
    assert set(by.values()) == {left}
    assert {s.tag: s.ml for s in book.cellar(value.at) if s.ml} == {e.vessel.tag: e.ml for e in value.vessels}
    with book.reading() as connection:
        stock = {(each.bottling_id, each.place): each.bottles for each in bottle_stock(connection, until=value.at)}
    for each in value.bottlings:
        held = {place: bottles for place, (bottles, _) in each.places.items() if place not in ("filled", "count")}
        assert {(each.id, place): bottles for place, bottles in held.items() if bottles}.items() <= stock.items()
    for _, worth in value.places:
        assert all(ml > 0 for ml in worth.gaps.values())


@pytest.mark.slow
@given(run=st.lists(wishes, min_size=10, max_size=30), settings=SETTINGS, priced=PRICED)
@tried_on(30)
def test_value_in_is_value_left_out_and_lost(
    run: list[Wish],
    settings: dict[str, str],
    priced: list[str],
    tmp_path_factory: pytest.TempPathFactory,
    empty_cellar: Path,
) -> None:
    """At the end and at moments before, whatever was blended, bottled, gauged, struck or written late."""
    path = shutil.copy(empty_cellar, tmp_path_factory.mktemp("law") / "cellar.db")
    book = Book.open(str(path), Clock())
    furnish_with_costs(book, settings, priced)
    done = Run(book).carry_out(run)
    moments = [datetime.fromtimestamp(t, tz=book.now().tzinfo) for t in _moments(done)]
    for at in (None, *moments):
        assert_value_adds_up(value_at(book, at), book)
    _assert_barrels_bear_their_spread(book)
    book.close()


def _moments(done: Run) -> list[float]:
    times = [written.act.at.timestamp() for written in done.written if written.act.at is not None]
    return times[:: max(1, len(times) // 3)]


def _assert_barrels_bear_their_spread(book: Book) -> None:
    """What is left of each price is what the one home of spreads leaves, by the fills of the book's own history."""
    cellar = book.cellar()
    basis, value = cost_basis(book), value_at(book, cellar.at)
    past = histories(book, cellar)
    for each in value.barrels:
        if each.books is None or each.books.price is None or each.vessel.barrel is None:
            continue
        one = 10**basis.decimals
        days = [fill.days(cellar.at.timestamp()) for fill in past[each.vessel.tag].fills]
        spread = spread_price(each.books.price / one, each.vessel.barrel.fills_before, days, basis)
        assert each.books.left == round(spread.left * one)


amounts = st.integers(0, 10**9)


@given(st.dictionaries(st.text(max_size=3), amounts, max_size=6), st.data())
def test_parts_that_are_divided_sum_to_the_whole(weights: dict[str, int], data: st.DataObject) -> None:
    """Largest remainders: each part within one of its exact share, none above its weight, and the sum is exact."""
    whole = sum(weights.values())
    total = data.draw(st.integers(0, whole))
    parts = allot(total, weights)
    assert sum(parts.values()) == (total if whole else 0)
    for key, cents in parts.items():
        assert 0 <= cents <= weights[key]
        assert abs(cents - Fraction(total * weights[key], whole)) < 1


@given(amounts, amounts, st.lists(st.integers(1, 10**6), min_size=1, max_size=8))
def test_what_is_taken_and_what_is_left_is_what_was_there(mead: int, wood: int, draws: list[int]) -> None:
    """However often some is taken out, nothing is made or lost, and the last millilitre takes the last cent along."""
    worth, taken = MeadCost({(MEAD, "HE"): mead, (WOOD, ""): wood}, {("price", "honey"): 1.0}, {"HE": 1.0}), MeadCost()
    there = sum(draws)
    for ml in draws:
        fair = share_of(worth.cents, ml, there)
        portion = worth.take(ml, there)
        assert portion.cents == fair
        taken.join(portion)
        there -= ml
    assert taken.parts.get((MEAD, "HE"), 0) == mead
    assert taken.parts.get((WOOD, ""), 0) == wood
    assert not worth.parts
    assert taken.gaps["price", "honey"] == pytest.approx(1.0)


@given(st.integers(0, 10**9), st.dictionaries(st.sampled_from("abcd"), st.floats(0.001, 1e9), min_size=1))
def test_a_value_by_lot_is_the_value(cents: int, origins: dict[str, float]) -> None:
    worth = MeadCost({(WOOD, ""): cents, (MEAD, "a"): 7}, {}, origins)
    assert sum(worth.by_lot().values()) == worth.cents
