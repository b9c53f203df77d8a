"""Sulphite upkeep: the spread in a lot, the barrels under the floor, and doses at the real volume."""

import json
import re
from datetime import timedelta
from typing import Any

import pytest
from click.testing import CliRunner

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.cli.walk.sulphite import sulphite_command
from cooperage.liquid import molecular_so2
from cooperage.liquid.hazards import CAUTION, DECLARED_FROM
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.upkeep.sulphite import dose, low_words, sulphite_by_lot
from cooperage.programme.upkeep.verdicts import under_floor


@pytest.fixture
def three(cellar_book: Book) -> Any:
    """B-1 sound, B-2 low, B-3 never read; all of HEATHER."""
    for tag in ("B-2", "B-3"):
        cellar_book.write(acts.Fill(vessel=tag, source="T-1"))
    for tag, free in (("B-1", 40.0), ("B-2", 12.0)):
        cellar_book.write(acts.Reading(vessel=tag, property="free_so2_mg_l", value=free))
        cellar_book.write(acts.Reading(vessel=tag, property="ph", value=3.5))
    return cellar_book


def place(book: Any) -> str:
    """The path or URL by which a command opens a book."""
    return str(book.file or book._engine.url.render_as_string(hide_password=False))


def test_a_lot_is_told_by_its_lowest_middling_and_highest_barrel(three: Any) -> None:
    """12 and 40 mg/L free: 12, 26 and 40; the low one is named."""
    (heather,) = sulphite_by_lot(three.cellar())
    assert heather.free is not None
    assert heather.molecular is not None
    assert (heather.lot, heather.free.low, heather.free.middle, heather.free.high) == ("HEATHER", 12.0, 26.0, 40.0)
    assert heather.under_floor == ("B-2",)
    assert heather.molecular.low == pytest.approx(float(molecular_so2(12.0, 3.5, 13.0, 15.0)), rel=0.02)
    assert [each.barrel for each in heather.doses] == ["B-3", "B-1", "B-2"]


def test_the_dose_brings_the_barrel_to_its_target(three: Any) -> None:
    """Stoichiometry: g x 576 mg, 60 % of it free, in 225 L, on top of 12 mg/L, gives 0.5 mg/L molecular."""
    found = dose(three.cellar()["B-2"])
    assert found.grams is not None
    free = 12.0 + found.grams * 576.2 * 0.6 / 225
    abv = three.cellar()["B-2"].value("abv")
    assert float(molecular_so2(free, 3.5, abv, 15.0)) == pytest.approx(0.5, rel=1e-3)
    assert dose(three.cellar()["B-1"]).grams == 0.0


def test_thirty_mg_l_in_225_litres_are_11_7_grams(three: Any) -> None:
    """57.62 % of metabisulphite is SO2 (stoichiometry), with nothing binding; and twice that where half binds."""
    standing = three.cellar()["B-2"]
    target = float(molecular_so2(42.0, 3.5, standing.value("abv"), 15.0))
    assert dose(standing, target, binding=0.0).grams == pytest.approx(11.7, abs=0.05)
    assert dose(standing, target, binding=0.5).grams == pytest.approx(23.4, abs=0.1)


def test_a_large_dose_is_marked(three: Any) -> None:
    """The usual is 20 g for 225 L; above 30 g one is asked again, and no dose is named that no sane hand would add."""
    standing = three.cellar()["B-2"]
    assert not dose(standing, 0.5).is_large
    assert dose(standing, 2.0).is_large
    three.write(acts.Reading(vessel="B-2", property="ph", value=4.8, sure=True))
    absurd = dose(three.cellar()["B-2"], 0.8)
    assert (absurd.grams, absurd.is_large) == (None, True)


def test_what_is_not_known_is_not_dosed(three: Any) -> None:
    """Never read: no grams, and not called low."""
    found = dose(three.cellar()["B-3"])
    assert (found.free_mg_l, found.grams, found.is_low) == (None, None, False)


def test_the_command_tells_lots_doses_and_the_caution(three: Any) -> None:
    """As JSON for scripts, and as a sheet for the cellar; read in January, both barrels are low by now."""
    result = CliRunner().invoke(sulphite_command, ["--lot", "heather", "--target", "0.8", "--json"], obj=place(three))
    assert result.exit_code == 0, result.output
    (heather,) = json.loads(result.output)["lots"]
    assert heather["under_floor"] == ["B-1", "B-2"]
    assert [each["text"] for each in json.loads(result.output)["cautions"]] == [CAUTION]
    assert json.loads(result.output)["reference"] == DECLARED_FROM
    sheet = CliRunner().invoke(sulphite_command, [], obj=place(three)).output
    assert "under the floor: B-1, B-2" in sheet
    assert CAUTION in sheet
    assert DECLARED_FROM in sheet


def test_a_dose_has_the_doubt_of_what_is_free_now(three: Any, clock: Any) -> None:
    """Measured today a dose is one figure; forty days on it has a span, and more is wanted since some of it went."""
    fresh = dose(cellar_now(three)["B-2"])
    assert fresh.grams is not None
    clock.pass_days(40)
    later = dose(cellar_now(three)["B-2"])
    assert later.grams is not None
    assert later.grams_low is not None
    assert later.grams_high is not None
    assert later.grams > fresh.grams
    assert later.grams_low < later.grams < later.grams_high
    assert later.grams_high - later.grams_low > 1.0
    assert not later.measure_first


def test_a_dose_that_may_be_for_nothing_says_to_measure_first(three: Any, clock: Any) -> None:
    """40 mg/L at pH 3.5 is well above the target; before it may just have come down to it, a reading decides."""
    assert not dose(cellar_now(three)["B-1"]).measure_first
    for _ in range(40):
        clock.pass_days(7)
        found = dose(cellar_now(three)["B-1"])
        if found.measure_first:
            break
    assert (found.grams, found.grams_low) == (0.0, 0.0)
    assert found.grams_high
    while not found.grams:
        clock.pass_days(7)
        found = dose(cellar_now(three)["B-1"])
        assert found.measure_first


def test_under_its_floor_a_barrel_is_with_a_chance_and_since_the_day_it_fell(three: Any, clock: Any) -> None:
    """As likely as not on the day its course crosses the floor, which is no reading day; B-2 was under when read."""
    read = three.cellar()["B-2"].last("free_so2_mg_l")
    assert under_floor(cellar_now(three)["B-1"]) is None
    while (low := under_floor(cellar_now(three)["B-1"])) is None:
        clock.pass_days(7)
    words, since = low
    assert since is not None
    assert timedelta(0) <= clock.time - since <= timedelta(days=8)
    assert re.fullmatch(r"molecular SO2 0\.\d\d mg/L, under 0\.50 \([56]\d % sure\)", words)
    assert "maybe low" in low_words(dose(cellar_now(three, at=since - timedelta(days=3))["B-1"]))
    assert low_words(dose(cellar_now(three)["B-1"])).startswith("low (")
    words, since = under_floor(cellar_now(three)["B-2"]) or ("", None)
    assert words.endswith(" (over 99 % sure)")
    assert since is not None
    assert read is not None
    assert since.date() == read.date()


@pytest.mark.parametrize(
    ("asked", "line"),
    [
        (["--lot", "XX"], "there is no lot 'XX'; the lots are HEATHER, LIME"),
        (["--target", "20"], "No dose that is safe to add reaches the target; name a lower one with --target"),
    ],
)
def test_what_cannot_be_dosed_is_said_in_a_line(three: Any, asked: list[str], line: str) -> None:
    """A lot that is not there is no empty answer, and a target out of reach is no full cellar."""
    result = CliRunner().invoke(sulphite_command, asked, obj=place(three))
    assert line in (result.output if result.exception is None else str(result.exception))
