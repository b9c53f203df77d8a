"""A flight is closed: who has glasses left, who looked the codes up, what the panel decided and what is written."""

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.log import entries
from cooperage.programme.several.written import strike_together
from cooperage.tasting.flights import (
    Flight,
    NotAllIn,
    NotInThisFlight,
    StillBlind,
    flight,
    judge_flight,
    panel_verdicts,
    peek,
    reveal,
    score,
    start_flight,
)
from cooperage.tasting.flights.closing import NothingDecided, peeked_words
from cooperage.units import DEFAULT

LOOK = Judgement("look again", 8)


@pytest.fixture
def poured(cellar_book: Book) -> Flight:
    return start_flight(cellar_book, ["B-1", "T-1"], code="F", tasters=["Ada", "Bea"])


def judged(book: Book, poured: Flight, given: dict[str, tuple[Judgement | None, ...]]) -> None:
    """Let as many tasters as there are verdicts score a vessel's glass, each with theirs."""
    for glass in poured.glasses:
        for taster, verdict in zip(("Ada", "Bea", "Cleo", "Dot"), given.get(str(glass.vessel), ()), strict=False):
            score(book, "F", glass.code, taster, 12.0, verdict=verdict)


def test_closing_asks_while_somebody_has_glasses_left(cellar_book: Book, poured: Flight) -> None:
    """Who has scored nothing and who has some left, by name; said to be right, it is closed and says by whom."""
    score(cellar_book, "F", poured.glasses[0].code, "Ada", 12.0)
    with pytest.raises(NotAllIn, match=r"^Ada has 1 of 2 left, Bea has scored nothing; once flight F is revealed"):
        reveal(cellar_book, "F")
    assert flight(cellar_book, "F").is_blind
    closed = reveal(cellar_book, "F", hand="Maren", sure=True)
    assert (closed.is_blind, flight(cellar_book, "F").revealed_by) == (False, "Maren")


def test_closing_asks_nothing_once_all_are_in(cellar_book: Book, poured: Flight) -> None:
    """Each taster named has scored each glass."""
    judged(cellar_book, poured, {"B-1": (None, None), "T-1": (None, None)})
    assert not reveal(cellar_book, "F").is_blind


def test_closing_asks_where_nobody_scored(cellar_book: Book) -> None:
    """Nobody was named, so nobody is waited for; confirmed, it is closed as one poured by mistake."""
    start_flight(cellar_book, ["B-1", "T-1"], code="F")
    with pytest.raises(NotAllIn, match=r"^no taster has scored it; once flight F is revealed") as refused:
        reveal(cellar_book, "F")
    assert "--sure" in refused.value.words(DEFAULT)
    assert flight(cellar_book, "F").is_blind
    assert not reveal(cellar_book, "F", sure=True).is_blind


def test_a_peek_is_written_while_it_is_blind_and_shown_afterwards(cellar_book: Book, poured: Flight) -> None:
    """By whom; once the codes are open to all, looking is no peek."""
    assert [glass.vessel for glass in peek(cellar_book, "F", hand="Maren").glasses]
    reveal(cellar_book, "F", sure=True)
    peek(cellar_book, "F", hand="Iko")
    assert [each.hand for each in flight(cellar_book, "F").peeks] == ["Maren"]
    assert peeked_words(flight(cellar_book, "F").peeks)[0].startswith("Looked up by Maren before closing, ")


def test_pouring_is_no_peek(cellar_book: Book, poured: Flight) -> None:
    """The list that is shown as it is poured is shown once, to whoever pours."""
    assert flight(cellar_book, "F").peeks == []


@pytest.mark.parametrize(
    ("given", "proposed"),
    [
        ((Judgement("keep"), Judgement("keep"), LOOK), Judgement("keep")),
        ((Judgement("keep"), LOOK), None),
        ((LOOK, Judgement("look again", 4), Judgement("look again", 12)), LOOK),
        ((LOOK, Judgement("look again", 4), Judgement("ready")), Judgement("look again", 4)),
        ((Judgement("quarantine"), None, None), None),
        ((Judgement("quarantine"), Judgement("quarantine"), None), Judgement("quarantine")),
    ],
)
def test_what_more_than_half_decided_is_proposed(
    cellar_book: Book, poured: Flight, given: tuple[Judgement | None, ...], proposed: Judgement | None
) -> None:
    """Of those who decided anything, two at least; of two middle weeks the sooner. Blind, none of it is shown."""
    judged(cellar_book, poured, {"B-1": given})
    with pytest.raises(StillBlind):
        panel_verdicts(flight(cellar_book, "F"))
    [found] = panel_verdicts(reveal(cellar_book, "F", sure=True))
    assert (found.vessel, found.proposed) == ("B-1", proposed)
    assert sum(found.votes.values()) == sum(each is not None for each in given)


def test_a_hidden_duplicate_does_not_make_two_of_one_taster(cellar_book: Book) -> None:
    """One who gave both glasses of a vessel the same verdict is one taster still."""
    poured = start_flight(cellar_book, ["B-1"], code="F", tasters=["Ada"], hidden_duplicate=True)
    for glass in poured.glasses:
        score(cellar_book, "F", glass.code, "Ada", 12.0, verdict=Judgement("ready"))
    [found] = panel_verdicts(reveal(cellar_book, "F"))
    assert (found.votes, found.proposed) == ({"ready": 2}, None)


def test_what_is_decided_is_written_together_and_struck_together(cellar_book: Book, poured: Flight) -> None:
    """The panel's verdict where none is given by hand; struck as one, both vessels are as they were."""
    judged(cellar_book, poured, {"B-1": (LOOK, LOOK), "T-1": (Judgement("ready"), Judgement("ready"))})
    with pytest.raises(StillBlind):
        judge_flight(cellar_book, "F", {"B-1": LOOK})
    reveal(cellar_book, "F")
    written = judge_flight(
        cellar_book, "F", {"t-1": Judgement("quarantine")}, proposed=True, hand="Maren", note="sharp"
    )
    cellar = cellar_book.cellar()
    assert {each.vessel: each.decided for each in written} == {"B-1": LOOK, "T-1": Judgement("quarantine")}
    assert cellar["B-1"].judged is not None
    assert cellar["B-1"].judged.flight == "F"
    assert cellar["T-1"].is_quarantined
    with cellar_book.reading() as connection:
        [entry] = entries(connection, newest=1)
    assert (entry.hand, entry.note) == ("Maren", "sharp")
    strike_together(cellar_book, acts.Strike(entry=written[0].entry_id))
    assert [standing.judged for standing in cellar_book.cellar()] == [None] * len(list(cellar_book.cellar()))


def test_nothing_is_written_of_a_vessel_that_was_not_poured(cellar_book: Book, poured: Flight) -> None:
    """Nor where nothing is decided."""
    reveal(cellar_book, "F", sure=True)
    with pytest.raises(NotInThisFlight, match="'K-1' is no vessel of this flight; it has B-1, T-1"):
        judge_flight(cellar_book, "F", {"B-1": LOOK, "K-1": LOOK})
    with pytest.raises(NothingDecided, match="no taster of flight F gave a verdict; give verdicts by hand"):
        judge_flight(cellar_book, "F", {}, proposed=True)
    assert cellar_book.cellar()["B-1"].judged is None


def test_a_majority_that_was_not_asked_for_is_named(cellar_book: Book, poured: Flight) -> None:
    """With what writes it; where there is none, that is the reason."""
    judged(cellar_book, poured, {"B-1": (LOOK, LOOK), "T-1": (LOOK, Judgement("ready"))})
    reveal(cellar_book, "F")
    with pytest.raises(
        NothingDecided, match=r"^1 of 2 vessels of flight F has a majority verdict: --proposed writes th"
    ):
        judge_flight(cellar_book, "F", {})
    judge_flight(cellar_book, "F", {}, proposed=True)


def test_votes_without_a_majority_are_named_so(cellar_book: Book, poured: Flight) -> None:
    judged(cellar_book, poured, {"B-1": (LOOK, Judgement("ready"))})
    reveal(cellar_book, "F", sure=True)
    with pytest.raises(NothingDecided, match=r"^no verdict of flight F has a majority; give verdicts by hand"):
        judge_flight(cellar_book, "F", {}, proposed=True)
