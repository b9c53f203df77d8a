"""The day at a glance: it sums up the rounds and the signs, names the worst first, and adds nothing of its own."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.orders.at_stops import ordered_stops
from cooperage.programme.orders.checked import check_orders
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.sign import Sign, SignState
from cooperage.programme.today.aside import aside_of
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.walk.progress import mark_all, open_walk
from cooperage.programme.walk.stops import stops_of
from cooperage.units import local_day

pytestmark = pytest.mark.slow


@pytest.fixture
def book(demo_file: Path, tmp_path: Path) -> Iterator[Book]:
    made = Book.open(str(shutil.copy(demo_file, tmp_path / "demo.db")))
    yield made
    made.close()


@pytest.fixture
def today(book: Book) -> Today:
    return today_of(book, cellar_now(book))


def _as_texts(found: "tuple[Sign, ...] | list[Sign]") -> list[str]:
    return sorted(f"{sign.vessel} {sign.kind} {sign.why}" for sign in found)


def _ordered_by_today(today: Today) -> set[str]:
    day = local_day(today.cellar.at)
    return {tag for checked in today.orders if checked.order.day <= day for tag in checked.order.tags}


def test_the_walk_adds_up_to_the_rounds_and_the_trouble_to_the_signs(book: Book, today: Today) -> None:
    """Each stop once, each litre once, each sign once."""
    cellar = today.cellar
    due, found = rounds(cellar, rates=loss_rates(book, cellar)), signs(book, cellar)
    ordered = _ordered_by_today(today)
    assert today.walk.stops == len({each.barrel for each in due} | ordered)
    assert today.walk.top_ml == sum(each.expected_ml or 0 for each in due)
    assert sum(keg.gives_ml for keg in today.walk.kegs) == sum(each.expected_ml or 0 for each in due if each.keg)
    beside = sum(sum(work.besides.values()) for work in today.walk.rooms)
    assert beside == sum(each.task is not Task.TOP for each in due)
    assert _as_texts(today.signs) == _as_texts(found)
    assert today.full + len(today.empty) == len([each for each in cellar.barrels if not each.is_retired])


def test_every_sign_is_in_one_row(today: Today) -> None:
    """Its words stand in the row of its vessel, once."""
    told = [(row, why) for row in today.matters for why in row.why]
    assert len(told) == len(today.signs)
    for sign in today.signs:
        rows = [
            row for row, why in told if sign.vessel in row.vessels and why.removeprefix(f"{sign.vessel}: ") == sign.why
        ]
        assert len(rows) == 1


def test_the_demo_names_its_planted_troubles_before_anything_else(today: Today) -> None:
    """The leak, the vinegar (measured and smelled, one row), the low sulphite, the odd dip, the forgotten empty."""
    rows = [(row.vessels, row.word) for row in today.matters if row.state is SignState.TROUBLE]
    assert rows == [
        (("B-025",), "leak"), (("B-028",), "vinegar"), (("B-033",), "SO2 low"), (("B-009",), "dip short"),
        (("B-034",), "empty"),
    ]  # fmt: skip
    assert today.count(SignState.TROUBLE) == 5
    assert [row.state for row in today.matters] == sorted(
        (row.state for row in today.matters), key=tuple(SignState).index
    )


def test_doubtful_sulphite_is_due_and_one_row(today: Today) -> None:
    """Barrels hardly under their floor, and the leaking one among them, are no trouble of their own."""
    [row] = [row for row in today.matters if row.word == "SO2 near its floor"]
    assert row.state is SignState.DUE
    assert len(row.vessels) >= 5
    assert {"B-022", "B-025"} <= set(row.vessels)
    assert row.is_on_walk


def test_stops_are_counted_as_the_rounds_count_them(book: Book) -> None:
    """What this walk has skipped, or could not reach, is still due; neither page counts it as to do."""
    cellar, walk = cellar_now(book), open_walk(book)
    due = rounds(cellar, rates=loss_rates(book, cellar))
    first, second, *_ = dict.fromkeys(each.barrel for each in due)
    for tag, state in ((first, "skipped"), (second, "out of reach")):
        mark_all(book, walk, [(tag, each.task.value) for each in due if each.barrel == tag], state)
    walk = open_walk(book)
    stops = ordered_stops(stops_of(due, walk, cellar), check_orders(book), walk, cellar)
    to_do = [stop for stop in stops if not stop.state]
    now = today_of(book, cellar)
    assert now.walk.stops == len(to_do)
    assert not {first, second} & {stop.tag for stop in to_do if not stop.orders}
    assert now.walk.top_ml < sum(each.expected_ml or 0 for each in due)


def test_to_look_begins_no_walk(book: Book, today: Today) -> None:
    """A walk is begun on the rounds."""
    before = book.change_mark()
    assert today.walk.stops
    today_of(book, cellar_now(book))
    assert book.change_mark() == before


def test_what_stands_aside_agrees_with_its_own_pages(book: Book, today: Today) -> None:
    """The month's losses are those of the losses page; neutral barrels are those that the list of retirement names."""
    from cooperage.programme.losses.ledger import losses_by
    from cooperage.programme.wood.standings import candidates

    aside = aside_of(book, today.cellar, today.rates)
    rows = losses_by(book, "month", aside.month.since)
    assert aside.month.lost_ml == sum(row.taken_ml for row in rows)
    neutral = [each.barrel for each in candidates(book) if any("neutral wood" in why for why in each.why)]
    assert sorted(aside.neutral) == sorted(neutral)
    assert aside.flights == ()
