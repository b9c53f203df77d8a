"""A blend's chances and the worth of readings, with errors that stocks have in common, against drawing."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from cooperage.blending import solve
from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.summary import reasons
from cooperage.blending.from_cellar import pool_of
from cooperage.blending.stocks.doubt import Common
from cooperage.blending.stocks.pool import Floats, Stocks, read_pool
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.liquid import mix, monte_carlo
from cooperage.units import DEFAULT

DRAWS = 200_000
SURE_TO = 4 * 0.5 / np.sqrt(DRAWS) + 1e-3  # four deviations of so many draws, and what mixing at true volume bends

INSTRUMENT, TANK = [1.2, 1.2, 1.2, 1.2], [1.0, 1.0, 0.0, 0.0]
PROFILES: dict[str, dict[str, Any]] = {
    "one side each": {"sugar_g_l": {"max": 62.0}, "abv": {"min": 12.1}},
    "a narrow span": {"sugar_g_l": {"min": 57.0, "max": 62.0}},
    "two spans": {"sugar_g_l": {"min": 50.0, "max": 60.5}, "abv": {"min": 12.05, "max": 12.6}},
    "unlikely": {"sugar_g_l": {"min": 66.0}, "abv": {"min": 12.35}},
}


def brief(name: str) -> dict[str, Any]:
    """Return a brief of 300 L that draws on all four stocks."""
    rest = {"mixing": "liquid", "objective": ["least_cost"], "limits": PROFILES[name]}
    return rest | {"litres": 300, "draws": {"must": ["B-1", "B-2", "B-3", "B-4"]}}


@pytest.fixture(scope="module")
def alike() -> Stocks:
    """Four stocks read with one hydrometer; the first two were filled from a tank that was read once."""
    table = pd.DataFrame(
        {
            "stock": ["B-1", "B-2", "B-3", "B-4"],
            "litres": [120, 90, 120, 150],
            "min_litres": [60, 60, 60, 60],
            "sugar_g_l": [88.0, 74.0, 44.0, 40.0],
            "sugar_g_l_u": [2.4, 2.2, 2.0, 2.6],
            "abv": [12.1, 12.9, 12.3, 12.4],
            "abv_u": [0.2, 0.2, 0.2, 0.25],
            "cost_per_l": [5.0, 6.0, 7.0, 6.5],
        }
    )
    sugar = np.array([INSTRUMENT, TANK]).T
    kit = np.where([True, False], sugar, 0.0)
    strength = np.full((4, 1), 0.12)
    common = {"sugar_g_l": Common(sugar, kit, 1.1), "abv": Common(strength, strength, 0.1)}
    return replace(read_pool(table), common=common)


def correlation(stocks: Stocks, name: str) -> Floats:
    """Return how figures of the stocks go together, written out as a matrix."""
    u, moves = stocks.uncertainty[name], stocks.common[name].moves
    covariance = np.diag(u**2 - (moves**2).sum(axis=1)) + moves @ moves.T
    whole: Floats = covariance / np.outer(u, u)
    return whole


def drawn_chance(stocks: Stocks, answer: Answer, limits: dict[str, Any], seed: int = 3) -> float:
    """Return how often a blend truly mixed meets limits, by correlated draws of every stock's strength and sugar."""
    litres = np.array([{d.stock: d.litres for d in answer.draws}.get(str(name), 0.0) for name in stocks.names])
    n, names = len(stocks), ("abv", "sugar_g_l")

    def meets(*figures: Floats) -> Floats:
        abv, sugar = np.stack(figures[:n], axis=-1), np.stack(figures[n:], axis=-1)
        blend = mix(np.broadcast_to(litres, abv.shape), abv, sugar)
        came = {"abv": blend.abv, "sugar_g_l": blend.extract_g_l}
        met = [
            (came[name] >= span.get("min", -np.inf)) & (came[name] <= span.get("max", np.inf))
            for name, span in limits.items()
        ]
        all_met: Floats = np.all(met, axis=0).astype(np.float64)
        return all_met

    values = [value for name in names for value in stocks.figures[name]]
    doubts = [u for name in names for u in stocks.uncertainty[name]]
    together = np.zeros((2 * n, 2 * n))
    for at, name in enumerate(names):
        together[at * n : (at + 1) * n, at * n : (at + 1) * n] = correlation(stocks, name)
    return float(monte_carlo(meets, values, doubts, correlation=together, draws=DRAWS, seed=seed).mean)


@pytest.mark.slow
@pytest.mark.parametrize("name", PROFILES)
def test_the_chance_told_is_what_correlated_draws_say(alike: Stocks, name: str) -> None:
    """Each limit's chance and that of all of them, against 200,000 draws."""
    answer, limits = solve(alike, brief(name)), PROFILES[name]
    assert len(answer.draws) == 4
    for chance in answer.chances:
        drawn = drawn_chance(alike, answer, {chance.limit: limits[chance.limit]})
        assert chance.chance == pytest.approx(drawn, abs=SURE_TO)
    assert answer.chance_of_all == pytest.approx(drawn_chance(alike, answer, limits), abs=SURE_TO)


@pytest.mark.parametrize("name", ["two spans", "unlikely"])
def test_without_what_is_common_another_chance_would_be_told(alike: Stocks, name: str) -> None:
    """By more than the draws could miss: one hydrometer and one tank make these blends less sure."""
    answer, alone = solve(alike, brief(name)), solve(replace(alike, common={}), brief(name))
    assert answer.chance_of_all is not None
    assert alone.chance_of_all is not None
    assert answer.chance_of_all < alone.chance_of_all - 5 * SURE_TO


@pytest.mark.slow
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_confidence_is_kept_with_what_is_common(alike: Stocks, confidence: float) -> None:
    """The plan keeps every limit as surely as asked, by draws too, and not much more surely."""
    asked = brief("one side each") | {"confidence": confidence}
    answer, limits = solve(alike, asked), PROFILES["one side each"]
    assert answer.status == "optimal"
    for chance in answer.chances:
        assert confidence <= chance.chance
        assert drawn_chance(alike, answer, {chance.limit: limits[chance.limit]}) >= confidence - SURE_TO
    assert min(chance.chance for chance in answer.chances) <= confidence + 0.005


def wrong_after(stocks: Stocks, answer: Answer, place: int, name: str, span: dict[str, float]) -> float:
    """Draw truths and a reading of one stock; return how often the side that draws near that reading show is wrong.

    Nothing is regressed here: the draws are sorted by the reading, and of each two hundredth the commoner side is held.
    """
    chance, common = np.random.default_rng(17), stocks.common[name]
    litres = np.array([{d.stock: d.litres for d in answer.draws}[str(each)] for each in stocks.names])
    errors = chance.standard_normal((DRAWS, common.moves.shape[1]))
    own = np.sqrt(stocks.uncertainty[name] ** 2 - (common.moves**2).sum(axis=1))
    truth = stocks.figures[name] - errors @ common.moves.T - own * chance.standard_normal((DRAWS, len(stocks)))
    shown = truth[:, place] + errors @ common.again[place] + common.noise * chance.standard_normal(DRAWS)
    whole = truth @ litres / (answer.blend["litres"] or 0.0)
    met = (whole >= span.get("min", -np.inf)) & (whole <= span.get("max", np.inf))
    by_reading = met[np.argsort(shown)].reshape(200, -1).mean(axis=1)
    return float(np.minimum(by_reading, 1 - by_reading).mean())


@pytest.mark.slow
@pytest.mark.parametrize("name", ["one side each", "two spans"])
def test_the_ranked_readings_are_those_that_taking_them_shows(alike: Stocks, name: str) -> None:
    """Every reading of a stock drawn is taken in 200,000 draws: the best are named, in that order, with that worth."""
    answer, limits = solve(alike, brief(name)), PROFILES[name]
    taken = {}
    for chance in answer.chances:
        for place, stock in enumerate(alike.names):
            after = wrong_after(alike, answer, place, chance.limit, limits[chance.limit])
            taken[str(stock), chance.limit] = min(chance.chance, 1 - chance.chance) - after
    assert answer.readings
    best = sorted(taken, key=taken.__getitem__, reverse=True)
    for worth, drawn in zip(answer.readings, best, strict=False):
        assert worth.wrong - worth.wrong_after == pytest.approx(taken[worth.stock, worth.limit], abs=0.004)
        assert taken[worth.stock, worth.limit] == pytest.approx(taken[drawn], abs=0.004)


def test_a_reading_tells_of_the_other_barrel_too(alike: Stocks) -> None:
    """Two barrels from one reading: measuring one of them is worth more than if each had been read by itself."""
    parted = replace(alike, common={"sugar_g_l": replace(alike.common["sugar_g_l"], moves=np.array([INSTRUMENT]).T)})
    kit = replace(parted.common["sugar_g_l"], again=np.array([INSTRUMENT]).T)
    limits = {"sugar_g_l": {"max": 62.0}}
    asked = brief("one side each") | {"limits": limits}
    together, apart = solve(alike, asked), solve(replace(alike, common={"sugar_g_l": kit}), asked)
    worths = [{worth.stock: worth.wrong - worth.wrong_after for worth in each.readings} for each in (together, apart)]
    assert worths[0]["B-1"] > worths[1]["B-1"]


def test_the_instrument_itself_is_not_measured_away(alike: Stocks) -> None:
    """Where all doubt is what the one instrument is off by, another reading with it is worth nothing."""
    column = alike.uncertainty["sugar_g_l"][:, None]
    same = Common(column, column, 1e-6)
    answer = solve(replace(alike, common={"sugar_g_l": same}), brief("a narrow span"))
    assert answer.chances[0].chance < 0.9
    assert answer.readings == ()


def test_all_limits_together_are_told_in_the_reasons(alike: Stocks) -> None:
    """Two limits have a chance each and one together, and it is said that a chance is of the blend, not a reading."""
    lines = reasons(solve(alike, brief("two spans")), DEFAULT)
    at = 0  # first, where a small screen has room
    assert lines[at] == "How sure (± one standard deviation; a reading of the blend errs besides):"
    assert lines[at + 3].startswith("· all of these together: ")
    alone = reasons(solve(alike, brief("a narrow span")), DEFAULT)
    assert not any("together" in line for line in alone)


def test_two_barrels_from_one_reading_blend_no_surer_than_one(cellar_book: Book) -> None:
    """A tank read once, two barrels filled from it: half and half of them is as unsure as that reading, and more."""
    cellar_book.write(acts.Reading(vessel="T-1", property="ta_g_l", value=5.5))
    for barrel in ("B-2", "B-4"):
        cellar_book.write(acts.Fill(vessel=barrel, source="T-1"))
    asked = {"litres": 60, "share": {"B-2": {"min": 0.5, "max": 0.5}}, "limits": {"ta_g_l": {"max": 5.6}}}
    answer = solve(pool_of(cellar_book.cellar(), {}), asked | {"draws": {"never": ["T-1", "B-1"]}})
    assert {draw.stock for draw in answer.draws} == {"B-2", "B-4"}
    assert 0.2 < answer.uncertainty["ta_g_l"] < 0.24
