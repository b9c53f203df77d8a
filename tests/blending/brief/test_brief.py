"""Reading a brief, and what is said when one cannot be read."""

import math
from pathlib import Path
from typing import Any

import pytest

from cooperage.blending.brief.brief import BadBrief, Bound, Objective, read_brief
from cooperage.blending.brief.law_lines import LINES, Line
from cooperage.errors import BadInput
from cooperage.resources import demo_folder

WHOLE_BRIEF = """
litres = { min = 390, max = 410 }
mixing = "liquid"
objective = ["least_cost", "highest:score", "nearest:abv=13.5"]
[limits]
abv = { min = 13.4, max = 13.6 }
sugar_g_l = { target = 60, within = 2 }
va_g_l = { max = 0.6 }
[share]
"group:new oak" = { max = 0.3 }
"B-014" = { min = 0.05 }
[draws]
whole = false
max_stocks = 6
must = ["B-003"]
never = ["B-021"]
"""


def test_whole_brief(tmp_path: Path) -> None:
    """Every key of a brief file is read."""
    path = tmp_path / "BRIEF.toml"
    path.write_text(WHOLE_BRIEF, encoding="utf-8")
    brief = read_brief(path)
    assert brief.litres == Bound(390, 410)
    assert brief.mixing == "liquid"
    assert brief.objective == (
        Objective("least_cost"),
        Objective("highest", "score"),
        Objective("nearest", "abv", 13.5),
    )
    assert brief.limits["sugar_g_l"] == Bound(58, 62, 60)
    assert brief.limits["va_g_l"] == Bound(-math.inf, 0.6)
    assert brief.share == {"group:new oak": Bound(-math.inf, 0.3), "B-014": Bound(0.05, math.inf)}
    assert (brief.draws.whole, brief.draws.max_stocks) == (False, 6)
    assert (brief.draws.must, brief.draws.never) == (("B-003",), ("B-021",))


def test_litres_alone_are_a_brief() -> None:
    """A number of litres is asked for exactly; all else may be left unsaid."""
    brief = read_brief({"litres": 400})
    assert brief.litres == Bound(400, 400, 400)
    assert brief.objective is None


@pytest.mark.parametrize("text", ["least_cost", "highest:score", "lowest:va_g_l", "nearest:abv", "nearest:abv=13.5"])
def test_objective_is_written_as_it_was_read(text: str) -> None:
    """An objective prints as its owner wrote it."""
    objectives = read_brief({"litres": 1, "objective": [text]}).objective
    assert objectives is not None
    assert str(objectives[0]) == text


@pytest.mark.parametrize(
    ("brief", "key", "says"),
    [
        ({}, "litres", "is missing"),
        ({"litres": 400, "strength": 13}, "the brief", "knows no 'strength'; choose from litres, mixing"),
        ({"litres": "400"}, "litres", "must be a number, not '400'"),
        ({"litres": True}, "litres", "must be a number, not True"),
        ({"litres": math.nan}, "litres", "must be a number"),
        ({"litres": 0}, "litres", "above 0"),
        ({"litres": -5}, "litres", "must lie at or above 0, not -5"),
        ({"litres": {"min": 410, "max": 390}}, "litres", "min 410 is above max 390"),
        ({"litres": {"least": 3}}, "litres", "knows no 'least'; choose from min, max"),
        ({"litres": {}}, "litres", "needs a min or a max"),
        ({"litres": 1, "mixing": "stirred"}, "mixing", '"liquid" or "plain"'),
        ({"litres": 1, "objective": "least_cost"}, "objective", "must be a list"),
        ({"litres": 1, "objective": ["cheapest"]}, "objective", "knows no 'cheapest'; choose from least_cost"),
        ({"litres": 1, "objective": ["highest"]}, "objective", "highest:PROPERTY"),
        ({"litres": 1, "objective": ["least_cost:abv"]}, "objective", "knows no 'least_cost:abv'"),
        ({"litres": 1, "objective": ["highest:abv=3"]}, "objective", "only nearest takes a figure"),
        ({"litres": 1, "objective": ["nearest:abv=dry"]}, "objective", "'dry' is not a number"),
        ({"litres": 1, "objective": [3]}, "objective", "must be text"),
        ({"litres": 1, "limits": {"abv": 13}}, "limits.abv", "must be { min, max } or { target, within }, not 13"),
        ({"litres": 1, "limits": {"abv": {"min": 14, "max": 13}}}, "limits.abv", "min 14 is above max 13"),
        ({"litres": 1, "limits": {"abv": {"target": 14, "max": 13}}}, "limits.abv", "knows no 'max'"),
        ({"litres": 1, "limits": {"abv": {"within": 1}}}, "limits.abv", "within needs a target"),
        ({"litres": 1, "limits": {"abv": {"target": 14, "within": -1}}}, "limits.abv.within", "at or above 0"),
        ({"litres": 1, "limits": {"abv": {"min": "13"}}}, "limits.abv.min", "must be a number"),
        ({"litres": 1, "limits": 13}, "limits", "must be a table such as [limits]"),
        ({"litres": 1, "share": {"B-1": {"max": 30}}}, "share.B-1.max", "between 0 and 1, not 30"),
        ({"litres": 1, "draws": {"whole": 1}}, "draws.whole", "true or false"),
        ({"litres": 1, "draws": {"max_stocks": 0}}, "draws.max_stocks", "at or above 1"),
        ({"litres": 1, "draws": {"max_stocks": 2.5}}, "draws.max_stocks", "whole number"),
        ({"litres": 1, "draws": {"must": "B-1"}}, "draws.must", "must be a list"),
        ({"litres": 1, "draws": {"must": ["B-1"], "never": ["B-1"]}}, "draws", "B-1 stands under must and under never"),
        ({"litres": 1, "price_per_l": -2}, "price_per_l", "at or above 0"),
        ({"litres": 1, "bottles": 1}, "bottles", "gives a second time how much is wanted; keep it or litres"),
        ({"bottles": 0}, "bottles", "above 0: a blend of no bottles"),
        ({"bottles": 9, "bottle_ml": 0}, "bottle_ml", "must be above 0"),
        ({"cases": 9, "per_case": 6.5}, "per_case", "whole number"),
        ({"litres": 1, "under": ["17 % vol"]}, "under", "knows no line '17 % vol'; did you mean"),
        ({"litres": 1, "under": ["16 % vol"], "limits": {"abv": {"min": 17}}}, "under", "leaves nothing of limits.abv"),
        ({"litres": 1, "confidence": 95}, "confidence", "between 0.5 and 0.9999, not 95"),
        ({"litres": 1, "draws": {"heel_l": -1}}, "draws.heel_l", "at or above 0"),
        ({"litres": 1, "draws": {"min_draw_l": "5"}}, "draws.min_draw_l", "must be a number"),
        ({"litres": 1, "draws": {"max_partly_full": -1}}, "draws.max_partly_full", "at or above 0"),
        ({"litres": 1, "dosing": {"syrup": {}}}, "dosing", "knows no 'syrup'; choose from honey, water, spirit"),
        ({"litres": 1, "dosing": {"water": {"abv": 3}}}, "dosing.water", "knows no 'abv'; choose from litres, cost"),
        ({"litres": 1, "dosing": {"honey": {"moisture": 80}}}, "dosing.honey.moisture", "between 15 and 30, not 80"),
        ({"litres": 1, "dosing": {"spirit": {"litres": 0}}}, "dosing.spirit.litres", "above 0"),
        ({"litres": 1, "weight": 0}, "weight", "above 0"),
        ({"litres": 1, "rank": 0}, "rank", "at or above 1"),
    ],
)
def test_faults_are_named(brief: dict[str, Any], key: str, says: str) -> None:
    """What is wrong with a brief is said in one line with the key and what is allowed."""
    with pytest.raises(BadBrief) as fault:
        read_brief(brief)
    assert fault.value.key == key
    assert says in str(fault.value)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize("content", [b"litres = ", b"\xff\xfe"])
def test_file_that_is_no_toml(tmp_path: Path, content: bytes) -> None:
    """A file that is not TOML is bad input, in one line."""
    path = tmp_path / "BRIEF.toml"
    path.write_bytes(content)
    with pytest.raises(BadInput, match="is not a TOML file") as fault:
        read_brief(path)
    assert "\n" not in str(fault.value)


def test_file_that_is_not_there(tmp_path: Path) -> None:
    """A missing file is bad input."""
    with pytest.raises(BadInput, match="cannot be read"):
        read_brief(tmp_path / "nowhere.toml")


def test_litres_are_counted_in_bottles_or_cases() -> None:
    """1200 bottles of 750 ml are 900 L; 50 to 60 cases of six half-litre bottles are 150 to 180 L."""
    bottles = read_brief({"bottles": 1200})
    assert (bottles.litres, bottles.bottle_ml) == (Bound(900, 900, 900), 750)
    cases = read_brief({"cases": {"min": 50, "max": 60}, "per_case": 6, "bottle_ml": 500})
    assert (cases.litres, cases.per_case) == (Bound(150, 180), 6)


def test_a_line_of_law_is_a_limit_in_one_word() -> None:
    """Under 16 % vol and below the 8.5 that must not be reached; a limit of one's own that is lower stays."""
    assert read_brief({"litres": 1, "under": ["16 % vol"]}).limits == {"abv": Bound(high=16.0)}
    assert read_brief({"litres": 1, "under": ["8.5 % vol"]}).limits["abv"].high < 8.5
    both = read_brief({"litres": 1, "under": ["16 % vol"], "limits": {"abv": {"min": 13, "max": 15}}})
    assert both.limits["abv"] == Bound(13, 15)


@pytest.mark.parametrize("line", LINES.values(), ids=lambda line: line.name)
def test_a_line_is_reference_with_its_citation(line: Line) -> None:
    """Each is told with where it is written, and never as advice."""
    assert line.citation in line.words()
    assert "not as advice" in line.words()


@pytest.mark.parametrize("path", sorted((demo_folder() / "briefs").glob("*.toml")), ids=lambda path: path.stem)
def test_every_brief_of_the_demo_is_read(path: Path) -> None:
    """The briefs that come with the demo show what a brief can ask."""
    assert read_brief(path).litres.high > 0
