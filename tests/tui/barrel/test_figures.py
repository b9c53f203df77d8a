"""The figures of a vessel's page: columns that stand still, nothing cut, trouble that stands out."""

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.page.figures import FigureState, page_figures
from cooperage.programme.page.past import past_of
from cooperage.tui.barrel.table import FULL, figure_texts
from cooperage.units import Units

if TYPE_CHECKING:
    from tests.tui.conftest import Clock

FAHRENHEIT = Units(temperature="f", gravity="brix")


@pytest.fixture
def measured(book: Book, clock: "Clock") -> Book:
    """B-001 with every figure read, twice, and volatile acidity over its limit."""
    for more in (0.0, 0.01):
        clock.at += timedelta(days=30)
        for name, value in (
            ("free_so2_mg_l", 12.0), ("total_so2_mg_l", 113.0), ("ph", 3.55), ("va_g_l", 0.92), ("ta_g_l", 10.4),
            ("abv", 13.4), ("sugar_g_l", 125.8), ("sg", 1.032), ("temperature_c", 12.3),
        ):  # fmt: skip
            book.write(acts.Reading(vessel="B-001", property=name, value=value * (1 + more), sure=True))
    return book


@pytest.mark.parametrize("width", [58, FULL, 96, 138])
@pytest.mark.parametrize("units", [Units(), FAHRENHEIT, Units(decimal=",")])
async def test_nothing_is_cut_and_points_stand_under_one_another(
    opened: Any, measured: Book, width: int, units: Units
) -> None:
    """Every line has room, with every column full; values stand with their points in one column."""
    standing = cellar_now(measured)["B-001"]
    rows = page_figures(standing, past_of(measured, standing), units)
    async with opened(page="barrel") as pilot:
        texts = [text.plain for text in figure_texts(rows, pilot.app, width, units)]
    assert max(map(len, texts)) <= width
    assert all("…" not in text for text in texts)
    values = [row.value for row in rows if units.decimal in row.value]
    lines = [
        text for text in texts[1:] for row in rows if f" {row.value} " in f"{text} " and units.decimal in row.value
    ]
    assert len(lines) >= len(values) >= 7
    assert len({text.index(units.decimal) for text in lines}) == 1
    assert len({text.index(row.unit) for text in texts for row in rows if row.unit == "mg/L" and row.unit in text}) == 1


def test_what_is_over_its_limit_is_marked_in_words(measured: Book) -> None:
    """Volatile acidity of 0.92 where 0.80 is the most; its chance is never told as certain."""
    standing = cellar_now(measured)["B-001"]
    found = {row.name: row for row in page_figures(standing, past_of(measured, standing))}
    va = found["va_g_l"]
    assert (va.state, va.limit) == (FigureState.TROUBLE, "≤ 0.80")
    assert va.chance.endswith("% over")
    assert found["molecular_so2_mg_l"].limit == "≥ 0.50"
    assert found["ph"].state is FigureState.FINE


def test_molecular_so2_stands_below_free_so2_and_says_at_what_temperature_it_is(measured: Book) -> None:
    names = [row.name for row in page_figures(cellar_now(measured)["B-001"], units=FAHRENHEIT)]
    assert names.index("molecular_so2_mg_l") == names.index("free_so2_mg_l") + 1
    rows = {row.name: row for row in page_figures(cellar_now(measured)["B-001"], units=FAHRENHEIT)}
    assert rows["molecular_so2_mg_l"].past == f"at {rows['temperature_c'].value.removeprefix('~')} °F"


def test_what_is_unknown_is_a_question_mark_and_has_no_unit(book: Book) -> None:
    """Titratable acidity was never measured here: it is not nothing."""
    rows = {row.name: row for row in page_figures(cellar_now(book)["B-001"])}
    assert (rows["ta_g_l"].value, rows["ta_g_l"].unit, rows["ta_g_l"].band) == ("?", "", "")


def test_an_empty_vessel_has_no_figures(book: Book) -> None:
    assert page_figures(cellar_now(book)["B-012"]) == []


def test_figures_keep_their_places_whatever_their_state(measured: Book) -> None:
    """So that one reads down the same column from barrel to barrel."""
    in_trouble, fine = (page_figures(cellar_now(measured)[tag]) for tag in ("B-001", "B-002"))
    names = [row.name for row in fine]
    assert [row.name for row in in_trouble if row.name in names] == names
