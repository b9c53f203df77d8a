"""What is typed for one glass on one line: figures in order, words, a verdict; what cannot be read is refused."""

from contextlib import suppress
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.declared.verdicts import MOST_WEEKS, VERDICTS, Judgement, NotAVerdict, verdict_in
from cooperage.errors import BadInput
from cooperage.tasting.flights.errors import NothingToJudge
from cooperage.tasting.flights.line import TooManyFigures, TypedScore, announced, as_line, parse_glass_line
from cooperage.tasting.flights.scales import OVERALL, OffTheScale
from cooperage.tasting.flights.shape import Attribute, Flight, Glass, Score

NAMES = ("honey", "fruit", "oak", "acidity")
BENCH = Flight("f", "F-5", "winter bench", "0-20", datetime(2026, 11, 2, tzinfo=UTC), None)
BENCH.attributes = [Attribute(name, name, "0-10") for name in NAMES]
PLAIN = Flight("p", "F-6", "", "0-20", datetime(2026, 11, 2, tzinfo=UTC), None)
for each in (BENCH, PLAIN):
    each.glasses = [Glass("g", "417", 1, "B-001")]


def test_figures_words_and_verdict_stand_on_one_line() -> None:
    """All of a glass, as it is said across a table."""
    typed = parse_glass_line("6 3 7 5 12.5 vanilla, soft wood; look again 8 weeks", BENCH)
    assert typed.figures == {"honey": 6, "fruit": 3, "oak": 7, "acidity": 5, OVERALL: 12.5}
    assert (typed.words, typed.verdict, typed.to_come) == ("vanilla, soft wood", Judgement("look again", 8), ())
    shown = "honey 6 · fruit 3 · oak 7 · acidity 5 · overall 12.5 · “vanilla, soft wood” · look again in 8 weeks"
    assert announced(typed, BENCH) == shown


def test_a_verdict_of_no_vessel_is_refused() -> None:
    """Glasses from the bench alone: there is nothing to judge, and words stay what they are."""
    trial = Flight("t", "TR-1", "", "0-20", datetime(2026, 11, 2, tzinfo=UTC), None)
    trial.glasses = [Glass("g", "417", 1, None, "TR-1/1: 60 ml B-003, 60 ml B-006")]
    for line in ("14; keep", "14 wax; look again 8 weeks", "keep"):
        with pytest.raises(NothingToJudge, match="TR-1 has no vessel"):
            parse_glass_line(line, trial)
    assert parse_glass_line("14 keeps well", trial).words == "keeps well"


def test_a_line_may_end_anywhere_and_a_dash_leaves_one_out() -> None:
    """What is not reached is still to come; what is left out is said to be."""
    assert announced(parse_glass_line("6 3 7", BENCH), BENCH) == (
        "honey 6 · fruit 3 · oak 7 · still to come: acidity, overall"
    )
    left = parse_glass_line("6 - – 5 12", BENCH)
    assert left.figures == {"honey": 6, "fruit": None, "oak": None, "acidity": 5, OVERALL: 12}
    assert announced(left, BENCH) == "honey 6 · fruit left out · oak left out · acidity 5 · overall 12"


@pytest.mark.parametrize(
    ("line", "words", "verdict"),
    [
        ("14.5", "", None),
        ("14,5 bright", "bright", None),
        ("bright, long", "bright, long", None),
        ("14.5; keep", "", Judgement("keep")),
        ("keep", "", Judgement("keep")),
        ("14.5 keeps well", "keeps well", None),
        ("14.5 wax; resin; ready", "wax; resin", Judgement("ready")),
        ("14.5 wax;", "wax", None),
        ("look again in 6 w", "", Judgement("look again", 6)),
        ("- 2nd glass of the same?", "2nd glass of the same?", None),
    ],
)
def test_without_attributes_the_one_figure_is_the_score(line: str, words: str, verdict: Judgement | None) -> None:
    """Words and verdicts stand with it, or alone."""
    typed = parse_glass_line(line, PLAIN)
    assert (typed.words, typed.verdict) == (words, verdict)
    assert typed.figures.get(OVERALL, 14.5) in (14.5, None)


@pytest.mark.parametrize(
    ("line", "error", "why"),
    [
        (
            "6 3 7 5 12.5 1",
            TooManyFigures,
            "6 figures are too many; a glass has 5: honey, fruit, oak, acidity, overall",
        ),
        ("6 3 11", OffTheScale, "oak 11 is not on the scale 0-10; give a score from 0 to 10"),
        ("6 3 7 5 21", OffTheScale, "overall 21 is not on the scale 0-20; give a score from 0 to 20$"),
        (
            "6 3 7 12.5 wax",
            OffTheScale,
            "acidity 12.5 is not on the scale 0-10; .* 10; 4 of 5 figures stand there: honey, fruit, oak, acidity",
        ),
        ("6; lok again 8 weeks", NotAVerdict, "'lok again' is not a verdict; give one of keep"),
        ("6; look again", NotAVerdict, "'look again' needs the weeks"),
        ("look again some day", NotAVerdict, "is not a verdict"),
        ("6; keep 8 weeks", NotAVerdict, "'keep' takes no weeks; to see it again give 'look again 8 weeks'"),
        ("6; look again 0 weeks", NotAVerdict, "0 weeks is no time"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_line(line: str, error: type[BadInput], why: str) -> None:
    """The line says what to give instead."""
    with pytest.raises(error, match=why):
        parse_glass_line(line, BENCH)


figures = st.none() | st.floats(0, 10).map(lambda value: round(value, 3))
said = st.text("abc ,;-é", max_size=20).map(str.strip)
verdicts = st.none() | st.sampled_from(VERDICTS).flatmap(
    lambda word: st.integers(1, MOST_WEEKS).map(lambda weeks: Judgement(word, weeks if word == "look again" else None))
)


def can_be_said(words: str) -> bool:
    """Words that begin like a figure, or are a verdict by themselves, would be read as one."""
    return words[:1] not in ("-", ";") and not words.endswith(";")


@given(st.fixed_dictionaries(dict.fromkeys((*NAMES, OVERALL), figures)), said.filter(can_be_said), verdicts)
def test_a_score_written_as_a_line_is_read_as_the_same_score(
    given_figures: dict[str, float | None], words: str, verdict: Judgement | None
) -> None:
    """Whatever a taster gave a glass, its line gives it again."""
    marks = {name: value for name in NAMES if (value := given_figures[name]) is not None}
    score = Score(given_figures[OVERALL], words, marks, verdict)
    assert parse_glass_line(as_line(score, BENCH), BENCH).added_to(Score(None)) == score


@given(st.text(max_size=40))
def test_any_line_is_read_or_refused(line: str) -> None:
    """Nothing that is typed is our own fault."""
    with suppress(BadInput):
        assert announced(parse_glass_line(line, BENCH), BENCH)


def test_what_is_typed_later_stands_beside_what_was_there() -> None:
    """A figure replaces itself, a dash takes it away, what is not typed stays."""
    there = Score(12.0, "wax", {"honey": 6.0, "oak": 3.0}, Judgement("keep"))
    typed = TypedScore({"oak": 5.0, "honey": None}, "", Judgement("ready"))
    assert typed.added_to(there) == Score(12.0, "wax", {"oak": 5.0}, Judgement("ready"))


@given(st.sampled_from(VERDICTS), st.integers(1, MOST_WEEKS))
def test_a_verdict_in_words_is_read_as_the_same(word: str, weeks: int) -> None:
    """As it is shown, so it can be typed."""
    verdict = Judgement(word, weeks if word == "look again" else None)
    assert verdict_in(verdict.words) == verdict
    assert verdict_in(f" {verdict.words.upper()}. ".replace(". ", "")) == verdict
