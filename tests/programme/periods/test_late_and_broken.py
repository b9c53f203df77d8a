"""What is filed stays filed: late entries, strikes, corrections; what is changed behind the book's back is found."""

import shutil
from collections.abc import Callable
from contextlib import suppress
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.filed import FILED_LAWS, came_after_filing
from cooperage.book.store.engine import writing
from cooperage.errors import CooperageError
from cooperage.programme.periods.classes import classes_on
from cooperage.programme.periods.closing import (
    NotTheLastPeriod,
    PeriodDoesNotAdjoin,
    PeriodInTheWay,
    PeriodIsFiled,
    PeriodNotOver,
    close_period,
)
from cooperage.programme.periods.differences import differences, differences_in, later_counts
from cooperage.programme.periods.figures import balance
from cooperage.programme.periods.lines import BULK, CLOSING
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.stored import FIRST, filed_in, filed_periods, standing
from cooperage.programme.rules.kept import use_profile
from cooperage.programme.walk.progress import open_walk
from cooperage.units import read_when, show_when
from tests.conftest import Clock

GALLON = RETURN_UNITS["gal"]


def close(book: Book, text_: str, **more: Any) -> Any:
    return close_period(book, read_period(text_, book.now()), GALLON, hand="Ada", **more)


def lived(book: Any) -> Any:
    """January and February 2025 with mead that moves, both closed; it is March."""
    book.write(acts.Sample(vessel="T-1", volume=700, at=read_when("2025-01-20", book.now.pass_days(20))))
    book.now.pass_days(20)
    book.write(acts.Bottle(vessel="T-1", code="FEB", bottles=120, loss=1_500))
    book.write(acts.Addition(vessel="T-1", substance="spirit", amount=20_000.0, sure=True))
    book.now.pass_days(30)
    close(book, "2025-01")
    close(book, "2025-02")
    return book


@pytest.fixture(scope="module")
def lived_file(stocked_cellar: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    path = tmp_path_factory.mktemp("lived") / "cellar.db"
    clock = Clock(stocked_cellar[1])
    book = lived(Book.open(str(shutil.copy(stocked_cellar[0], path)), clock))
    book.close()
    return path, clock.time


@pytest.fixture
def again(lived_file: Any, tmp_path_factory: pytest.TempPathFactory) -> Callable[[], Book]:
    """Open a copy of the cellar with two closed months, as often as it is called."""

    def make() -> Book:
        place = shutil.copy(lived_file[0], tmp_path_factory.mktemp("again") / "cellar.db")
        return Book.open(str(place), Clock(lived_file[1]))

    return make


deeds = st.one_of(
    st.builds(acts.Sample, vessel=st.sampled_from(["T-1", "B-1"]), volume=st.integers(1, 900)),
    st.builds(acts.Top, vessel=st.just("B-1"), source=st.just("K-1"), volume=st.integers(1, 900), sure=st.just(True)),
    st.builds(
        acts.Reading,
        vessel=st.sampled_from(["T-1", "B-1"]),
        property=st.just("abv"),
        value=st.floats(12.0, 17.0),
        sure=st.just(True),
    ),
    st.builds(acts.Rack, vessel=st.just("T-1"), destination=st.just("T-2"), volume=st.integers(1, 9_000)),
    st.builds(acts.Strike, entry=st.just("last"), sure=st.just(True)),
)


@settings(max_examples=12)
@given(late=st.lists(st.tuples(deeds, st.floats(1.0, 80.0)), min_size=1, max_size=4))
def test_a_late_entry_moves_no_filed_figure(again: Callable[[], Any], late: Any) -> None:
    """It is listed, and the next period takes it on, so that every class balances there too."""
    book = again()
    filed = filed_periods(book)
    for act, days_ago in late:
        object.__setattr__(act, "at", None if isinstance(act, acts.Strike) else book.now() - timedelta(days=days_ago))
        with suppress(CooperageError):
            book.write(act)
    assert filed_periods(book) == filed
    found = differences(book)
    ends = filed[-1].end
    for each in found:
        assert each.entry.happened_at < ends <= each.entry.written_at
    book.now.pass_days(40)
    march = close(book, "2025-03", sure=True)
    assert filed_periods(book)[:-1] == filed
    assert differences(book) == []
    assert {late.carried_in for each in filed for late in differences(book, each.code)} <= {"2025-03"}
    assert set(balance(march.figures.figures).values()) == {(0, 0)}
    held = sum(standing.ml for standing in book.cellar(march.span.last))
    assert march.figures.sum_ml(BULK, CLOSING) == held
    carried = sum(each.sign * each.ml for each in march.figures.figures if each.is_carried and each.part == BULK)
    assert carried == sum(each.net_ml for each in found)
    assert not [line for law in FILED_LAWS for line in _broken(book, law)]
    book.close()


def _broken(book: Book, law: Any) -> Any:
    with book.reading() as connection:
        return law(connection)[1]


def test_it_is_closed_and_corrected_on_either_database(cellar_book: Any) -> None:
    book = lived(cellar_book)
    january, february = filed_periods(book)
    assert (january.figures.sum_ml(BULK, "samples"), february.figures.sum_ml(BULK, "bottled")) == (700, 90_000)
    assert {each.strength_class for each in february.figures.figures if each.line == CLOSING} == {"<=14", ">14 <=16"}
    assert february.figures.sum_ml(BULK, "by adding spirit, to another class") == 562_410
    sampled = next(each for each in _entries(book) if each.kind == "sample")
    book.write(acts.Strike(entry=sampled.id, sure=True))
    book.write(acts.Sample(vessel="T-1", volume=250, at=read_when("2025-02-02", book.now())))
    assert [each.lines for each in differences(book)] == [(("samples", -700),), (("samples", 250),)]
    with book.reading() as connection:
        assert came_after_filing(connection) == ("2025-02", 2)
    corrected = close(book, "2025-02", correct=True, note="a sample was forgotten")
    assert (corrected.code, corrected.corrects) == ("2025-02/2", "2025-02")
    assert filed_periods(book)[:2] == [january, february]
    assert standing(filed_periods(book)) == [january, corrected]
    carried = {each.line: each.ml for each in corrected.figures.figures if each.is_carried}
    assert carried == {"samples": -700}
    assert corrected.figures.sum_ml(BULK, "samples") == 250
    assert differences(book) == []
    assert [each.carried_in for each in differences(book, "2025-01")] == ["2025-02/2"]
    assert close(book, "2024-12", sure=True).figures.sum_ml(BULK, CLOSING) == 0
    with book.reading() as connection:
        filed = filed_in(connection)
        itself = {each.code: each.code if "/" in each.code else f"{each.code}{FIRST}" for each in filed}
        listed = {code: len(differences_in(connection, named, filed)) for code, named in itself.items()}
        assert later_counts(connection, filed) == listed
        assert came_after_filing(connection) is None
    assert not [line for finding in book.check() for line in finding.broken]


def _entries(book: Book) -> Any:
    from cooperage.book.log import entries

    with book.reading() as connection:
        return entries(connection)


def test_new_class_lines_take_over_at_the_beginning_of_a_period(again: Callable[[], Any]) -> None:
    from cooperage.book.facts import fact_named, set_fact

    book = again()
    with book.writing() as session:
        set_fact(session.connection, fact_named("class_lines"), (8.5, 22.0))
    book.now.pass_days(30)
    march = close(book, "2025-03")
    lines = {(each.line, each.strength_class): each.ml for each in march.figures.figures if each.part == BULK}
    weak, strong = lines["opening", "<=14"], lines["opening", ">14 <=16"]
    assert lines["by new class lines, from another class", ">8.5 <=22"] == weak + strong
    assert lines[CLOSING, ">8.5 <=22"] == weak + strong
    assert set(balance(march.figures.figures).values()) == {(0, 0)}
    assert march.figures.classes.rules == "the cellar's own class lines"
    assert not [line for law in FILED_LAWS for line in _broken(book, law)]


def refusal(work: Callable[[], object], kind: type[CooperageError]) -> str:
    with pytest.raises(kind) as caught:
        work()
    return str(caught.value)


def test_what_cannot_be_closed_says_why(again: Callable[[], Any]) -> None:
    book = again()
    assert refusal(lambda: close(book, "2025-03"), PeriodNotOver) == (
        "2025-03 is not over before 2025-04-01 00:00; close it then"
    )
    assert refusal(lambda: close(book, "2025-02"), PeriodIsFiled) == (
        f"2025-02 was filed {book.now():%Y-%m-%d} and stays as it is; what came later goes into the next period, or "
        "--correct files a correction of it"
    )
    assert refusal(lambda: close(book, "2025-01", correct=True), NotTheLastPeriod) == (
        "only the last filed period can be corrected: the last is 2025-02; differences of those before it are carried "
        "into the next"
    )
    book.now.pass_days(70)
    assert refusal(lambda: close(book, "2025-04"), PeriodDoesNotAdjoin) == (
        "2025-04 does not begin where 2025-02, the last filed period, ends; the next to close is 2025-03, or 2024-12 "
        "before the first"
    )
    with book.writing() as session:
        from cooperage.book import Lot

        session.add_lot(Lot("", "WILD", "Wild"))
    book.write(acts.Receive(lot="WILD", vessel="T-2", volume=50_000, at=read_when("2025-03-10", book.now())))
    walk = open_walk(book)
    assert refusal(lambda: close(book, "2025-03"), PeriodInTheWay) == (
        "in the way of closing 2025-03: 50.0 L of which the strength is not known (T-2 50.0 L): measure it"
    )
    begun = show_when(walk.began_at)
    book.now.pass_days(70)
    months = f"2025-03..{book.now() - timedelta(days=31):%Y-%m-%d}"
    found = refusal(lambda: close(book, f"2025-03-01..{months[9:]}"), PeriodInTheWay)
    assert f"the walk begun {begun} is not ended; 50.0 L of which the strength" in found


DROPPED = ("period_no_update", "filed_figure_no_update", "filed_entry_no_delete", "filed_entry_no_update")
FEBRUARY = "(SELECT id FROM period WHERE code = '2025-02')"
BROKEN = [
    (
        "a filed period balances",
        f"UPDATE filed_figure SET ml = ml + 100 WHERE line = 'samples' AND period_id <> {FEBRUARY}",
        ["period 2025-01: bulk, class <=14: the lines are -100 mL more than what is there at the end"],
    ),
    (
        "a filed period balances",
        f"UPDATE filed_figure SET printed = '0.9' WHERE line = 'samples' AND period_id <> {FEBRUARY}",
        ["period 2025-01: bulk, class <=14: the lines are -0.7 more, as printed, than the end"],
    ),
    (
        "filed periods adjoin",
        f"UPDATE filed_figure SET ml = ml + 1 WHERE line = 'opening' AND part = 'bulk' AND period_id = {FEBRUARY} "
        "AND strength_class = '<=14'",
        ["period 2025-02: bulk, class <=14 opens with 899301 mL, and 2025-01 closed with 899300 mL"],
    ),
    (
        "filed periods adjoin",
        "UPDATE period SET starts_at = '2025-02-03 00:00:00.000000' WHERE code = '2025-02'",
        ["period 2025-02 begins 2025-02-03 00:00, where none ends"],
    ),
    (
        "a filed period is as it was filed",
        "UPDATE period SET note = 'paid' WHERE code = '2025-02'",
        ["period 2025-02 is not as it was filed: put the last backup in its place"],
    ),
    (
        "a filed period follows from what it counts",
        "DELETE FROM filed_entry WHERE entry_id = (SELECT id FROM entry WHERE kind = 'sample')",
        [
            "period 2025-01 closes with 899300 mL in bulk, and its entries leave 900000 mL",
            "period 2025-02 closes with 827410 mL in bulk, and its entries leave 828110 mL",
        ],
    ),
    (
        "a filed period follows from what it counts",
        "UPDATE filed_entry SET period_id = (SELECT id FROM period WHERE code = '2025-01') "
        f"WHERE period_id = {FEBRUARY} AND entry_id = (SELECT id FROM entry WHERE kind = 'bottle')",
        None,
    ),
]


@pytest.mark.parametrize(("law", "statement", "message"), BROKEN)
def test_check_names_what_was_changed_in_a_filed_period(
    again: Callable[[], Any], law: str, statement: str, message: list[str] | None
) -> None:
    """The guards are dropped and one value is changed: the law it breaks names where."""
    book = again()
    with writing(book._engine) as connection:
        for name in DROPPED:
            connection.execute(text(f"DROP TRIGGER {name}"))
        connection.execute(text(statement))
    found = {finding.law: finding.broken for finding in book.check()}
    if message is None:
        [bottled] = [each.id for each in _entries(book) if each.kind == "bottle"]
        assert f"period 2025-01 counts entry {bottled[:16]}, which happened after it" in found[law]
    else:
        assert found[law] == message
    assert len(found["the guards stand"]) == len(DROPPED)
    book.close()


def test_the_database_itself_keeps_what_is_filed(cellar_book: Any) -> None:
    """Raw SQL on either backend changes nothing, takes nothing away and adds nothing."""
    from sqlalchemy.exc import DBAPIError

    book = lived(cellar_book)
    before = filed_periods(book)
    attacks = [
        "UPDATE period SET note = 'x'",
        "UPDATE filed_figure SET ml = 0",
        "UPDATE filed_entry SET entry_id = entry_id",
        *(f"DELETE FROM {table}" for table in ("filed_figure", "filed_entry", "period")),
        f"INSERT INTO filed_figure SELECT period_id, 99, part, line, strength_class, sign, is_carried, ml, printed "
        f"FROM filed_figure WHERE place = 1 AND period_id = {FEBRUARY}",
        f"INSERT INTO filed_entry SELECT {FEBRUARY}, id FROM entry WHERE happened_at < '2025-01-31' LIMIT 1",
    ]
    for attack in attacks:
        with pytest.raises(DBAPIError, match="stands as it was filed"), writing(book._engine) as connection:
            connection.execute(text(attack))
        assert filed_periods(book) == before, attack


@pytest.mark.parametrize(
    ("profile", "strengths"),
    [
        ("US", {0.4: "<0.5", 16.0: ">=0.5 <=16", 16.1: ">16 <=21", 24.0: ">21 <=24", 24.1: ">24"}),
        ("UK", {1.2: "<=1.2", 3.49: ">1.2 <3.5", 3.5: ">=3.5 <8.5", 8.5: ">=8.5 <=22", 22.1: ">22"}),
    ],
)
def test_the_rules_that_the_cellar_chose_give_the_classes(
    again: Callable[[], Any], profile: str, strengths: dict[float, str]
) -> None:
    """26 USC 5041(b) and the UK bands, as the profiles have them; a line is of the class that its rule has it in."""
    book = again()
    use_profile(book, profile, since=date(2025, 3, 1))
    with book.reading() as connection:
        classes, before = (classes_on(connection, date(2025, month, 1)) for month in (3, 2))
    assert {abv: classes.of(abv) for abv in strengths} == strengths
    assert (classes.of(None), before.of(15.0)) == ("?", ">14 <=16")
    assert type(classes).from_kept(classes.as_kept()) == classes
    book.now.pass_days(30)
    march = close(book, "2025-03")
    assert march.figures.classes.rules == f"tax classes of {profile} on 2025-03-01"
    assert set(balance(march.figures.figures).values()) == {(0, 0)}
