"""A table of scores: what the sheet gives out comes back filled in, all of it or nothing, all problems at once."""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.declared.verdicts import Judgement
from cooperage.errors import CooperageError
from cooperage.exchange.errors import BadHeader, ManyProblems
from cooperage.exchange.score_sheets import sheet_table, take_scores
from cooperage.tasting.difference.closing import leave
from cooperage.tasting.flights import flight, reveal, score, start_flight
from cooperage.tasting.flights.errors import AlreadyRevealed, NotAmongTheTasters
from cooperage.tasting.flights.leaving import BackAfterLeaving
from cooperage.tasting.flights.orders import orders_for

Filled = Callable[[list[dict[str, str]]], Path]


@pytest.fixture
def filled(cellar_book: Book, tmp_path: Path) -> Filled:
    """Pour a flight for two, and give the function that writes rows of its sheets, changed, into a file."""
    start_flight(cellar_book, ["B-1", "T-1"], code="F", attributes=["honey", "oak=0-100 mm"], tasters=["Ada", "=Bea"])

    def write(changes: list[dict[str, str]]) -> Path:
        path = tmp_path / "scores.csv"
        path.write_text(sheet_table(*orders_for(cellar_book, "F")), encoding="utf-8")
        with path.open(newline="") as file:
            rows = list(csv.DictReader(file))
        assert len(rows) == 4
        for row, change in zip(rows, changes, strict=False):
            row.update(change)
        with path.open("w", newline="") as file:
            writer = csv.DictWriter(file, rows[0])
            writer.writeheader()
            writer.writerows(rows)
        return path

    return write


def test_a_sheet_that_is_filled_in_comes_back(cellar_book: Book, filled: Filled) -> None:
    """Figures, words and verdicts; a row that gives nothing is passed over, a name like a formula is the same name."""
    rows = [
        {"honey": "6", "oak": "30", "overall": "12.5", "words": "wax, resin", "verdict": "look again 8 weeks"},
        {"overall": "11"},
        {},
        {"honey": "-", "oak": "12,5"},
    ]
    assert take_scores(cellar_book, "f", filled(rows)) == {"Ada": 2, "=Bea": 1}
    poured = flight(cellar_book, "F")
    first, last = poured.scores[poured.orders["Ada"][0], "Ada"], poured.scores[poured.orders["=Bea"][1], "=Bea"]
    assert (first.value, first.words, dict(first.marks)) == (12.5, "wax, resin", {"honey": 6, "oak": 30})
    assert first.verdict == Judgement("look again", 8)
    assert dict(last.marks) == {"oak": 12.5}


def test_what_a_table_does_not_give_stays(cellar_book: Book, filled: Filled) -> None:
    """A score that was there keeps what the row leaves blank."""
    code = flight(cellar_book, "F").orders["Ada"][0]
    score(cellar_book, "F", code, "Ada", 9.0, "quiet", marks={"honey": 4})
    take_scores(cellar_book, "F", filled([{"oak": "55"}]))
    kept = flight(cellar_book, "F").scores[code, "Ada"]
    assert (kept.value, kept.words, dict(kept.marks)) == (9.0, "quiet", {"honey": 4, "oak": 55})


def test_names_that_are_new_to_the_panel_are_asked_back_together(cellar_book: Book, filled: Filled) -> None:
    """Once for the file; nothing of it is written before that is right."""
    path = filled([{"taster": "Adda", "overall": "9"}, {"taster": "Adda", "overall": "8"}, {"overall": "7"}])
    with pytest.raises(
        NotAmongTheTasters, match=r"^Adda is not among the tasters of F \(Ada, =Bea\); did you mean Ada"
    ):
        take_scores(cellar_book, "F", path)
    assert flight(cellar_book, "F").scores == {}
    assert take_scores(cellar_book, "F", path, sure=True) == {"Adda": 2, "=Bea": 1}


def test_a_table_of_one_who_left_is_asked_back(cellar_book: Book, filled: Filled) -> None:
    """Nothing of it is written before that is right."""
    leave(cellar_book, "F", "Ada")
    path = filled([{"overall": "9"}, {}, {"overall": "7"}])
    with pytest.raises(BackAfterLeaving, match="Ada left F"):
        take_scores(cellar_book, "F", path)
    assert flight(cellar_book, "F").scores == {}
    take_scores(cellar_book, "F", path, sure=True)
    assert flight(cellar_book, "F").departed == {}


def test_all_problems_are_found_at_once_and_nothing_is_written(cellar_book: Book, filled: Filled) -> None:
    """By line and column; the good rows beside them are not written either."""
    path = filled(
        [{"honey": "11"}, {"overall": "12", "verdict": "huh"}, {"glass": "999", "overall": "3"}, {"oak": "7"}]
    )
    with pytest.raises(ManyProblems) as error:
        take_scores(cellar_book, "F", path)
    lines = str(error.value).splitlines()
    assert lines[0].startswith("3 problems; ")
    assert [line.partition(":")[0] for line in lines[1:]] == [
        "scores.csv line 2, column honey",
        "scores.csv line 3, column verdict",
        "scores.csv line 4, column glass",
    ]
    assert flight(cellar_book, "F").scores == {}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "taster,glass,smoke\n",
            "there is no column 'smoke' for F; its columns are flight, taster, place, glass",
        ),
        ("taster,honey\nAda,3\n", "the column 'glass' is missing"),
        ("taster,glass,oak,OAK\n", "the column 'oak' stands there twice"),
    ],
)
def test_a_header_that_is_none_is_one_line(
    cellar_book: Book, filled: Filled, tmp_path: Path, text: str, why: str
) -> None:
    """It names the columns there are."""
    path = tmp_path / "other.csv"
    path.write_text(text)
    with pytest.raises(BadHeader, match=why):
        take_scores(cellar_book, "F", path)


def test_one_glass_is_scored_once_in_a_table_and_in_its_own_flight(cellar_book: Book, filled: Filled) -> None:
    """Two rows of a glass, and a row of another flight, are refused with their place."""
    code = flight(cellar_book, "F").orders["Ada"][0]
    for change, why in (
        ([{"oak": "1"}, {"oak": "2", "glass": code}], r"line 3, column glass: Ada scored glass \d+ in line 2 already"),
        ([{"oak": "1", "flight": "G"}], "line 2, column flight: is not F"),
    ):
        with pytest.raises(CooperageError, match=why):
            take_scores(cellar_book, "F", filled(change))


def test_a_flight_that_is_closed_takes_no_table(cellar_book: Book, filled: Filled) -> None:
    """Its scores stand."""
    path = filled([{"oak": "1"}])
    reveal(cellar_book, "F", sure=True)
    with pytest.raises(CooperageError, match="has been revealed") as error:
        take_scores(cellar_book, "F", path)
    assert isinstance(error.value.__cause__, AlreadyRevealed)
