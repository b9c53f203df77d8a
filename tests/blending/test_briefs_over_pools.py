"""What a brief asks of its draws, and names that pool and brief must share."""

from typing import Any

import numpy as np
import pandas as pd
import pytest

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief
from cooperage.errors import BadInput


def drawn(answer: Answer) -> dict[str, float]:
    return {draw.stock: draw.litres for draw in answer.draws}


def plain(litres: float | dict[str, float], **rest: Any) -> dict[str, Any]:
    return {"litres": litres, "mixing": "plain", "objective": ["least_cost"], **rest}


def test_share_of_a_group(cellar: pd.DataFrame) -> None:
    """A group can be held to a share: 30 % of new oak at 16 %, the rest from the tank at 10 %, make 11.8 %."""
    answer = solve(
        cellar,
        plain(100, objective=["highest:abv"], share={"group:new oak": {"max": 0.3}, "group:steel": {"min": 0.7}}),
    )
    assert answer.objective == pytest.approx(0.3 * 16 + 0.7 * 10)


def test_share_of_a_stock(cellar: pd.DataFrame) -> None:
    """A stock can be asked for by share."""
    answer = solve(cellar, plain(100, share={"rich": {"min": 0.05}}))
    assert drawn(answer) == {"tank": pytest.approx(95), "rich": pytest.approx(5)}


def test_share_by_any_label(cellar: pd.DataFrame) -> None:
    """Any column of text can be shared by."""
    cellar["wood"] = ["acacia", "acacia", "robur", "robur", "none"]
    answer = solve(cellar, plain(100, share={"wood:acacia": {"min": 0.5}}))
    assert drawn(answer) == {"tank": pytest.approx(50), "dry": pytest.approx(50)}


def test_never(cellar: pd.DataFrame) -> None:
    """A barred stock is not drawn on, and not told as left out either."""
    answer = solve(cellar, plain(100, draws={"never": ["tank"]}))
    assert drawn(answer) == {"dry": pytest.approx(100)}
    assert answer.left_out == ()


def test_must_is_a_real_draw(cellar: pd.DataFrame) -> None:
    """A stock that must be drawn gives its least draw; without one a litre, or one in a hundred of a small blend."""
    assert drawn(solve(cellar, plain(400, draws={"must": ["rich"]})))["rich"] == pytest.approx(1.0)
    assert drawn(solve(cellar, plain(50, draws={"must": ["rich"]})))["rich"] == pytest.approx(0.5)
    cellar["min_litres"] = 25.0
    assert drawn(solve(cellar, plain(400, draws={"must": ["rich"]})))["rich"] == pytest.approx(25.0)


def test_max_stocks(cellar: pd.DataFrame) -> None:
    """Three stocks would be cheapest at 60 g/L; with two, something dearer does."""
    brief = plain(300, limits={"sugar_g_l": {"target": 60}, "abv": {"min": 12}})
    free, two = solve(cellar, brief), solve(cellar, brief | {"draws": {"max_stocks": 2}})
    assert len(two.draws) <= 2
    assert free.objective is not None
    assert two.objective is not None
    assert two.objective >= free.objective


def test_whole_barrels(cellar: pd.DataFrame) -> None:
    """Barrels are drained or left alone: 300 L are one of 200 and one of 100, the cheapest that are."""
    answer = solve(cellar, plain(300, draws={"whole": True}))
    assert drawn(answer) == {"dry": 200.0, "strong": 100.0}


def test_fewest_stocks(cellar: pd.DataFrame) -> None:
    """One tank serves 900 L where barrels would need several."""
    answer = solve(cellar, plain(900, objective=["fewest_stocks"]))
    assert answer.objective == 1
    assert drawn(answer) == {"tank": pytest.approx(900)}


def test_least_leftover(cellar: pd.DataFrame) -> None:
    """Opened stocks are left with as little as can be: 300 L drain one barrel of 200 and one of 100."""
    answer = solve(cellar, plain(300, objective=["least_leftover", "least_cost"]))
    assert answer.objective == pytest.approx(0.0, abs=1e-6)
    assert drawn(answer) == {"dry": pytest.approx(200), "strong": pytest.approx(100)}


def test_most_profit(cellar: pd.DataFrame) -> None:
    """Profit is the price of the blend less the cost of its stocks: 100 L of tank at 10 less 1."""
    answer = solve(cellar, plain(100, objective=["most_profit"], price_per_l=10))
    assert answer.objective == pytest.approx(900.0)


def test_profit_at_prices_of_the_pool(cellar: pd.DataFrame) -> None:
    """Without a price of the blend each stock brings its own."""
    cellar["price_per_l"] = [4.0, 9.0, 4.0, 4.0, 4.0]
    answer = solve(cellar, plain(100, objective=["most_profit"]))
    assert drawn(answer) == {"sweet": pytest.approx(100)}
    assert answer.objective == pytest.approx(600.0)


def test_ranks(cellar: pd.DataFrame) -> None:
    """The second objective is improved without losing any of the first, so that the dear sweet barrel stays."""
    brief = plain(100, limits={"abv": {"target": 12}}, objective=["highest:sugar_g_l", "least_cost"])
    answer = solve(cellar, brief)
    assert answer.objective == pytest.approx(100.0)
    assert drawn(answer) == {"sweet": pytest.approx(100)}


def test_slack_lets_the_second_rank_in(cellar: pd.DataFrame) -> None:
    """With a slack of a tenth the first objective gives way by a tenth."""
    brief = plain(100, objective=["highest:sugar_g_l", "least_cost"])
    answer = solve(cellar, brief | {"slack": 0.1})
    assert answer.objective == pytest.approx(90.0)


def test_nearest_to_a_figure(cellar: pd.DataFrame) -> None:
    """The distance to a figure is made small; what is reached on the dot is at distance 0."""
    answer = solve(cellar, plain(100, objective=["nearest:abv=11", "least_cost"]))
    assert answer.objective == pytest.approx(0.0, abs=1e-6)
    assert answer.blend["abv"] == pytest.approx(11.0, abs=1e-6)
    far = solve(cellar, plain(100, objective=["nearest:abv=20"]))
    assert far.objective == pytest.approx(4.0)


def test_nearest_to_the_middle_of_a_limit(cellar: pd.DataFrame) -> None:
    """Without a figure, nearest means the middle of the limit, or its target."""
    answer = solve(cellar, plain(100, limits={"sugar_g_l": {"min": 20, "max": 40}}, objective=["nearest:sugar_g_l"]))
    assert answer.blend["sugar_g_l"] == pytest.approx(30.0, abs=1e-6)


def test_nearest_litres(cellar: pd.DataFrame) -> None:
    """Litres can be steered too."""
    answer = solve(cellar, plain({"min": 100, "max": 200}, objective=["nearest:litres=180", "least_cost"]))
    assert answer.blend["litres"] == pytest.approx(180.0, abs=1e-5)


def test_mixing_is_chosen_by_the_pool(cellar: pd.DataFrame) -> None:
    """With strength and sugar known, blends are made at true volume: 16 % and water lose some."""
    cellar.loc[cellar["stock"] == "tank", ["abv", "sugar_g_l"]] = 0.0
    answer = solve(cellar, {"litres": 200, "limits": {"abv": {"target": 8}}})
    assert sum(drawn(answer).values()) != pytest.approx(200.0, abs=1e-3)
    assert answer.blend["litres"] == pytest.approx(200.0, abs=1e-6)


def test_ph_is_left_to_be_measured(cellar: pd.DataFrame) -> None:
    """PH never averages: the blend shows none, the answer says so, and a limit on it is refused."""
    cellar["ph"] = 3.5
    answer = solve(cellar, plain(100))
    assert "ph" not in answer.blend
    assert answer.notes == ("pH does not average: measure it again in the blend",)
    with pytest.raises(BadBrief, match="pH does not average"):
        solve(cellar, plain(100, limits={"ph": {"max": 3.6}}))


@pytest.mark.parametrize(
    ("brief", "says"),
    [
        (plain(1, limits={"va_g_l": {"max": 1}}), "limits.va_g_l: the pool has no figure 'va_g_l'"),
        (plain(1, limits={"sugar_gl": {"max": 1}}), "did you mean sugar_g_l?"),
        (plain(1, objective=["highest:score"]), "objective highest:score: the pool has no figure 'score'"),
        (plain(1, objective=["most_profit"]), "the pool has no figure 'price_per_l'"),
        (plain(1, objective=["nearest:abv"]), "nearest:abv has nothing to be near to; write nearest:abv=VALUE"),
        (plain(1, share={"group:new oaks": {"max": 0.3}}), "did you mean group:new oak?"),
        (plain(1, draws={"must": ["dri"]}), "draws.must: the pool has no stock 'dri'; did you mean dry?"),
        (plain(1, draws={"never": ["B-9"]}), "draws.never: the pool has no stock 'B-9'"),
    ],
)
def test_names_the_pool_does_not_have(cellar: pd.DataFrame, brief: dict[str, Any], says: str) -> None:
    """A brief that speaks of what the pool lacks is bad input that names it."""
    with pytest.raises(BadInput, match=r"^brief, ") as fault:
        solve(cellar, brief)
    assert says in str(fault.value)


def test_liquid_needs_strength_and_sugar(cellar: pd.DataFrame) -> None:
    """True volume cannot be asked of a pool without sugar."""
    with pytest.raises(BadBrief, match="needs sugar_g_l in the pool"):
        solve(cellar.drop(columns="sugar_g_l"), {"litres": 1, "mixing": "liquid"})


def test_must_of_an_unknown_stock(cellar: pd.DataFrame) -> None:
    """A stock that must be drawn but cannot be judged is refused with the reason."""
    cellar.loc[0, "cost_per_l"] = np.nan
    with pytest.raises(BadBrief, match="dry cannot be drawn: cost unknown"):
        solve(cellar, plain(100, draws={"must": ["dry"]}))
