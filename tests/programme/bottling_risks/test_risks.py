"""The risks before the first bottle: what they are of, how they are settled, and that passing them is kept."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import NoSuchVessel
from cooperage.book.store.engine import writing
from cooperage.exchange import export_folder, import_folder
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.bottling_risks.mixed import mixed_figure
from cooperage.programme.bottling_risks.passed import (
    NoReason,
    NotARisk,
    RisksPassed,
    TroubleStands,
    pass_in,
    risks_passed,
)
from cooperage.programme.bottling_risks.risk import CAUTION, NO_PROMISE, Risk, RiskState, in_words, risk_lines, risk_row
from cooperage.programme.bottling_risks.risks import NothingToBottle, risks
from cooperage.units import Units

ASKED = {"bottles": {"750": None}, "label": 13.5, "profile": "US"}


@pytest.fixture(scope="module")
def demo_book(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    book = Book.open(str(shutil.copy(demo_file, tmp_path_factory.mktemp("risks") / "cellar.db")))
    yield book
    book.close()


@pytest.fixture(scope="module")
def blend(demo_book: Book) -> dict[str, Risk]:
    """A blend of two barrels whose strength nobody measured since, one of which held whiskey; sugar, living yeast."""
    found = risks(demo_book, ["B-021", "B-027"], {750: 300, 375: None}, label=13.5, profile="US")
    return {each.name: each for each in found}


def test_an_unmeasured_blend_from_a_spirit_barrel_with_living_yeast_is_trouble(blend: dict[str, Risk]) -> None:
    """Both are trouble, with what would settle them; the caution and the disclaimer stand beside the list."""
    strength, yeast = blend["strength"], blend["living yeast"]
    assert strength.state is RiskState.TROUBLE
    assert "whiskey" in strength.why
    assert "measured, not calculated" in strength.why
    assert strength.limit == "class at 14"
    assert strength.chance is not None
    assert 0.3 < strength.chance < 0.6
    assert strength.settled_by.startswith("measure it")
    assert yeast.state is RiskState.TROUBLE
    assert "more than 10 bar" in yeast.why
    for way in ("sorbate with sulphite", "sterile filtration", "pasteurising", "gravity unchanged"):
        assert way in yeast.settled_by
    words = in_words(list(blend.values()))
    assert words[:2] == [CAUTION, NO_PROMISE]
    assert "living yeast, strength" in words[2]


def test_the_list_begins_with_what_is_worst(blend: dict[str, Risk]) -> None:
    """Troubles, then what is due, then what is fine."""
    order = [list(RiskState).index(each.state) for each in blend.values()]
    assert order == sorted(order)


def test_a_mix_is_of_its_vessels(demo_book: Book, blend: dict[str, Risk]) -> None:
    """A figure of the mix lies between those of the vessels, its doubt is no larger, and the volume is their sum."""
    alone = [
        {each.name: each for each in risks(demo_book, [tag], {750: None}, profile="US")} for tag in ("B-021", "B-027")
    ]
    for name in ("strength", "free SO2", "volatile acidity", "molecular SO2"):
        values = sorted(each[name].value or 0.0 for each in alone)
        assert values[0] - 0.01 <= (blend[name].value or 0.0) <= values[1] + 0.01
    cellar = cellar_now(demo_book)
    for figure in ("abv", "free_so2_mg_l", "va_g_l"):
        mixed = mixed_figure(cellar, [cellar["B-021"], cellar["B-027"]], figure)
        doubts = cellar.doubts(["B-021", "B-027"], figure)
        assert 0 < (mixed.sd or 0.0) <= float(doubts.sd.max()) + 1e-9
    assert blend["volume"].value == sum(each["volume"].value or 0 for each in alone)


def test_a_label_is_held_against_tolerance_and_class(demo_book: Book) -> None:
    """27 CFR 4.36; a profile without a known tolerance asks for it."""

    def label(stated: float, profile: str) -> Risk:
        found = risks(demo_book, ["B-013"], {750: None}, label=stated, profile=profile)
        return next(each for each in found if each.name == "label strength")

    assert label(11.5, "US").state is RiskState.FINE
    assert label(13.9, "US").state is RiskState.TROUBLE
    near = label(13.0, "US")
    assert near.chance is not None
    assert near.chance > 0.05
    assert label(12.9, "EU").state is RiskState.TROUBLE
    assert label(11.5, "UK").state is RiskState.DUE
    assert "rules set" in label(11.5, "UK").settled_by


def test_a_limit_that_is_not_known_is_due(demo_book: Book) -> None:
    """The EU's limit for mead was never seen: it is left to the person."""
    found = {each.name: each for each in risks(demo_book, ["B-013"], {750: None}, profile="EU")}
    assert found["total SO2"].limit == "not known"
    assert found["total SO2"].state is RiskState.DUE
    assert "check with your authority" in found["total SO2"].source


def test_more_bottles_than_there_is_mead_are_trouble(demo_book: Book) -> None:
    """And an empty or unknown vessel is refused."""
    found = {each.name: each for each in risks(demo_book, ["B-013"], {750: 400}, profile="US")}
    assert found["volume"].state is RiskState.TROUBLE
    with pytest.raises(NothingToBottle):
        risks(demo_book, ["B-034"], {750: None})
    with pytest.raises(NoSuchVessel):
        risks(demo_book, ["B-999"], {750: None})


def test_what_is_done_settles_it(demo_file: Path, tmp_path: Path) -> None:
    """A reading of strength and a sterile filtration take both troubles away."""
    book = Book.open(str(shutil.copy(demo_file, tmp_path / "cellar.db")))
    book.write(acts.Reading(vessel="B-021", property="abv", value=13.5))
    book.write(acts.Treat(vessel="B-021", treatment="sterile filter"))
    found = {each.name: each for each in risks(book, ["B-021"], {750: None}, profile="US")}
    assert found["strength"].state is not RiskState.TROUBLE
    assert found["living yeast"].state is RiskState.FINE
    assert in_words(list(found.values())) == [NO_PROMISE]
    book.close()


def pass_risks(book: Book, found: list[Risk], reasons: dict[str, str], hand: str = "") -> RisksPassed:
    with book.writing() as session:
        return pass_in(session, ["B-021"], ASKED, found, reasons, hand=hand)


def test_passing_needs_a_reason_for_each_trouble_and_is_kept(
    demo_file: Path, tmp_path: Path, fresh_sqlite: Callable[[], Book]
) -> None:
    """Who, when, which figures stood; it goes out and comes back, and no row is changed."""
    book = Book.open(str(shutil.copy(demo_file, tmp_path / "cellar.db")))
    found = risks(book, ["B-021"], {750: None}, profile="US")
    troubles = {each.name for each in found if each.state is RiskState.TROUBLE}
    assert {"living yeast", "strength"} <= troubles
    with pytest.raises(TroubleStands, match="strength"):
        pass_risks(book, found, {"living yeast": "kept cold"})
    with pytest.raises(NotARisk):
        pass_risks(book, found, {"yeast": "kept cold"})
    with pytest.raises(NoReason):
        pass_risks(book, found, {"strength": " "})
    made = pass_risks(book, found, dict.fromkeys(troubles, "kept in kegs at 2 °C"), hand="Ada")
    with book.reading() as connection:
        assert risks_passed(connection) == [made]
    assert made.figures == [risk_row(each) for each in found]
    assert (made.hand, set(made.reasons)) == ("Ada", troubles)
    for statement in ("UPDATE risks_passed SET hand = 'Bo'", "DELETE FROM risks_passed"):
        with pytest.raises(DBAPIError, match="stands"), writing(book._engine) as connection:
            connection.execute(text(statement))
    export_folder(book, tmp_path / "out")
    book.close()
    other = fresh_sqlite()
    assert import_folder(other, tmp_path / "out" / "risks_passed.csv").counts["risks_passed"] == 1
    assert import_folder(other, tmp_path / "out" / "risks_passed.csv").counts["risks_passed"] == 0
    with other.reading() as connection:
        assert risks_passed(connection) == [made]


@pytest.mark.parametrize(("vessels", "label"), [(["B-021", "B-027"], 13.5), (["T-1"], 13.9), (["T-4"], 12.25)])
def test_with_a_decimal_comma_no_figure_keeps_a_point(demo_book: Book, vessels: list[str], label: float) -> None:
    """Figures, bands, limits and reasons, by the rules of all three; the words of sources stay as they are."""
    comma = Units(decimal=",")
    for profile in ("US", "EU", "UK"):
        found = risks(demo_book, vessels, {750: None}, label=label, profile=profile, units=comma)
        lines = [line for each in found for line in risk_lines(each, comma)]
        assert any("," in line for line in lines)
        assert not [line for line in lines if re.search(r"\d\.\d", line)]


def test_every_line_of_a_risk_fits_a_narrow_terminal(blend: dict[str, Risk]) -> None:
    lines = [line for risk in blend.values() for line in risk_lines(risk)]
    assert max(map(len, lines)) <= 78
    assert [line.split()[0] for line in lines if line[:1] != " "] == [risk.state.value for risk in blend.values()]
    assert any("on the wrong side: " in line for line in lines)
