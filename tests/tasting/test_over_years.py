"""Tasters over closed flights: scale by scale, nothing of a blind flight, and no more claimed than is known."""

import pytest

from cooperage.book import Book
from cooperage.tasting.flights import reveal, score, start_flight
from cooperage.tasting.over_years import bias_words, records_over_years
from cooperage.tasting.statistics.records import Between, TasterRecord

ABOVE = {"Ada": 3.0, "Ben": 0.0, "Cas": -1.0}


def tasted(book: Book, code: str, scale: str, unit: float) -> None:
    """Pour two vessels and score them, each taster so many units above the others."""
    poured = start_flight(book, ["B-1", "T-1"], code=code, scale=scale)
    for place, glass in enumerate(poured.glasses):
        for taster, above in ABOVE.items():
            wobble = 0.5 * unit if (place, taster) == (1, "Ben") else 0.0
            score(book, code, glass.code, taster, unit * (10 + place + above) + wobble)


def test_scales_are_never_put_together(cellar_book: Book) -> None:
    """Two flights of 20 points and one of 100: a table each, a bias in points of each, nothing of the blind one."""
    for code, scale, unit in (("F1", "0-20", 1.0), ("F2", "0-20", 1.0), ("F3", "0-100", 5.0), ("F4", "0-20", 1.0)):
        tasted(cellar_book, code, scale, unit)
    for code in ("F1", "F2", "F3"):
        reveal(cellar_book, code)
    twenty, hundred = records_over_years(cellar_book)
    assert (twenty.scale, twenty.flights, hundred.scale, hundred.flights) == ("0-20", 2, "0-100", 1)
    ada = {each.scale: each.records[0] for each in (twenty, hundred)}
    assert (ada["0-20"].taster, ada["0-20"].flights, ada["0-20"].glasses) == ("Ada", 2, 4)
    assert ada["0-20"].bias.value == pytest.approx(3.5 - 0.125)
    assert ada["0-100"].bias.value == pytest.approx(5 * (3.5 - 0.125))
    assert records_over_years(cellar_book, "honey") == []


@pytest.mark.parametrize(
    ("bias", "words"),
    [
        (Between(1.6, 0.8, 2.3), "Ada scores 1.6 points higher than the others (+0.8 to +2.3)."),
        (Between(-1.6, -2.3, -0.8), "Ada scores 1.6 points lower than the others (-2.3 to -0.8)."),
        (Between(0.6, -0.8, 2.3), "Ada scores as the others do, for all that can be known (-0.8 to +2.3)."),
        (Between(0.6, float("nan"), float("nan")), "Ada: 2 flights cannot show a bias."),
    ],
)
def test_words_claim_what_the_interval_leaves_no_doubt_of(bias: Between, words: str) -> None:
    assert bias_words(TasterRecord("Ada", 2, 8, 0, bias, bias, bias, bias)) == words
