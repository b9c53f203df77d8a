"""A taster's turn: whose it is, what a line gives to which glass, what is completed; what stands there gives itself."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared.verdicts import VERDICTS, Judgement
from cooperage.tasting.flights import Attribute, Flight, Glass, OffTheScale, Score
from cooperage.tasting.flights.vocabulary import shipped
from cooperage.tasting.turns import line_of, next_taster, read_line, still_to_come, whole_line, word_begun, words_near
from cooperage.units import Units

AT = datetime(2026, 11, 26, tzinfo=UTC)
CODES = ["432", "215", "528"]


def poured(*attributes: Attribute) -> Flight:
    """A flight of three glasses, as it is read from a book."""
    glasses = [Glass(code, code, nth, f"B-{nth:03}") for nth, code in enumerate(CODES, 1)]
    return Flight("f", "F-5", "winter", "0-20", AT, None, glasses, attributes=list(attributes))


HONEY, OAK = Attribute("a", "honey", "0-10"), Attribute("b", "oak", "0-100 mm")
SCORED = poured(HONEY, OAK)
SCORES = st.builds(
    Score,
    st.none() | st.integers(0, 40).map(lambda half: half / 2),
    st.sampled_from(["", "vanilla", "vanilla, soft wood", "round"]),
    st.dictionaries(st.sampled_from(["honey", "oak"]), st.integers(0, 10).map(float)),
    st.none()
    | st.sampled_from([each for each in VERDICTS if each != "look again"]).map(Judgement)
    | st.integers(1, 200).map(lambda weeks: Judgement("look again", weeks)),
)


@given(SCORES)
def test_what_was_given_is_given_again_by_its_own_line(score: Score) -> None:
    """The line that stands for a glass gives the same when Enter takes it again."""
    line = line_of(score, SCORED)
    read = read_line(line, SCORED, "Ada", CODES)
    assert read.given == {"432": score}
    missing = [name for name in ("honey", "oak") if name not in score.marks] + ["overall"] * (score.value is None)
    assert still_to_come(score, SCORED) == missing


@given(st.lists(st.none() | st.integers(0, 20), min_size=2, max_size=3))
def test_a_row_of_scores_goes_to_the_glasses_in_order(figures: list[int | None]) -> None:
    """A dash leaves one out; what was written of a glass in words stays."""
    flight = poured()
    flight.scores["432", "Ada"] = Score(3.0, "thin")
    text = " ".join("-" if figure is None else str(figure) for figure in figures)
    read = read_line(text, flight, "Ada", CODES)
    wanted = {code: float(figure) for code, figure in zip(CODES, figures, strict=False) if figure is not None}
    assert {code: each.value for code, each in read.given.items()} == wanted
    assert read.glasses == len(figures)
    assert "432" not in read.given or read.given["432"].words == "thin"


def test_a_row_is_held_to_the_scale() -> None:
    """Nothing of it is taken."""
    with pytest.raises(OffTheScale):
        read_line("14 25 9", poured(), "Ada", CODES)


def test_whose_turn_it_is() -> None:
    """The hand at work if of the panel with glasses left, else who comes first; no panel: the hand; all done: none."""
    flight = poured()
    assert next_taster(flight, "Dora") == "Dora"
    flight.orders |= {"Ada": CODES, "Ben": CODES}
    assert (next_taster(flight, "ben"), next_taster(flight, "Dora")) == ("Ben", "Ada")
    flight.scores |= {(code, "Ben"): Score(9.0) for code in CODES}
    assert next_taster(flight, "Ben") == "Ada"
    flight.scores |= {(code, "Ada"): Score(9.0) for code in CODES}
    assert next_taster(flight, "Ada") == ""


@pytest.mark.parametrize(
    ("typed", "whole"),
    [
        ("6 3 7 van", "6 3 7 vanilla"),
        ("6 3 7", "6 3 7"),
        ("6 - 7 vanilla, sof", "6 - 7 vanilla, soft wood"),
        ("6 12 Van", "6 12 Vanilla"),
        ("6 12; lo", "6 12; look again"),
        ("6 12 van; q", "6 12 van; quarantine"),
        ("xyz", "xyz"),
        ("", ""),
    ],
)
def test_what_is_begun_at_the_end_is_completed(typed: str, whole: str) -> None:
    """A word of the cellar by its first letters, behind a semicolon a verdict."""
    assert whole_line(typed, shipped()) == whole


def test_words_near_are_those_that_what_is_begun_may_become() -> None:
    """None while a figure is typed, and none that stands there whole."""
    assert word_begun("6 3 12.5") == ""
    assert words_near("6 3 12.5 vanilla, s", shipped())[0].startswith("s")
    assert "vanilla" not in words_near("6 vanilla", shipped())


def test_what_a_line_would_give_is_announced_in_the_persons_decimal_sign() -> None:
    """Glass by glass, and a row of several glasses."""
    comma = Units(decimal=",")
    assert read_line("12,5", poured(), "Ada", CODES, comma).words == "overall 12,5"
    assert "12,5" in read_line("12,5 14 9,5", poured(), "Ada", CODES, comma).words
    assert "9,5" in read_line("12,5 14 9,5", poured(), "Ada", CODES, comma).words
