"""What a rule on a stock costs, reckoned against the same brief without it."""

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner

from cooperage.blending import solve
from cooperage.blending.answer.compared import RuleCost, rule_lines
from cooperage.blending.rules import rule_costs
from cooperage.cli import main


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


DEAR = plain(100, limits={"abv": {"min": 12}}, draws={"must": ["sweet", "tank"], "never": ["dry", "strong"]})


def costs_of(pool: pd.DataFrame, brief: dict[str, Any]) -> dict[tuple[str, str], RuleCost]:
    return {(each.rule, each.stock): each for each in rule_costs(pool, brief, solve(pool, brief))}


def test_what_a_locked_and_a_forbidden_stock_cost(cellar: pd.DataFrame) -> None:
    """99 L at 12 % vol beside a litre of sweet for 3: a third of rich in the tank is 264, of strong 231.

    Of dry they are 97.5 L for 195, and a litre of the tank that must be in it with half a litre of rich, for 4.
    """
    result = costs_of(cellar, DEAR)
    assert result["never", "dry"].cost == pytest.approx(264 - (195 + 4))
    assert result["never", "dry"].words == "Rule 'never dry' costs 0.65 per litre"
    assert result["must", "sweet"].cost == pytest.approx(3 - 8 / 3)
    assert result["never", "strong"].cost == pytest.approx(264 - 231)
    assert (result["must", "tank"].cost, result["must", "tank"].words) == (0.0, "Rule 'must tank' costs nothing")


def test_a_rule_that_the_best_plan_keeps_anyway_costs_nothing(cellar: pd.DataFrame) -> None:
    """The cheapest stock is drawn with the rule or without."""
    (result,) = costs_of(cellar, plain(100, draws={"must": ["tank"]})).values()
    assert (result.cost, result.words) == (0.0, "Rule 'must tank' costs nothing")


def test_what_a_rule_costs_by_another_aim(cellar: pd.DataFrame) -> None:
    """Highest strength without strong and rich is 12; with strong alone 16."""
    brief = plain(100, draws={"never": ["strong", "rich"]}) | {"objective": ["highest:abv"]}
    result = costs_of(cellar, brief)
    assert result["never", "strong"].cost == pytest.approx(4.0)
    assert "raise strength by 4 % vol" in result["never", "strong"].words


@pytest.mark.parametrize(
    ("most", "words"),
    [
        (0, "Rule 'must sweet' is what stands in the way: there is a blend without it"),
        (-1, "Rule 'must sweet' changes nothing: no blend meets this brief without it either"),
    ],
)
def test_a_locked_stock_that_makes_the_brief_impossible(cellar: pd.DataFrame, most: int, words: str) -> None:
    """Sugar in the locked stock clashes with a blend without any; where nothing has so little, the lock is not why."""
    pool = cellar[cellar["stock"] != "dry"] if most < 0 else cellar
    pool = pool[pool["stock"] != "strong"] if most < 0 else pool
    brief = plain(100, limits={"sugar_g_l": {"max": max(0, most)}}, draws={"must": ["sweet"]})
    (result,) = costs_of(pool, brief).values()
    assert (result.cost, result.words) == (None, words)


def test_time_that_is_out_is_said(cellar: pd.DataFrame) -> None:
    """Nothing is made up when there was no time to solve again."""
    brief = plain(100, draws={"must": ["rich"]})
    (result,) = rule_costs(cellar, brief, solve(cellar, brief), time_limit=0.0)
    assert (result.cost, result.words) == (None, "Rule 'must rich' costs what time was too short to find out")


def test_a_brief_without_rules_has_no_costs(cellar: pd.DataFrame) -> None:
    """Nothing to tell."""
    assert costs_of(cellar, plain(100)) == {}


def test_the_dearest_is_told_first_and_the_free_ones_in_one_line(cellar: pd.DataFrame) -> None:
    """As the screen shows them."""
    lines = list(rule_lines(rule_costs(cellar, DEAR, solve(cellar, DEAR))))
    assert [" ".join(line.split()[:4]) for line in lines] == [
        "Rule 'never dry' costs",
        "Rule 'never strong' costs",
        "Rule 'must sweet' costs",
        "Rule 'must tank' costs",
    ]


def test_the_command_tells_them_when_asked(cellar: pd.DataFrame, tmp_path: Path) -> None:
    """In words and as JSON; for one brief at a time."""
    cellar.to_csv(tmp_path / "POOL.csv", index=False)
    brief = tmp_path / "brief.toml"
    brief.write_text('litres = 100\nmixing = "plain"\n[draws]\nnever = ["tank"]\n')
    words = ["blend", "solve", "--pool", str(tmp_path / "POOL.csv"), "--brief", str(brief), "--rules"]
    assert "Rule 'never tank' costs 1 per litre" in (CliRunner().invoke(main, words).stdout)
    result = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)["rules"]
    assert result == [{"rule": "never", "stock": "tank", "cost": pytest.approx(100.0), "words": result[0]["words"]}]
    refused = CliRunner().invoke(main, [*words, "--brief", str(brief.with_name("other.toml"))])
    assert refused.exit_code == 2
