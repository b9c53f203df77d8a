"""Which readings are worth most: held against drawing what is true and what is read, and seeing what is decided."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from cooperage.book import Book, Cellar, Standing, Upkeep
from cooperage.book.declared import acts
from cooperage.liquid import molecular_so2
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.rounds.worth import Decision, ReadingWorth, readings_worth_most
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.programme.upkeep.sulphite import dose

if TYPE_CHECKING:
    from tests.conftest import Clock

DRAWS = 40_000


@pytest.fixture(scope="module")
def demo_cellar(demo_file: Path) -> Cellar:
    """The demo as it is now."""
    return cellar_now(Book.open(str(demo_file)))


def _wrong_by_drawing(standing: Standing, worth: ReadingWorth, rng: np.random.Generator) -> tuple[float, float]:
    """Return how often the likelier side of the limit is wrong without the reading and with it, by drawing both.

    Free SO2, pH and temperature are drawn; whoever has the reading decides by what it leaves of the doubt.
    """
    limit, sign = _limit(standing, worth)
    names = ("free_so2_mg_l", "ph", "temperature_c") if "SO2" in worth.what else (worth.name,)
    figures = {name: standing.figure(name) for name in names}
    true, expected = {}, {}
    for name, figure in figures.items():
        assert figure.value is not None
        assert figure.uncertainty is not None
        true[name] = rng.normal(figure.value, figure.uncertainty, DRAWS)
        expected[name] = np.full(DRAWS, figure.value)
    before = _of(standing, expected)
    variance, noise = (figures[worth.name].uncertainty or 0.0) ** 2, standing.noise(worth.name) ** 2
    read = true[worth.name] + rng.normal(0, noise**0.5, DRAWS)
    expected[worth.name] = (read * variance + expected[worth.name] * noise) / (variance + noise)
    is_beyond, decided = (sign * (_of(standing, each) - limit) > 0 for each in (true, expected))
    return float((is_beyond != (sign * (before - limit) > 0)).mean()), float((is_beyond != decided).mean())


def _of(standing: Standing, drawn: dict[str, np.ndarray]) -> np.ndarray:
    if "ph" not in drawn:
        return next(iter(drawn.values()))
    abv = standing.value("abv")
    assert abv is not None
    celsius = np.clip(drawn["temperature_c"], 0.0, 40.0)
    return np.asarray(molecular_so2(drawn["free_so2_mg_l"], np.clip(drawn["ph"], 2.0, 5.0), abv, celsius))


def _limit(standing: Standing, worth: ReadingWorth) -> tuple[float, int]:
    floor = upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
    limits = {
        Decision.DOSE: (max(0.5, floor), -1),
        Decision.PROTECTED: (floor, -1),
        Decision.ACIDITY: (upkeep_of(standing).va_ceiling_g_l or 0.0, 1),
        Decision.CLASS: (min((14.0, 16.0), key=lambda line: abs(line - (standing.value("abv") or 0.0))), 1),
        Decision.GRAVITY: (_first_sg(standing) - 0.0015, -1),
        Decision.BOTTLING: (2.0, 1),
    }
    return limits[worth.decides]


def _first_sg(standing: Standing) -> float:
    readings = standing.state.rereads.get("sg", [])
    return next((each.value for each in readings if each.fill == standing.state.fills), 0.0)


@pytest.mark.slow
def test_the_ranking_is_that_of_drawing_truth_and_reading(demo_cellar: Cellar) -> None:
    """Of every reading named for the demo: the chance of being wrong, before and after, within 0.02; the same order.

    40000 draws are known to 0.0025; the rest is that molecular SO2 goes by a power of the pH, here taken as straight.
    """
    rng, found = np.random.default_rng(11), readings_worth_most(demo_cellar, most=100)
    drawn = []
    for worth in found:
        wrong, after = _wrong_by_drawing(demo_cellar[worth.vessel], worth, rng)
        assert (wrong, after) == pytest.approx((worth.wrong, worth.wrong_after), abs=0.02), worth
        drawn.append(worth.litres * (wrong - after))
    assert len(found) > 30
    for nth, one in enumerate(found):
        for other, drawn_other in zip(found[nth:], drawn[nth:], strict=True):
            if one.spared_l > other.spared_l + 0.03 * max(one.litres, other.litres):
                assert drawn[nth] > drawn_other, (one, other)


def test_a_reading_spares_and_says_between_what_the_chance_will_lie(demo_cellar: Cellar) -> None:
    """Best first; one reading of each figure of a vessel; never is one oftener wrong with a reading than without."""
    found = readings_worth_most(demo_cellar, most=100)
    assert [each.spared_l for each in found] == sorted((each.spared_l for each in found), reverse=True)
    assert len({(each.vessel, each.name) for each in found}) == len(found)
    assert all(0 <= each.wrong_after < each.wrong <= 0.5 for each in found)
    assert all(0 <= each.low < each.high <= 1 for each in found)
    assert readings_worth_most(demo_cellar) == found[:10]


def test_a_dose_and_the_worth_of_a_reading_go_by_one_chance(demo_cellar: Cellar) -> None:
    """What is named as worth reading for a dose is marked to be measured before it is dosed."""
    found = readings_worth_most(demo_cellar)
    doses = {each.vessel: dose(demo_cellar[each.vessel]) for each in found}
    of_doses = [each for each in found if each.decides is Decision.DOSE]
    assert of_doses
    assert [doses[each.vessel].wants_chance for each in of_doses] == pytest.approx([each.chance for each in of_doses])
    assert all(doses[each.vessel].measure_first for each in of_doses)
    assert all(doses[each.vessel].may_be_low for each in found if each.decides is Decision.PROTECTED)


def read(book: Book, at: datetime, **values: float) -> None:
    for name, value in values.items():
        book.write(acts.Reading(vessel="B-1", property=name, value=value, at=at, sure=True))


def named(book: Book) -> dict[tuple[str, Decision], ReadingWorth]:
    return {(each.name, each.decides): each for each in readings_worth_most(cellar_now(book), most=100)}


def test_what_is_far_from_its_limit_is_not_worth_a_reading(cellar_book: Book, clock: "Clock") -> None:
    """60 mg/L at pH 3.2 is protected whatever is read; at 20 mg/L and pH 3.4 a month on, the next reading decides."""
    read(cellar_book, clock(), free_so2_mg_l=60.0, ph=3.2, va_g_l=0.3, abv=12.0, sugar_g_l=60.0)
    clock.pass_days(30)
    assert named(cellar_book) == {}
    read(cellar_book, clock(), free_so2_mg_l=21.0, ph=3.4)
    assert ("free_so2_mg_l", Decision.DOSE) not in named(cellar_book)  # it was measured today
    clock.pass_days(30)
    found = named(cellar_book)["free_so2_mg_l", Decision.DOSE]
    assert found.what == "molecular SO2 under 0.50 mg/L"
    assert found.litres == 225.0


@pytest.mark.parametrize(
    ("values", "name", "decides"),
    [
        ({"va_g_l": 0.79}, "va_g_l", Decision.ACIDITY),
        ({"abv": 13.95, "sugar_g_l": 60.0}, "abv", Decision.CLASS),
        ({"abv": 12.0, "sugar_g_l": 2.4}, "sugar_g_l", Decision.BOTTLING),
        ({"abv": 17.9, "sugar_g_l": 60.0}, "abv", Decision.BOTTLING),
    ],
)
def test_every_kind_of_decision_is_asked(
    cellar_book: Book, clock: "Clock", values: dict[str, float], name: str, decides: Decision
) -> None:
    """A figure beside its limit, read three months ago, is worth reading again for what hangs on it."""
    read(cellar_book, clock(), **values)
    clock.pass_days(90)
    assert (name, decides) in named(cellar_book)


def test_gravity_that_may_have_fallen_is_worth_a_reading(cellar_book: Book, clock: "Clock") -> None:
    """1.030 three times and then 1.028: whether it fell by 0.0015 or the last reading erred, another one shows."""
    for sg in (1.030, 1.030, 1.030, 1.028):
        read(cellar_book, clock(), sg=sg)
        clock.pass_days(30)
    found = named(cellar_book)["sg", Decision.GRAVITY]
    assert found.what == "gravity under 1.028"
    assert found.wrong > 0.05


def test_a_floor_below_the_target_is_asked_for_itself(cellar_book: Book, clock: "Clock") -> None:
    """Where a barrel may lie at 0.3, whether it is protected is another question than whether a dose is wanted."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(molecular_so2_floor_mg_l=0.3))
    read(cellar_book, clock(), free_so2_mg_l=15.0, ph=3.4, abv=12.0)
    clock.pass_days(40)
    found = readings_worth_most(cellar_now(cellar_book))
    assert (found[0].name, found[0].decides) == ("free_so2_mg_l", Decision.PROTECTED)


def test_a_cellar_whose_figures_are_as_read_names_no_reading(cellar_book: Book, clock: "Clock") -> None:
    """Without a course there is no doubt to take away."""
    read(cellar_book, clock(), free_so2_mg_l=21.0, ph=3.4, abv=12.0)
    clock.pass_days(timedelta(days=30).days)
    assert readings_worth_most(cellar_book.cellar()) == []
