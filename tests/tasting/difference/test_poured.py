"""A difference test poured, answered, corrected, closed: what is refused, and what stands."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.errors import AlreadyThere
from cooperage.errors import BadInput
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.closing import leave, peek_any, reveal_any
from cooperage.tasting.difference.errors import (
    AnswersToCome,
    NoAnswer,
    NoSetDrawn,
    NotAnAnswer,
    NotAskedSo,
    NoTastersGiven,
    NotTwoSamples,
    TooFewAnswers,
)
from cooperage.tasting.difference.pouring import draw_for, start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.sheet import answer_sheet
from cooperage.tasting.difference.stored import any_flight, difference_flights
from cooperage.tasting.flights import AlreadyRevealed, NoSuchFlight, StillBlind, flight, flights, score, start_flight
from cooperage.tasting.flights.closing import departed_words, reveal
from cooperage.tasting.flights.errors import NotAmongTheTasters, NothingScored, NothingToTaste
from cooperage.tasting.flights.leaving import BackAfterLeaving, NothingWaitedFor, NotOfThePanel
from cooperage.units import DEFAULT
from tests.tasting.difference.conftest import PANEL, Pour, answered

TRIANGLE = DifferenceQuestion("triangle")


def stored(book: Book) -> Any:
    return difference_flights(book)[0]


@pytest.mark.parametrize(
    ("test", "glasses"), [("triangle", 3), ("duo-trio", 3), ("paired", 2), ("3-afc", 3), ("tetrad", 4)]
)
def test_each_taster_gets_glasses_of_their_own(cellar_book: Book, pour: Pour, test: str, glasses: int) -> None:
    """As many as the test has, each with a code of three digits that no other bears; read back as it was poured."""
    asked = {"asked": "oak", "expected": "T-1"} if test == "3-afc" else {}
    poured = pour(test, rounds=2, **asked)
    found = stored(cellar_book)
    assert found == poured
    assert [(each.taster, each.round) for each in found.sets] == [(name, at) for name in PANEL for at in (1, 2)]
    codes = [code for each in found.sets for code in each.codes]
    assert len(set(codes)) == len(codes) == 8 * glasses
    assert all(len(code) == 3 and code.isdecimal() for code in codes)
    assert {glass.role: glass.vessel for glass in found.glasses} == {"A": "B-1", "B": "T-1"}
    assert [glass.code for glass in found.glasses] == codes  # the place of a glass shows nothing of what is in it


def test_a_bench_glass_is_a_sample_too(cellar_book: Book) -> None:
    """Beside a vessel, or two of them; the constant reference of a duo-trio is named as it was given."""
    question = DifferenceQuestion("duo-trio", reference="with acid")
    poured = start_difference(cellar_book, ["B-1"], question, ["Ada"], bench=["with acid"], sure=True)
    assert (poured.called("A"), poured.called("B"), poured.question.reference) == ("B-1", "with acid", "B")
    assert all(each.order[0] == "B" for each in poured.sets)
    two = start_difference(cellar_book, [], TRIANGLE, ["Ada"], bench=["with acid", "without"], sure=True)
    assert {glass.what for glass in two.glasses} == {"with acid", "without"}


def test_what_is_asked_is_checked(cellar_book: Book) -> None:
    """Each refusal in a line that names the remedy, and nothing is poured."""

    def start(tags: list[str], question: DifferenceQuestion = TRIANGLE, tasters: tuple[str, ...] = ("Ada",)) -> None:
        start_difference(cellar_book, tags, question, tasters, sure=True)

    for tags in (["B-1"], ["B-1", "B-1"], ["B-1", "T-1", "K-1"], []):
        with pytest.raises(NotTwoSamples, match="name two that differ"):
            start(tags)
    with pytest.raises(NothingToTaste):
        start(["B-1", "B-2"])
    with pytest.raises(NothingToTaste):  # before it is asked whether one answer is enough
        start_difference(cellar_book, ["B-1", "B-2"], TRIANGLE, ["Ada"])
    with pytest.raises(NoTastersGiven, match="name everyone who tastes"):
        start(["B-1", "T-1"], tasters=(" ",))
    misfits = [
        (DifferenceQuestion("3-afc"), "which one is expected to"),
        (DifferenceQuestion("triangle", asked="oak"), "leave it out"),
        (DifferenceQuestion("paired", expected="B-1"), "name of what"),
        (DifferenceQuestion("triangle", reference="B-1"), "only a duo-trio"),
        (DifferenceQuestion("paired", aim="alike"), "name which is expected"),
        (DifferenceQuestion("duo-trio", reference="K-1"), "'K-1' is neither"),
        (DifferenceQuestion("triangle", rounds=99), "from 1 to 12"),
    ]
    for question, why in misfits:
        with pytest.raises(NotAskedSo, match=why):
            start(["B-1", "T-1"], question)
    for wrong in ({"alpha": 0.0}, {"share": 1.0}, {"power": 5.0}, {"test": "guess"}):
        with pytest.raises(BadInput):
            start(["B-1", "T-1"], DifferenceQuestion(**{"test": "triangle"} | wrong))
    assert difference_flights(cellar_book) == []


def test_too_few_tasters_are_asked_back_before_it_is_poured(cellar_book: Book) -> None:
    """With the number that the question needs (16 for half the tasters, 80 %: discrimination_sample_size.csv)."""
    with pytest.raises(TooFewAnswers, match=r"4 answers finds it 20 % of the time; for 80 % at least 16 tasters"):
        start_difference(cellar_book, ["B-1", "T-1"], TRIANGLE, PANEL)
    assert difference_flights(cellar_book) == []
    enough = start_difference(cellar_book, ["B-1", "T-1"], TRIANGLE, [f"taster {at}" for at in range(16)])
    assert len(enough.sets) == 16


def test_a_choice_is_forced(cellar_book: Book, pour: Pour) -> None:
    """A dash, a blank or a shrug is no answer; nor is a glass of another, two where one is asked, nor a stranger's."""
    first, second, *_ = pour("triangle").sets
    for line in ("", "-", " ", "none", "?"):
        with pytest.raises(NoAnswer, match=r"Ada names no glass of .*; the choice is forced: name one, by a guess"):
            answer(cellar_book, "D", "ada", line)
    for line in (second.codes[0], "99", " ".join(first.codes[:2]), f"{first.codes[0]} {first.codes[0]}"):
        with pytest.raises(NotAnAnswer, match=r"^Ada: "):
            answer(cellar_book, "D", "Ada", line)
    with pytest.raises(NoSetDrawn, match="Zoe has no glasses in D"):
        answer(cellar_book, "D", "Zoe", first.codes[0])
    with pytest.raises(NoSuchFlight):
        answer(cellar_book, "E", "Ada", first.codes[0])
    assert stored(cellar_book).answered == []


def test_the_reference_is_no_answer_and_a_pair_is_two(cellar_book: Book, pour: Pour) -> None:
    """Of a duo-trio one of the other two, of a tetrad two glasses."""
    each = pour("duo-trio").sets[0]
    with pytest.raises(
        NotAnAnswer, match=rf"{each.codes[0]} is the reference; name {each.codes[1]} or {each.codes[2]}"
    ):
        answer(cellar_book, "D", "Ada", each.codes[0])
    tetrad = start_difference(cellar_book, ["B-1", "T-1"], DifferenceQuestion("tetrad"), ["Ada"], code="T", sure=True)
    with pytest.raises(NotAnAnswer, match="name two glasses that are the same"):
        answer(cellar_book, "T", "Ada", tetrad.sets[0].codes[0])


def test_answers_are_corrected_until_the_reveal_and_stand_then(cellar_book: Book, pour: Pour) -> None:
    """A line answers the sets it names, two rounds at once too, and replaces what was there; then nothing more does."""
    first, second = pour("triangle", ["Ada"], rounds=2).sets
    answer(cellar_book, "D", "Ada", first.codes[0])
    assert stored(cellar_book).left_to_give() == [("Ada", 1)]
    answer(cellar_book, "d", "ADA", f"{second.codes[1]}, {first.codes[2]}")
    assert [each.answer for each in stored(cellar_book).sets] == [[first.codes[2]], [second.codes[1]]]
    reveal_any(cellar_book, "D", hand="Maren")
    with pytest.raises(AlreadyRevealed):
        answer(cellar_book, "D", "Ada", first.codes[0])
    found = stored(cellar_book)
    assert [each.answer for each in found.sets] == [[first.codes[2]], [second.codes[1]]]
    assert (found.revealed_by, found.is_blind) == ("Maren", False)


def test_closing_asks_while_answers_are_to_come(cellar_book: Book, pour: Pour) -> None:
    """By name; nobody waits for one who left, and who answers after all is back."""
    poured = pour("triangle", ["Ada", "Bea"])
    answer(cellar_book, "D", "Ada", poured.sets[0].codes[0])
    with pytest.raises(AnswersToCome, match="Bea has 1 set left to answer; once D is revealed"):
        reveal_any(cellar_book, "D")
    leave(cellar_book, "D", "bea", hand="Maren")
    assert stored(cellar_book).left_to_give() == []
    with pytest.raises(BackAfterLeaving, match=r"^Bea left D .* this brings Bea back") as asked:
        answer(cellar_book, "D", "bea", poured.sets[1].codes[0])
    assert "--sure" in asked.value.words(DEFAULT)
    assert stored(cellar_book).departed
    answer(cellar_book, "D", "Bea", poured.sets[1].codes[0], sure=True)
    assert stored(cellar_book).departed == {}
    with pytest.raises(NotOfThePanel, match="Zoe does not taste D"):
        leave(cellar_book, "D", "Zoe")
    with pytest.raises(NothingWaitedFor, match="D waits for nothing of Ada"):
        leave(cellar_book, "D", "Ada")
    reveal_any(cellar_book, "D")
    with pytest.raises(AlreadyRevealed):
        leave(cellar_book, "D", "Ada")


def test_what_nobody_answered_is_asked_back(cellar_book: Book, pour: Pour) -> None:
    """All of its tasters left, so none has a set left to answer; confirmed, it is closed."""
    pour("triangle", ["Ada"])
    leave(cellar_book, "D", "Ada")
    with pytest.raises(AnswersToCome, match=r"^no taster has answered it; once D is revealed"):
        reveal_any(cellar_book, "D")
    assert not reveal_any(cellar_book, "D", sure=True).is_blind


def test_a_taster_may_leave_a_scored_flight(cellar_book: Book) -> None:
    """It closes without a question, and its results show who left and what was not scored; back, nothing is shown."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F", tasters=["Ada", "Bea"])
    codes = [glass.code for glass in poured.glasses]
    for code in codes:
        score(cellar_book, "F", code, "Ada", 12.0)
    score(cellar_book, "F", codes[0], "Bea", 11.0)
    leave(cellar_book, "F", "Bea")
    with pytest.raises(BackAfterLeaving):
        score(cellar_book, "F", codes[0], "Bea", 11.5)
    with pytest.raises(NothingWaitedFor, match="F waits for nothing of Ada"):
        leave(cellar_book, "F", "Ada")
    score(cellar_book, "F", codes[0], "Bea", 11.5, sure=True)
    assert flight(cellar_book, "F").left_to_give() == [("Bea", 1)]
    leave(cellar_book, "F", "Bea")
    closed = reveal(cellar_book, "F")
    assert departed_words(closed)[0].startswith("Bea left before the end, ")
    assert departed_words(closed)[0].endswith("; 1 of 2 glasses not scored.")


def test_a_late_taster_gets_a_set_once_it_is_confirmed(cellar_book: Book, pour: Pour) -> None:
    """Of codes that no other glass bears; not once it is revealed."""
    before = pour("triangle")
    with pytest.raises(NotAmongTheTasters):
        draw_for(cellar_book, "D", ["Zoe"])
    drawn, names = draw_for(cellar_book, "D", ["zoe"], sure=True)
    assert (names, drawn.panel) == (["zoe"], [*PANEL, "zoe"])
    assert not {glass.code for glass in before.glasses} & set(drawn.sets_of("zoe")[0].codes)
    assert draw_for(cellar_book, "D", [])[1] == [*PANEL, "zoe"]
    assert stored(cellar_book).named == [*PANEL]
    reveal_any(cellar_book, "D", sure=True)
    with pytest.raises(AlreadyRevealed):
        draw_for(cellar_book, "D", ["Yve"], sure=True)


def test_a_peek_is_written_while_it_is_blind(cellar_book: Book, pour: Pour) -> None:
    """By whom; afterwards looking is no peek."""
    pour("triangle")
    peek_any(cellar_book, "D", hand="Maren")
    reveal_any(cellar_book, "D", sure=True)
    peek_any(cellar_book, "D", hand="Iko")
    assert [each.hand for each in stored(cellar_book).peeks] == ["Maren"]


def test_a_sheet_asks_and_shows_codes_alone(pour: Pour) -> None:
    """In the order they are tasted, with what is asked; never what is in them."""
    poured = pour("triangle", rounds=2)
    text = "\n".join(answer_sheet(poured, "Ada"))
    first, second = poured.sets_of("Ada")
    assert "which is the odd one?" in text
    assert f"set 1   {'   '.join(first.codes)}" in text
    assert f"set 2   {'   '.join(second.codes)}" in text
    assert "B-1" not in text
    assert first.order not in text


def test_no_door_for_scores_opens_it(cellar_book: Book, pour: Pour) -> None:
    """It is no flight that is scored, and its own door knows both kinds; codes are shared by both."""
    poured = pour("triangle")
    start_flight(cellar_book, ["B-1"], code="F")
    assert [each.code for each in flights(cellar_book)] == ["F"]
    for refused in (
        lambda: flight(cellar_book, "d"),
        lambda: score(cellar_book, "D", poured.glasses[0].code, "Ada", 1),
    ):
        with pytest.raises(NothingScored, match="D is a triangle test"):
            refused()
    assert {any_flight(cellar_book, code).code for code in ("d", "f")} == {"D", "F"}
    with pytest.raises(AlreadyThere):
        start_flight(cellar_book, ["B-1"], code="D")


def test_a_blind_test_shows_no_outcome(cellar_book: Book, pour: Pour) -> None:
    """Not before it is revealed."""
    from cooperage.tasting.difference.outcome import difference_outcome

    poured = pour("triangle")
    answered(cellar_book, poured, [True] * 4)
    with pytest.raises(StillBlind):
        difference_outcome(stored(cellar_book))
