"""Costs of five barrels and one bottling, worked out on paper and found to the cent."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.facts import FACTS, read_fact, set_fact
from cooperage.programme.money.angels import angels_by, in_all
from cooperage.programme.money.costed import Costed, costs_of
from cooperage.programme.money.pricing import set_price
from cooperage.programme.money.rows import VALUE_BY, balance_of, one_by_one, sum_of
from cooperage.programme.money.value import CellarValue, value_at
from cooperage.units import ALWAYS

T0 = datetime(2024, 1, 1, 6, tzinfo=UTC)
YEAR = timedelta(days=365.25)
T1, T2 = T0 + YEAR, T0 + YEAR * 1.5
HOUR = timedelta(hours=1)
PRICES = {"B-1": 950.0, "B-2": 600.0, "B-3": 400.0, "B-4": 250.0, "B-5": 125.0}
FOUND = {"B-2": 195_000, "B-3": 197_000, "B-4": 198_000, "B-5": 199_000}


@pytest.fixture
def cellar_on(tmp_path: Path, empty_cellar: Path) -> Callable[[], Book]:
    """Open a cellar of five barrels, two tanks, a keg and two lots at one fixed moment."""
    path = shutil.copy(empty_cellar, tmp_path / "five.db")
    book = Book.open(str(path), lambda: T2 + timedelta(days=30))
    with book.writing() as session:
        for tag in ("T-1", "T-2"):
            session.add_vessel(Vessel("", tag, "tank", 2_000_000, "measured"))
        session.add_vessel(Vessel("", "K-1", "keg", 50_000, "measured"))
        for tag, price in PRICES.items():
            wood = Barrel(wood="oak", cost=price, fills_before=2, acquired_on=T0 - timedelta(days=1))
            session.add_vessel(Vessel("", tag, "barrel", 200_000, "measured", ("Low", "A", 1, 1), barrel=wood))
        session.add_lot(Lot("", "HE", "Heather", cost_per_l=6.0))
        session.add_lot(Lot("", "LI", "Lime", cost_per_l=8.0))
        for key, text in (("currency", "EUR"), ("barrel_fills", "5")):
            set_fact(session.connection, FACTS[key], read_fact(FACTS[key], text))
    for item, amount, size in (
        ("honey", "6.50", ""),
        ("metabisulphite", "15", ""),
        ("bottle", "0.58", "750ml"),
        ("closure", "0.0875", ""),
        ("label", "0.12", ""),
    ):
        set_price(book, item, amount, size=size, since="2023-12-01")
    return lambda: book


@dataclass
class Story:
    """The five barrels' two years, written step by step."""

    book: Book

    def first_year(self) -> None:
        for at, act in (
            (T0 - HOUR, acts.Receive(lot="HE", vessel="T-1", volume=1_100_000)),
            (T0 - HOUR, acts.Receive(lot="LI", vessel="K-1", volume=20_000)),
            *((T0, acts.Fill(vessel=tag, source="T-1")) for tag in PRICES),
            (T0 + YEAR / 2, acts.Top(vessel="B-1", volume=4_000, source="K-1")),
            *((T1, acts.Gauge(vessel=tag, volume=ml)) for tag, ml in FOUND.items()),
        ):
            self.write(at, act)

    def bottling(self) -> None:
        for at, act in (
            (T1, acts.Rack(vessel="B-1", destination="T-2", lees=2_000)),
            *((T1, acts.Rack(vessel=tag, destination="T-2")) for tag in FOUND),
            (T1, acts.Fill(vessel="B-1", source="T-1", volume=100_000)),
            (T1 + HOUR, acts.Addition(vessel="T-2", substance="honey", amount=14_200.0)),
            (T1 + HOUR, acts.Addition(vessel="T-2", substance="metabisulphite", amount=60.0)),
            (T1 + 2 * HOUR, acts.Bottle(vessel="T-2", code="DARK-25", bottles=1_200, bottle=750, loss=2_000)),
        ):
            self.write(at, act)

    def write(self, at: datetime, act: acts.Act) -> None:
        self.book.write(replace(act, at=at, sure=True))


@pytest.fixture
def story(cellar_on: Callable[[], Book]) -> Iterator[Story]:
    """The whole story in a book."""
    written = Story(cellar_on())
    written.first_year()
    written.bottling()
    yield written
    written.book.close()


def of(value: CellarValue, code: str) -> Costed:
    return costs_of(value, code)[0]


def parts(costed: Costed) -> dict[str, int]:
    found: dict[str, int] = {}
    for line in costed.lines:
        found[line.what] = found.get(line.what, 0) + line.cents
    return found


def test_a_barrel_in_its_first_year(story: Story) -> None:
    """By hand, in EUR. 200 L of HE at 6.00 are 1200.00 in each barrel, on the day it is filled.

    B-1 cost 950 and is bought for 5 fills: 190.00 a year, so 95.00 in half a year. Then 4 L had evaporated: of 1295.00
    in 200 L that is 25.90, which stays with the other 196 L. 4 L of LI at 8.00 fill it up: 32.00. In all 1327.00 in
    200 L: 6.635 a litre.
    """
    filled = value_at(story.book, T0 + timedelta(seconds=1))
    assert {tag: of(filled, tag).cents for tag in PRICES} == dict.fromkeys(PRICES, 1200_00)
    topped = value_at(story.book, T0 + YEAR / 2)
    assert parts(of(topped, "B-1")) == {"mead": 1200_00, "topping": 32_00, "wood": 95_00}
    assert of(topped, "B-1").per_l == pytest.approx(663.5)
    took = in_all(angels_by(topped, "month", ALWAYS))
    assert (took.ml, took.cents) == (4_000, 25_90)


def test_what_evaporates_makes_the_rest_dearer(story: Story) -> None:
    """By hand: a year of wood is 120, 80, 50 and 25 in B-2 to B-5, on 1200.00; they lost 5, 3, 2 and 1 of 200 L.

    B-2: 1320.00 in 195 L are 6.7692 a litre, where 200 L would be 6.60. What was taken had cost 5/200 of 1320.00 =
    33.00, 3/200 of 1280.00 = 19.20, 2/200 of 1250.00 = 12.50 and 1/200 of 1225.00 = 6.13 (6.125, half a cent up).
    """
    value = value_at(story.book, T1 - timedelta(microseconds=1))
    assert sum(of(value, tag).cents for tag in FOUND) == 1320_00 + 1280_00 + 1250_00 + 1225_00
    after = value_at(story.book, T1)
    assert {row.what: row.cents for row in angels_by(after, "barrel", ALWAYS)} == {
        "B-1": 25_90,
        "B-2": 33_00,
        "B-3": 19_20,
        "B-4": 12_50,
        "B-5": 6_13,
    }


def test_one_bottling(story: Story) -> None:
    """By hand, in EUR: what was racked into T-2, bottled and left.

    B-1: 1327.00 and half a year's wood, 95.00: 1422.00; its 2 L of lees leave their cost with the 198 L.
    T-2: 1422.00 + 1320.00 + 1280.00 + 1250.00 + 1225.00 = 6497.00 in 198 + 195 + 197 + 198 + 199 = 987 L.
    Honey: 14.2 kg at 6.50 are 92.30, and 10 L (1.42 kg/L); metabisulphite: 60 g at 15.00 a kg are 0.90.
    T-2 now: 6590.20 in 997 L. 2 L are lost on the line and written off: 2/997 of it, 13.22.
    6576.98 in 995 L: 900 L are 900/995 of it, 5949.03; 95 L stay, 627.95.
    On 1,200 bottles go 0.58, 0.0875 and 0.12 each: 696.00 + 105.00 + 144.00 = 945.00.
    The bottling cost 6894.03, 5.745025 a bottle.
    """
    value = value_at(story.book, T1 + 3 * HOUR)
    bottling = of(value, "DARK-25")
    assert bottling.cents == 6894_03
    assert bottling.per_bottle == pytest.approx(574.5025)
    assert parts(bottling)["packaging"] == 945_00
    assert {line.of: line.cents for line in bottling.lines if line.what == "packaging"} == {
        "bottle": 696_00,
        "closure": 105_00,
        "label": 144_00,
    }
    assert of(value, "T-2").cents == 627_95
    assert of(value, "T-2").ml == 95_000
    assert value.lost == {"spilled": 13_22}


def test_everything_adds_up_after_the_second_fill(story: Story) -> None:
    """By hand, in EUR, half a year on: B-1 has 100 L of HE, 600.00, and its second fill bears 95.00 so far.

    In: lots 6600.00 + 160.00; barrels 2325.00; doses 93.20; packaging 945.00. In all 10123.20.
    Left: mead 627.95 + 695.00 + 128.00 (16 L of LI in the keg) = 1450.95; bottles 6894.03; wood 950 - 285 = 665, 480,
    320, 200 and 100: 1765.00. In all 10109.98, and 13.22 was lost.
    """
    value = value_at(story.book, T2)
    assert of(value, "B-1").cents == 695_00
    assert of(value, "B-1").left_in_books == 665_00
    assert value.into == {"lots": 6760_00, "barrels": 2325_00, "doses": 93_20, "packaging": 945_00}
    assert value.left == {"mead": 1450_95, "bottles": 6894_03, "wood": 1765_00}
    assert not value.gaps
    assert balance_of(value).differs == 0


def test_every_list_has_the_same_sum(story: Story) -> None:
    """By kind, vessel, bottling or lot: 8344.98 of mead and bottles, and 1765.00 left in the wood: what is left."""
    value = value_at(story.book, T2)
    by = {name: sum_of(rows(value)).cents for name, rows in VALUE_BY.items()}
    assert set(by.values()) == {1450_95 + 6894_03 + 1765_00}
    assert sum(value.left.values()) == 1450_95 + 6894_03 + 1765_00
    assert sum_of(one_by_one(value)).cents == 1450_95 + 6894_03 + 1765_00


def test_bottles_that_are_sold_broken_taken_back_and_poured_back(story: Story) -> None:
    """By hand: 6894.03 in 1,200 bottles. 500 sold: 2872.51 (2872.5125); of 700 with 4021.52, 12 broke: 68.94 (68.9403).

    Ten sold ones come back with 10/500 of theirs, 57.45 (57.4502). One of the 688 in the first store, with 3952.58, is
    poured back into T-2: 5.75 (5.7450), of which 945.00 / 1200 = 0.79 (0.7875) is around it and lost; the other 4.96
    join the 627.95 there.
    """
    day = T1 + timedelta(days=1)
    for hours, act in (
        (0, acts.Remove(code="DARK-25", bottles=500, went="sold", party="an inn")),
        (1, acts.Remove(code="DARK-25", bottles=12, went="broken")),
        (2, acts.TakeBack(code="DARK-25", bottles=10, went="sold", store="Loft", sure=True)),
        (3, acts.PourBack(code="DARK-25", bottles=1, vessel="T-2")),
    ):
        story.write(day + hours * HOUR, act)
    value = value_at(story.book, T2)
    assert value.out == {"sold": 2872_51 - 57_45}
    assert value.lost == {"spilled": 13_22, "bottles broken": 68_94, "bottles poured back": 79}
    [costed] = costs_of(value, "DARK-25")
    assert costed.stock == (697, 6894_03 - 2872_51 - 68_94 + 57_45 - 5_75)
    assert of(value, "T-2").cents == 627_95 + 4_96
    assert of(value, "T-2").ml == 95_750
    assert balance_of(value).differs == 0


def test_work_by_the_act_is_borne_by_what_it_moved(cellar_on: Callable[[], Book]) -> None:
    """By hand: each barrel bears its filling at 4.00, the topped one 1.50, and T-2 the rackings into it at 25.00.

    The bottling at 120.00 is a tenth of a euro a bottle. Minutes a day at a barrel count for other acts alone: of the
    dips of four barrels, half an hour at 30.00 each.
    """
    book = cellar_on()
    with book.writing() as session:
        set_fact(session.connection, FACTS["work_minutes"], 30.0)
    for item, price in (("filling", "4"), ("topping", "1.50"), ("racking", "25"), ("bottling", "120"), ("hour", "30")):
        set_price(book, item, price, since="2023-12-01")
    story = Story(book)
    story.first_year()
    value = value_at(book, T1)
    assert {tag: parts(of(value, tag)).get("work", 0) for tag in PRICES} == {
        "B-1": 4_00 + 1_50,
        **dict.fromkeys(FOUND, 4_00 + 15_00),
    }
    story.bottling()
    value = value_at(book, T2)
    work = 5_50 + 4 * 19_00 + 5 * 25_00
    assert value.into["work"] == work + 4_00 + 120_00
    bottled = of(value, "DARK-25")
    assert {line.of: line.cents for line in bottled.lines if line.what == "work"}["bottling"] == 120_00
    assert balance_of(value).differs == 0
    set_price(book, "racking", "unknown", since="2023-12-01")
    assert value_at(book, T2).into["work"] == work + 4_00 + 120_00 - 5 * 25_00 + 15_00
    book.close()


@pytest.mark.parametrize(("received", "sold"), [(None, 0), (45.0, 45_00), (2_000.0, 759_48)])
def test_of_a_retired_barrel_what_was_left_of_its_price_is_lost(
    story: Story, received: float | None, sold: int
) -> None:
    """By hand: B-1 cost 950.00 for 5 fills, had one, and a day of the next (0.52): 759.48 is left when it is retired.

    What it was sold for went out, up to that; the rest is lost.
    """
    story.write(T1 + timedelta(days=1), acts.Rack(vessel="B-1", destination="T-1"))
    story.write(T1 + timedelta(days=3), acts.Retire(vessel="B-1", reason="split", received=received))
    value = value_at(story.book, T2)
    barrel = of(value, "B-1")
    assert (barrel.left_in_books, barrel.let_go) == (0, 759_48)
    assert value.out.get("retired barrels sold", 0) == sold
    assert value.lost.get("left of the price of retired barrels", 0) == 759_48 - sold
    assert balance_of(value).differs == 0
