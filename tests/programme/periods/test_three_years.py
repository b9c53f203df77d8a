"""Three years of simulated cellars close month by month and as a whole: in millilitres, and as printed."""

import shutil
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.programme.periods.classes import classes_on
from cooperage.programme.periods.closing import close_period, draft_in
from cooperage.programme.periods.differences import differences, differences_in, later_counts
from cooperage.programme.periods.figures import balance, figures_of, sum_of
from cooperage.programme.periods.lines import BOTTLED, BULK, CLOSING, OPENING, ROUNDING
from cooperage.programme.periods.period import code_of, next_span, read_period
from cooperage.programme.periods.postings import stock_of
from cooperage.programme.periods.rounding import RETURN_UNITS
from cooperage.programme.periods.stored import filed_in, filed_periods, standing
from tests.conftest import Clock

MONTHS = 36


@pytest.fixture(scope="module", params=[("gal", 1), ("L", 3)])
def three_years(
    request: pytest.FixtureRequest, periods: Any, empty_cellar: Path, tmp_path_factory: pytest.TempPathFactory
) -> Any:
    """A cellar of three years, each month closed as it was over, and what every closing left out of order."""
    unit, seed = request.param
    book = Book.open(str(shutil.copy(empty_cellar, tmp_path_factory.mktemp("years") / "cellar.db")), Clock())
    spans = [read_period("2024-01", book.now())]
    for _ in periods.simulate(book, MONTHS, seed):
        spans.append(next_span(close_period(book, spans[-1], RETURN_UNITS[unit], hand="Ada", sure=True)))
    yield book, unit
    book.close()


def sums(figures: Any) -> Any:
    """Return what a span has by part, line and class: (ml, printed), carried figures among their own lines."""
    ml: Counter[tuple[str, str, str]] = Counter()
    steps: Counter[tuple[str, str, str]] = Counter()
    for each in figures.figures:
        key = each.part, each.line, each.strength_class
        ml[key] += each.ml
        steps[key] += each.steps
    return {key: (ml[key], steps[key]) for key in ml if ml[key] or steps[key]}


def test_every_month_balances_and_opens_as_the_one_before_it_closed(three_years: Any) -> None:
    book, _ = three_years
    filed = standing(filed_periods(book))
    assert [each.code for each in filed][:1] + [each.code for each in filed][-1:] == ["2024-01", "2026-12"]
    for each in filed:
        assert set(balance(each.figures.figures).values()) == {(0, 0)}, each.code
    for before, after in pairwise(filed):
        closed, opened = (
            {(f.part, f.strength_class): (f.ml, f.steps) for f in each.figures.figures if f.line == line and f.ml}
            for each, line in ((before, CLOSING), (after, OPENING))
        )
        assert closed == opened


def test_the_sum_of_the_months_is_the_three_years_printed(three_years: Any) -> None:
    """With what was carried; against a pass over the whole book that knows of no month."""
    book, unit = three_years
    filed = standing(filed_periods(book))
    with book.reading() as connection:
        assert differences_in(connection) == []
        span = read_period("2024-01-01..2026-12-31", book.now())
        whole, passed = figures_of(connection, span, classes_on(connection, filed[0].start.date()), RETURN_UNITS[unit])
    added = sum_of([each.figures for each in filed])
    assert sums(added) == sums(whole)
    assert set(balance(added.figures).values()) == set(balance(whole.figures).values()) == {(0, 0)}
    assert passed.after == filed[-1].figures.left.totals


def test_the_closing_is_what_the_vessels_hold_by_class(three_years: Any) -> None:
    book, unit = three_years
    last = standing(filed_periods(book))[-1]
    with book.reading() as connection:
        whole, passed = figures_of(connection, last.span, last.figures.classes, RETURN_UNITS[unit])
    held: Counter[str] = Counter()
    for stood in passed.vessels.values():
        held[stood.strength_class] += stood.ml
    stock = {name: ml for (part, name), ml in stock_of(last.figures.left.totals).items() if part == BULK}
    assert {name: ml for name, ml in held.items() if ml} == {name: ml for name, ml in stock.items() if ml}
    assert whole.not_known_ml == held["?"] + stock_of(passed.after).get((BOTTLED, "?"), 0)


def test_it_has_what_it_is_to_show(three_years: Any) -> None:
    """Late entries were carried, classes crossed in every way, and something was rounded; every law holds."""
    book, _ = three_years
    filed = filed_periods(book)
    every = [figure for each in filed for figure in each.figures.figures]
    lines = {figure.line for figure in every}
    assert {f"by {why}, to another class" for why in ("blending", "a measurement", "adding spirit")} <= lines
    assert {"received", "produced", "bottled", "samples", ROUNDING} <= lines
    assert {"sold", "broken", "taken back", "poured back", "poured back from bottles"} <= lines
    assert sum(figure.is_carried for figure in every) > 20
    assert any(late.entry.kind == "strike" for each in filed for late in differences(book, each.code))
    assert not [line for finding in book.check() for line in finding.broken]


def test_what_came_later_is_counted_as_it_is_listed(three_years: Any) -> None:
    book, _ = three_years
    with book.reading() as connection:
        filed = filed_in(connection)
        counts = later_counts(connection, filed)
        assert counts == {each.code: len(differences_in(connection, each.code, filed)) for each in filed}
    assert any(counts.values())


def test_what_a_period_begins_with_gives_what_a_pass_over_all_gives(three_years: Any) -> None:
    book, unit = three_years
    filed = standing(filed_periods(book))
    left = [each.figures.left for each in filed[:-1]]
    span = filed[-1].span
    with book.reading() as connection:
        classes = filed[-1].figures.classes
        short, long = (
            figures_of(connection, span, classes, RETURN_UNITS[unit], left, is_unchanged=kept)[1].after
            for kept in (True, False)
        )
        assert long == filed[-1].figures.left.totals
        assert code_of(span) == "2026-12"
        draft = draft_in(connection, next_span(filed[-1]), RETURN_UNITS[unit])
    if not any(figure.is_carried for figure in filed[-1].figures.figures):
        assert short == long
    assert draft.figures.sum_ml(BULK, OPENING) == filed[-1].figures.sum_ml(BULK, CLOSING)
