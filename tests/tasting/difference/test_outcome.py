"""What a revealed difference test shows, against the statistics of counts, and sentences that claim no more."""

import re
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.tasting.difference.closing import leave, reveal_any
from cooperage.tasting.difference.errors import TooFewAnswers
from cooperage.tasting.difference.outcome import DifferenceOutcome, difference_outcome
from cooperage.tasting.difference.vessels import vessel_differences
from cooperage.tasting.difference.words import asked_words, outcome_lines
from cooperage.tasting.statistics.difference.counts import TESTS, by_guessing, paired_test
from cooperage.units import Units
from tests.tasting.difference.conftest import PANEL, Pour, answered, closed

pytestmark = pytest.mark.parametrize("book", ["sqlite"], indirect=True)


def outcome_of(book: Book, pour: Pour, test: str, right: str, **asked: object) -> DifferenceOutcome:
    """The outcome of a test whose sets were answered so: "1101", a digit a set."""
    tasters = [f"taster {at}" for at in range(len(right) // int(asked.get("rounds", 1)))]  # type: ignore[call-overload]
    poured = pour(test, tasters, **asked)
    answered(book, poured, [each == "1" for each in right])
    return difference_outcome(closed(book, poured.code))


@pytest.mark.parametrize("test", ["triangle", "duo-trio", "3-afc", "tetrad", "paired"])
def test_right_answers_are_counted(cellar_book: Book, pour: Pour, test: str) -> None:
    """Nine of twelve, whatever the test and the order of its glasses; p is that of the counts."""
    asked = {"asked": "oak", "expected": "B-1"} if test in ("paired", "3-afc") else {}
    outcome = outcome_of(cellar_book, pour, test, "110111011011", **asked)
    assert (outcome.right, outcome.answers, outcome.is_repeated) == (9, 12, False)
    assert outcome.p == pytest.approx(by_guessing(TESTS[test], 9, 12))
    assert outcome.found is not None
    assert outcome.found.words()[:2] == outcome_lines(outcome)[:2]
    assert outcome.is_shown == (outcome.p <= 0.05)


def test_a_preference_is_two_sided(cellar_book: Book, pour: Pour) -> None:
    """The chance is of a choice so uneven either way, the interval of who chooses; no d' and no right answers."""
    outcome = outcome_of(cellar_book, pour, "paired", "110111111111")
    assert outcome.p == pytest.approx(paired_test(11, 12)) == pytest.approx(0.00634765625)
    assert (outcome.found, outcome.shares) == (None, None)
    assert outcome.chosen_between == pytest.approx((0.6152, 0.9979), abs=1e-4)  # Clopper and Pearson, 11 of 12
    lines = outcome_lines(outcome)
    assert lines[0].startswith(
        "11 of 12 chose T-1, 1 B-1: chance alone parts them so unevenly 0.6 % of the time, so of T-1"
    )
    assert "right" not in " ".join(lines)
    assert outcome.brief() == "11 of 12 chose T-1, p = 0.006"


def test_an_even_choice_shows_no_preference(cellar_book: Book, pour: Pour) -> None:
    """Nor are the two called equal."""
    lines = outcome_lines(outcome_of(cellar_book, pour, "paired", "110001", asked="oak"))
    assert "does not show of either that more tasters find more oak in it" in lines[0]
    assert not any("equal" in line or "alike" in line for line in lines)


def test_few_enough_right_answers_show_that_few_taste_it(cellar_book: Book, pour: Pour) -> None:
    """Ten of thirty of a triangle: fewer than half taste it, 95 % sure; eleven would do, nineteen would not."""
    asked = {"aim": "alike", "share": 0.5}
    outcome = outcome_of(cellar_book, pour, "triangle", "1" * 10 + "0" * 20, **asked)
    lines = outcome_lines(outcome)
    assert outcome.is_shown_alike
    assert lines[0].endswith("so fewer than 50 % do, 95 % sure.")
    assert outcome.brief() == "10 of 30 right, p = 0.568; fewer than 50 % taste it"


def test_too_few_answers_show_nothing_alike(cellar_book: Book, pour: Pour) -> None:
    """Nor is what does not show a difference called alike."""
    outcome = outcome_of(cellar_book, pour, "triangle", "100010", aim="alike", share=0.3)
    assert not outcome.is_shown_alike
    assert outcome_lines(outcome)[0] == (
        "2 right of 6: with so few answers nothing can show that fewer than 30 % taste a difference."
    )


def test_repeated_answers_are_no_more_tasters(cellar_book: Book, pour: Pour) -> None:
    """P is that of all answers, of the null alone; the estimate is of tasters, and no sentence takes them for more."""
    outcome = outcome_of(cellar_book, pour, "triangle", "111" + "110" + "010" + "101", rounds=3)
    assert outcome.by_taster == {"taster 0": (3, 3), "taster 1": (2, 3), "taster 2": (1, 3), "taster 3": (2, 3)}
    assert outcome.p == pytest.approx(by_guessing(TESTS["triangle"], 8, 12))
    assert outcome.found is None
    assert outcome.repeated is not None
    assert outcome.repeated.tasters == 4
    lines = outcome_lines(outcome)
    assert "if all guessed every time" in lines[0]
    assert lines[1] == "Answers of one taster resemble each other: 12 answers are not as many tasters."
    assert "such a taster tastes it in" in lines[2]
    assert not any("of such tasters taste it" in line for line in lines)


def test_one_taster_shows_nothing_of_others(cellar_book: Book, pour: Pour) -> None:
    """However often: no estimate, and a sentence why."""
    outcome = outcome_of(cellar_book, pour, "triangle", "11111", rounds=5)
    assert (outcome.repeated, outcome.shares) == (None, None)
    assert "All are of taster 0; of other tasters they show nothing." in outcome_lines(outcome)


def test_who_left_is_in_the_outcome(cellar_book: Book, pour: Pour) -> None:
    """With the sets that were not answered; only those that were count."""
    poured = pour("triangle")
    for name in PANEL[:3]:
        assert poured.sets_of(name)
    leave(cellar_book, "D", "Dot")
    from cooperage.tasting.difference.answering import answer

    for each in poured.sets[:2]:
        answer(cellar_book, "D", each.taster, each.codes[0])
    outcome = difference_outcome(closed(cellar_book))
    lines = outcome_lines(outcome)
    assert outcome.answers == 2
    assert "Cleo left 1 set unanswered." in lines
    assert any(line.startswith("Dot left before the end, ") and line.endswith(", 1 set unanswered.") for line in lines)


def test_a_test_without_answers_shows_none(cellar_book: Book, pour: Pour) -> None:
    """Poured by mistake, it is closed in a sentence, and stands on no vessel's page."""
    pour("triangle")
    outcome = difference_outcome(closed(cellar_book))
    assert outcome_lines(outcome)[0] == "D was revealed without an answer."
    assert outcome.brief() == "no answers"
    assert vessel_differences(cellar_book, "B-1") == []


def test_it_stands_at_both_vessels(cellar_book: Book, pour: Pour) -> None:
    """Each against the other, once it is revealed; not at a third, nor before."""
    poured = pour("triangle")
    answered(cellar_book, poured, [True, True, False, True])
    assert vessel_differences(cellar_book, "B-1") == []
    reveal_any(cellar_book, "D")
    (here,), (there,) = (vessel_differences(cellar_book, tag) for tag in ("B-1", "T-1"))
    assert here.words == "triangle against T-1: 3 of 4 right, p = 0.111"
    assert there.words == "triangle against B-1: 3 of 4 right, p = 0.111"
    assert vessel_differences(cellar_book, "K-1") == []


@pytest.mark.parametrize(
    ("test", "right", "asked"),
    [
        ("triangle", "110111", {}),
        ("triangle", "000111000111", {"aim": "alike", "share": 0.333}),
        ("paired", "110111111111", {}),
        ("triangle", "111110010101", {"rounds": 3, "aim": "alike"}),
        ("paired", "110111011111", {"rounds": 3}),
        ("tetrad", "1" * 9 + "000", {"asked": ""}),
    ],
)
def test_a_decimal_comma_is_one_in_every_sentence(
    cellar_book: Book, pour: Pour, test: str, right: str, asked: Any
) -> None:
    """The same sentences but for the mark: none has a point between two figures."""
    outcome = outcome_of(cellar_book, pour, test, right, **asked)
    comma = Units(decimal=",")
    poured = outcome.flight
    for point, marked in (
        (asked_words(poured), asked_words(poured, comma)),
        (" ".join(outcome_lines(outcome)), " ".join(outcome_lines(outcome, comma))),
        (outcome.brief(), outcome.brief(comma)),
        (str(TooFewAnswers(outcome.planned)), TooFewAnswers(outcome.planned).question(comma)),
    ):
        assert marked == re.sub(r"(?<=\d)\.(?=\d)", ",", point)
    assert re.search(r"\d,\d", " ".join(outcome_lines(outcome, comma)))
