"""The readings' doubt carried into the blend: chances told, kept, and checked by throwing dice."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import BadBrief
from cooperage.blending.from_cellar import pool_of
from cooperage.book import Book
from cooperage.liquid import mix

THROWS = 200_000


@pytest.fixture
def unsure() -> pd.DataFrame:
    """Return three meads whose readings are unsure, the cheap one by most."""
    return pd.DataFrame(
        {
            "stock": ["cheap", "middle", "sure"],
            "litres": 400.0,
            "abv": [14.0, 12.0, 11.0],
            "abv_u": [0.4, 0.15, 0.05],
            "sugar_g_l": [30.0, 60.0, 90.0],
            "sugar_g_l_u": [5.0, 2.0, 1.0],
            "cost_per_l": [1.0, 3.0, 4.0],
        }
    )


def met(
    pool: pd.DataFrame, answer: Answer, name: str, low: float, high: float, throws: int = THROWS, seed: int = 11
) -> float:
    """Return the part of dice-thrown cellars in which a figure of the blend, truly mixed, lies within its limit."""
    random = np.random.default_rng(seed)
    rows = pool.set_index("stock").loc[[draw.stock for draw in answer.draws]]
    litres = np.array([draw.litres for draw in answer.draws])
    thrown = {
        figure: random.normal(rows[figure], rows[f"{figure}_u"], (throws, len(rows))) for figure in ("abv", "sugar_g_l")
    }
    blend = mix(np.broadcast_to(litres, (throws, len(rows))), thrown["abv"], thrown["sugar_g_l"].clip(0))
    value = np.asarray({"abv": blend.abv, "sugar_g_l": blend.extract_g_l}[name])
    return float(((value >= low) & (value <= high)).mean())


def test_the_doubt_of_a_blend_by_hand() -> None:
    """Half and half of readings unsure by 0.3 and 0.4 is unsure by 0.25; a limit one deviation off is 84.1 % sure."""
    pool = pd.DataFrame({"stock": ["a", "b"], "litres": 50.0, "ta_g_l": [5.0, 7.0], "ta_g_l_u": [0.3, 0.4]})
    answer = solve(pool, {"litres": 100, "limits": {"ta_g_l": {"max": 6.25}}})
    assert answer.uncertainty["ta_g_l"] == pytest.approx(0.25)
    chance = answer.chances[0]
    assert chance.limit == "ta_g_l"
    assert chance.chance == pytest.approx(0.8413447, abs=1e-6)  # normal table, z = 1
    assert "84.1 % sure to be at most 6.25 g/L" in chance.words


def test_a_chance_is_what_dice_say(unsure: pd.DataFrame) -> None:
    """The chance told agrees with 200 000 thrown cellars, mixed at true volume, within four of their own deviations."""
    limits: dict[str, dict[str, float]] = {"abv": {"min": 12.0, "max": 12.6}, "sugar_g_l": {"max": 52}}
    answer = solve(unsure, {"litres": 500, "objective": ["least_cost"], "limits": limits})
    for chance in answer.chances:
        span = limits[chance.limit]
        dice = met(unsure, answer, chance.limit, span.get("min", -np.inf), span.get("max", np.inf))
        assert chance.chance == pytest.approx(dice, abs=4 * 0.5 / np.sqrt(THROWS) + 5e-4)


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_confidence_is_kept_and_paid_for(unsure: pd.DataFrame, confidence: float) -> None:
    """Every limit is met as surely as asked, in the answer and by dice, at a cost that is not less than without."""
    limits: dict[str, dict[str, float]] = {"abv": {"min": 11.2, "max": 12.9}, "sugar_g_l": {"max": 75}}
    brief = {"litres": 500, "objective": ["least_cost"], "limits": limits}
    free, kept = solve(unsure, brief), solve(unsure, brief | {"confidence": confidence})
    assert kept.status == "optimal"
    assert free.objective is not None
    assert kept.objective is not None
    assert kept.objective > free.objective
    assert min(chance.chance for chance in free.chances) < confidence
    for chance in kept.chances:
        span = limits[chance.limit]
        assert chance.chance >= confidence
        dice = met(unsure, kept, chance.limit, span.get("min", -np.inf), span.get("max", np.inf))
        assert dice >= confidence - 4 * 0.5 / np.sqrt(THROWS)


def test_confidence_costs_no_more_than_it_must() -> None:
    """One limit, two stocks: x of the dear one with 12 - 2 x + z |u| <= 11, found on a fine grid by hand."""
    pool = pd.DataFrame(
        {"stock": ["a", "b"], "litres": 100.0, "ta_g_l": [12.0, 10.0], "ta_g_l_u": [0.5, 0.3], "cost_per_l": [1.0, 3.0]}
    )
    brief = {"litres": 100, "objective": ["least_cost"], "limits": {"ta_g_l": {"max": 11}}, "confidence": 0.9}
    x = np.linspace(0, 1, 1_000_001)
    worst = 12 - 2 * x + 1.2815515655 * np.hypot(0.5 * (1 - x), 0.3 * x)  # z of 0.9, normal table
    least = x[worst <= 11][0]
    assert solve(pool, brief).objective == pytest.approx(100 * (1 + 2 * least), rel=1e-3)


def test_confidence_is_not_overpaid_where_one_side_is_far(unsure: pd.DataFrame) -> None:
    """Of 11.2 to 12.9 only the low side presses: the chance comes to what was asked, give or take a half per cent."""
    limits = {"abv": {"min": 11.2, "max": 12.9}}
    dosing: dict[str, dict[str, float]] = {"water": {}}
    brief = {"litres": 450, "objective": ["least_cost"], "limits": limits, "dosing": dosing, "confidence": 0.95}
    assert 0.95 <= solve(unsure, brief).chances[0].chance <= 0.955


def test_confidence_that_cannot_be_had_is_said(unsure: pd.DataFrame) -> None:
    """Readings unsure by 0.15 cannot promise a strength within 0.02; the limit is named."""
    brief = {"litres": 500, "limits": {"abv": {"target": 12.5, "within": 0.02}}, "confidence": 0.95}
    answer = solve(unsure, brief)
    assert answer.status == "infeasible"
    assert any("whatever the readings' doubt" in clash.words for clash in answer.conflict)


def test_confidence_needs_something_to_go_by(unsure: pd.DataFrame) -> None:
    """An exact figure cannot be promised; a figure whose doubt nobody told needs its column."""
    with pytest.raises(BadBrief, match="no reading can promise one exact figure"):
        solve(unsure, {"litres": 9, "limits": {"abv": {"target": 12}}, "confidence": 0.9})
    unsure["oak"] = 3.0
    with pytest.raises(BadBrief, match="add a column oak_u"):
        solve(unsure, {"litres": 9, "limits": {"oak": {"min": 2}}, "confidence": 0.9})


def test_without_uncertainties_no_chance_is_told(cellar: pd.DataFrame) -> None:
    """What nobody measured is not made up."""
    answer = solve(cellar, {"litres": 100, "limits": {"abv": {"min": 11}}})
    assert (answer.chances, dict(answer.uncertainty)) == ((), {})


def test_a_blank_doubt_is_an_ordinary_reading_s(unsure: pd.DataFrame) -> None:
    """A strength read without a word on how sure it is, is taken as unsure by 0.15 (properties.py)."""
    unsure["abv_u"] = [np.nan, 0.1, 0.1]
    answer = solve(unsure, {"litres": 100, "objective": ["highest:abv"], "limits": {"abv": {"min": 13}}})
    assert answer.uncertainty["abv"] == pytest.approx(0.15)


def test_a_figure_that_was_never_read_is_less_sure_than_a_reading(cellar_book: Book) -> None:
    """The doubt of a figure that was only calculated is larger than an ordinary reading's."""
    pool = pool_of(cellar_book.cellar(), {})
    assert (pool.uncertainty["abv"] > 0.15).all()
    assert "va_g_l" not in pool.uncertainty


@pytest.mark.slow
@settings(max_examples=30)
@given(seed=st.integers(0, 10_000), confidence=st.floats(0.6, 0.995))
def test_any_confidence_is_kept_or_refused(seed: int, confidence: float) -> None:
    """For any pool, a plan with confidence keeps it by its own figures, plainly reckoned."""
    random = np.random.default_rng(seed)
    n = 6
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(n)],
            "litres": random.uniform(50, 200, n),
            "ta_g_l": random.uniform(4, 8, n),
            "ta_g_l_u": random.uniform(0.05, 0.5, n),
            "cost_per_l": random.uniform(1, 5, n),
        }
    )
    brief = {"litres": 200, "objective": ["least_cost"], "limits": {"ta_g_l": {"min": 5.2, "max": 6.4}}}
    answer = solve(pool, brief | {"confidence": confidence})
    assert answer.status in ("optimal", "infeasible")
    if answer.status == "optimal":
        litres = pool["stock"].map({draw.stock: draw.litres for draw in answer.draws}).fillna(0).to_numpy()
        value, sigma = litres @ pool["ta_g_l"] / 200, np.sqrt(((litres * pool["ta_g_l_u"]) ** 2).sum()) / 200
        dice = random.normal(value, sigma, 40_000)
        assert ((dice >= 5.2) & (dice <= 6.4)).mean() >= confidence - 4 * 0.5 / np.sqrt(40_000)
