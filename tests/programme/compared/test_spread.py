"""The spread of like barrels and of tasters: learned from flights, leaning on what is usual where little was seen."""

import numpy as np
import pytest

from cooperage.book import Book
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.spread import (
    UNSEEN,
    USUAL_DEGREES,
    AlikeGroup,
    between_barrels,
    spread_of_readings,
    spread_of_scores,
)
from tests.programme.compared.conftest import TAGS, kept, taste


def test_nothing_seen_is_what_is_usual_and_marked_so(six: Book) -> None:
    with six.reading() as connection:
        found = spread_of_scores(six, connection, "overall", "0-20")
    assert (found.barrel, found.score) == pytest.approx((1.0, 1.5))
    assert found.barrel_degrees == found.score_degrees == USUAL_DEGREES
    assert found.of == UNSEEN
    assert "no source" in UNSEEN


def test_a_blind_flight_teaches_nothing_and_a_revealed_one_does(six: Book) -> None:
    kept(six)
    values = dict(zip(TAGS, (8.0, 14.0, 11.0, 9.0, 15.0, 12.0), strict=True))
    code = taste(six, "TOP", values, revealed=False)
    with six.reading() as connection:
        assert spread_of_scores(six, connection, "overall", "0-20").of == UNSEEN
    from cooperage.tasting.flights import reveal

    reveal(six, code, sure=True)
    with six.reading() as connection:
        found = spread_of_scores(six, connection, "overall", "0-20")
        wide = spread_of_scores(six, connection, "overall", "0-100")
    assert found.of.startswith("1 revealed flight with barrels alike")
    assert found.barrel > 1.0
    assert found.score < 1.5
    assert wide.barrel == pytest.approx(5 * found.barrel)


@pytest.mark.parametrize("true", [0.4, 1.0, 2.5])
def test_much_that_was_seen_outweighs_what_is_usual(true: float) -> None:
    """Five hundred groups of four barrels, three scores each of one point: near the truth, whatever is usual."""
    rng = np.random.default_rng(6)
    means = rng.normal(0, np.sqrt(true**2 + 1 / 3), (500, 4))
    groups = [AlikeGroup(float(each.var(ddof=1)), 3, 1 / 3) for each in means]
    found, known = between_barrels(groups, 1.0, 3000.0, usual=1.0)
    assert found**0.5 == pytest.approx(true, rel=0.12)
    assert known > 20


def test_barrels_alike_to_the_score_are_not_thought_to_differ_by_nothing() -> None:
    groups = [AlikeGroup(0.01, 3, 1 / 3)] * 3
    found, known = between_barrels(groups, 1.0, 30.0, usual=1.0)
    assert 0 < found < 1
    assert known >= USUAL_DEGREES


def test_readings_have_their_instruments_spread(six: Book) -> None:
    from cooperage.book.declared import acts

    nothing = spread_of_readings(cellar_now(six), "va_g_l")
    assert nothing.barrel == pytest.approx(2 * nothing.score)
    assert nothing.of == UNSEEN
    for tag, value in zip(TAGS, (0.30, 0.50, 0.40, 0.32, 0.48, 0.42), strict=True):
        six.write(acts.Reading(vessel=tag, property="va_g_l", value=value))
    found = spread_of_readings(cellar_now(six), "va_g_l")
    assert found.of == "the last readings of 6 barrels of like lot and wood"
    assert found.barrel > nothing.barrel / 2
