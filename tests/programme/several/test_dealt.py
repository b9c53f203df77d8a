"""Several figures in one field are dealt out in order, at every door; another number of them is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared.from_text import BadField
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.dealt import dealt, figures_in
from cooperage.programme.several.wanted import Wanted
from cooperage.units import local_day
from tests.programme.several.conftest import meant
from tests.programme.several.test_sheet import sheet

FIGURES = st.lists(st.integers(1, 9_999), min_size=2, max_size=6)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("200 220", ["200", "220"]),
        ("200, 220,", ["200", "220"]),
        ("200;220", ["200", "220"]),
        ("200 L 220.5 L", ["200 L", "220.5 L"]),
        ("200L, 50 gal", ["200L", "50 gal"]),
        ("50 55 gal", ["50 gal", "55 gal"]),
        ("50 55gal", ["50 gal", "55gal"]),
        ("20 g/hL 25 g / hL", ["20 g/hL", "25 g / hL"]),
        ("-1 −2", ["-1", "−2"]),
        ("200", ["200"]),
        ("200 L", ["200 L"]),
        ("200,5", ["200,5"]),
        ("2 g/100 L", ["2 g/100 L"]),
        ("3 x 500 ml", ["3 x 500 ml"]),
        ("2 x 5 3 x 5", ["2 x 5 3 x 5"]),
        ("Hall 2 3", ["Hall 2 3"]),
        ("", [""]),
    ],
)
def test_a_text_is_parted_into_its_figures(text: str, found: list[str]) -> None:
    """By spaces, semicolons, and commas before a space; what is one figure stays whole."""
    assert figures_in(text) == found


@given(figures=FIGURES, between=st.sampled_from([" ", ", ", ";", "  "]), unit=st.sampled_from(["", " L", "L", " gal"]))
def test_as_many_figures_as_vessels_go_to_them_in_order(figures: list[int], between: str, unit: str) -> None:
    """Each vessel has the one in its place, and the field of all is empty."""
    tags = [f"B-{nth}" for nth in range(len(figures))]
    typed = between.join(f"{figure}{unit}" for figure in figures)
    found = dealt(Wanted("fill", {"volume": typed}), tags)
    assert {tag: own["volume"].replace(" ", "") for tag, own in found.each.items()} == {
        tag: f"{figure}{unit.strip()}" for tag, figure in zip(tags, figures, strict=True)
    }
    assert found.texts["volume"] == ""


def test_a_sheet_shows_what_each_is_dealt(small: Book) -> None:
    """What is typed in the line of one wins; each line has its litres, and they are summed."""
    found = sheet(small, "fill", vessel="B-2,B-3", from_="T-1", volume="20 22.5")
    assert [line.figure for line in found.lines] == ["20.0 L", "22.5 L"]
    assert found.announced.startswith("fill 2 barrels, 42.5 L from T-1")
    found = sheet(small, "fill", {"B-3": {"volume": "5"}}, vessel="B-2,B-3", from_="T-1", volume="20 22.5")
    assert [line.figure for line in found.lines] == ["20.0 L", "5.0 L"]


@pytest.mark.parametrize("typed", ["20 22 24", "20 22, 24 26"])
def test_another_number_of_figures_is_refused_in_one_line(small: Book, typed: str) -> None:
    """It says how many there are, for how many vessels, and what to do; nothing is meant."""
    found = sheet(small, "fill", vessel="B-2,B-3", from_="T-1", volume=typed)
    assert found.missing is not None
    assert found.missing.field == "volume"
    count = len(typed.split())
    assert found.missing.reason == f"has {count} figures for 2 vessels (B-2, B-3); type one for all, or one for each"
    assert found.meant is None


def test_what_was_left_out_is_not_counted(small: Book) -> None:
    """The figures are for those that are left."""
    found = sheet(small, "fill", out=("B-3",), vessel="B-2,B-3,B-4", from_="T-1", volume="20 30")
    assert [line.figure for line in found.lines] == ["20.0 L", "", "30.0 L"]


@pytest.mark.parametrize(
    ("kind", "texts", "field", "values"),
    [
        ("rack", {"vessel": "T-1", "to": "B-2,B-3", "volume": "20 30"}, "volume", [20_000, 30_000]),
        ("top", {"vessel": "B-2,B-3", "from": "K-1", "volume": "1.5 2 L"}, "volume", [1_500, 2_000]),
        ("addition", {"vessel": "T-1,K-1", "substance": "honey", "amount": "200 300 g"}, "amount", [200.0, 300.0]),
        ("reading", {"vessel": "T-1,K-1", "property": "ph", "value": "3.41 3.52"}, "value", [3.41, 3.52]),
        ("sample", {"vessel": "T-1,K-1", "volume": "50 ml 60 ml"}, "volume", [50, 60]),
    ],
)
def test_every_kind_with_a_figure_deals_it_out(
    small: Book, kind: str, texts: dict[str, str], field: str, values: list[float]
) -> None:
    """Filled into several, racked, topped, dosed, measured."""
    found = meant(small, kind, **{("from_" if name == "from" else name): text for name, text in texts.items()})
    assert [getattr(act, field) for act in found.acts.values()] == values


def test_one_vessel_takes_one_figure(small: Book) -> None:
    """Two for one are refused as a volume that is none."""
    with pytest.raises(BadField):
        meant(small, "fill", vessel="B-2", from_="T-1", volume="20 30")


def test_an_order_keeps_what_each_was_dealt(small: Book) -> None:
    """Written beforehand as it will be done."""
    wanted = Wanted("fill", {"vessel": "B-2,B-3", "from": "T-1", "volume": "20 30"})
    order = write_order(small, wanted, local_day(small.now()))
    assert "volume" not in order.texts
    assert {tag: own["volume"] for tag, own in order.each.items()} == {"B-2": "20.0 L", "B-3": "30.0 L"}
