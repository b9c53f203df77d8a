"""Registering from the command line, and the care a vessel gets."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book.store.registry import VESSEL_KINDS
from cooperage.book.writing.doubts import USUAL_CAPACITIES_ML

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Cooperage


@pytest.fixture
def small(empty: "Cooperage") -> Any:
    """A cellar made from nothing by commands alone."""
    for words in (
        ["add", "vessel", "T-1", "--kind", "tank", "--capacity", "1000l", "--measured"],
        ["add", "vessel", "K-1", "--kind", "keg", "--capacity", "13 gal"],
        ["add", "vessel", "B-1", "--capacity", "225l", "--room", "Low", "--wood", "oak", "--fills-before", "0"],
        ["add", "vessel", "B-2", "--capacity", "59 gal"],
        ["add", "lot", "HEATHER", "--original-gravity", "1.110", "--final-gravity", "3 Bx", "--cost-per-litre", "6.2"],
        ["log", "receive", "HEATHER", "T-1", "900"],
        ["log", "fill", "B-1", "--from", "T-1"],
    ):
        done = empty.run(*words)
        assert done.exit_code == 0, done.stderr
    return empty


@pytest.mark.slow
def test_a_cellar_is_made_from_nothing(small: Any) -> None:
    """Unknown stays unknown, units are understood, and the laws hold."""
    barrels = {barrel["tag"]: barrel for barrel in small.json("barrels")}
    assert barrels["B-1"]["fills"] == 1
    assert barrels["B-2"]["fills"] is None
    assert barrels["B-2"]["capacity_l"] == pytest.approx(223.34, abs=0.01)
    assert barrels["B-1"]["litres"] == 225
    assert small.json("check")["ok"]


def test_a_tag_or_a_code_is_given_once(small: Any) -> None:
    """A second vessel or lot of the same name is refused in one line."""
    assert small.refuses("add", "vessel", "b-1", "--capacity", "225l")[0] == 1
    assert small.refuses("add", "lot", "heather")[0] == 1


def test_a_row_of_barrels_is_registered_whole_or_not_at_all(small: Any) -> None:
    """One line of several; a tag that is taken is named, and so is an option that cannot be."""
    made = small.json(
        "add", "barrel", "B-11..B-13", "--capacity", "225l", "--wood", "acacia", "--row", "A", "--bay", "2"
    )
    assert [each["tag"] for each in made] == ["B-11", "B-12", "B-13"]
    assert {each["capacity_l"] for each in made} == {225}
    status, line = small.refuses("add", "vessel", "B-12..B-20", "--capacity", "225l")
    assert status == 1
    assert "'B-12', 'B-13' is in the book already" in line
    assert "B-20" not in {barrel["tag"] for barrel in small.json("barrels")}
    status, line = small.refuses("add", "vessel", "B-20", "--capacity", "225l", "--bay", "left")
    assert status == 2
    assert "--bay" in line


def test_the_care_of_a_barrel_is_told_and_changed(small: Any) -> None:
    """A new barrel is topped weekly until somebody says otherwise; what is not said stays."""
    assert small.json("upkeep", "B-1")["top_every_days"] == 7
    small.json("upkeep", "B-1", "--every", "21", "--va-ceiling", "0.7")
    small.json("upkeep", "B-1", "--topping", "level", "--below", "0.5 gal")
    care = small.json("upkeep", "B-1")
    assert (care["top_every_days"], care["topping"], care["top_below_l"]) == (21, "level", 1.893)
    assert care["va_ceiling_g_l"] == 0.7
    assert small.refuses("upkeep", "B-9")[0] == 2


def test_an_unlikely_capacity_is_asked_back(empty: "Cooperage") -> None:
    """A bare 2250 is litres, as the settings have it: more likely a slip than a barrel; a tank may be as large."""
    status, line = empty.refuses("add", "vessel", "B-1", "--capacity", "2250")
    assert status == 1
    assert "B-1 would hold 2250.0 L, where a barrel holds 5.0 L to 1200.0 L. Is the unit right?" in line
    assert not empty.json("barrels")
    assert empty.run("add", "vessel", "B-1", "--capacity", "2250", "--sure").exit_code == 0
    assert empty.run("add", "vessel", "T-1", "--capacity", "2250", "--kind", "tank").exit_code == 0


def test_every_kind_of_vessel_has_a_usual_capacity() -> None:
    """A new kind fails here until it has one."""
    assert set(USUAL_CAPACITIES_ML) == set(VESSEL_KINDS)


def test_a_barrel_of_no_known_shape_is_refused(empty: "Cooperage") -> None:
    """Whoever is sure: its level could not be calculated, and no list of barrels could be shown."""
    status, line = empty.refuses("add", "vessel", "B-1", "--capacity", "22500", "--sure")
    assert (status, "a barrel holds 1 to 10000 litres, not 22500" in line) == (2, True)
    assert empty.json("barrels") == []


def test_a_new_cellar_is_named(cooperage_at: "Callable[[Path], Cooperage]", tmp_path: "Path") -> None:
    """What is registered under a mistyped name begins a cellar there: the line says where. The next adds to it."""
    place = tmp_path / "mistyped.db"
    first, second = (cooperage_at(place).run("add", "vessel", tag, "--capacity", "225l") for tag in ("B-1", "B-2"))
    assert first.stderr == f"cooperage: a new cellar was begun at {place}\n"
    assert second.stderr == ""


def test_a_cellar_is_begun_only_for_honey_that_can_be_written(
    cooperage_at: "Callable[[Path], Cooperage]", tmp_path: "Path"
) -> None:
    """What is refused leaves no cellar behind; then the same command with what is right begins it."""
    place = tmp_path / "mistyped.db"
    status, line = cooperage_at(place).refuses("lot", "honey", "HB-1", "many")
    assert (status, "many" in line, place.exists()) == (2, True, False)
    assert cooperage_at(place).refuses("lot", "honey", "HB-1", "9kg", "--index", "9")[0] == 2
    assert not place.exists()
    done = cooperage_at(place).run("lot", "honey", "HB-1", "9kg")
    assert (done.exit_code, "a new cellar was begun" in done.stderr) == (0, True)


def test_who_registers_is_kept_and_told(empty: "Cooperage") -> None:
    """By the option, or the name in the settings; a page and scripts tell it."""
    empty.run("add", "vessel", "T-9", "--kind", "tank", "--capacity", "500l", "--hand", "Maren")
    told = empty.json("barrel", "T-9")
    assert told["registered_by"] == "Maren"
    assert told["registered_at"]
    assert " by Maren" in next(line for line in empty.run("barrel", "T-9").stdout.splitlines() if "registered" in line)
