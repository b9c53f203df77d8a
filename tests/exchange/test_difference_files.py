"""Difference tests in files: exported and imported they are the same, and what cannot be is refused by line."""

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.errors import CooperageError
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.tastings.answer_sheets import answer_table, take_answers
from cooperage.tasting.difference.answering import answer
from cooperage.tasting.difference.closing import leave, reveal_any
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import difference_flights
from cooperage.tasting.flights.leaving import BackAfterLeaving
from tests.conftest import Clock

LONG = "T-1 with so many words about its acid that they do not stand in one block of a seal beside a short tag"


@pytest.fixture
def poured(cellar_book: Book) -> DifferenceFlight:
    """Two tasters with two sets each: the first answered one, the second left."""
    question = DifferenceQuestion("duo-trio", "alike", "", "", "B-1", 2, 0.1, 0.3, 0.7)
    made = start_difference(
        cellar_book, ["B-1"], question, ["Ada", "Bea"], bench=[LONG], code="D", name="acid", sure=True
    )
    answer(cellar_book, "D", "Ada", made.sets[0].codes[1])
    leave(cellar_book, "D", "Bea", hand="Maren")
    return difference_flights(cellar_book)[0]


@pytest.fixture
def came(tmp_path: Path, empty_cellar: Path, clock: Clock) -> Iterator[Book]:
    """An empty book on SQLite."""
    book = Book.open(str(shutil.copy(empty_cellar, tmp_path / "came.db")), clock)
    yield book
    book.close()


@pytest.mark.parametrize("revealed", [False, True], ids=["blind", "revealed"])
def test_it_comes_back_whole(
    cellar_book: Book, poured: DifferenceFlight, came: Book, tmp_path: Path, *, revealed: bool
) -> None:
    """Its question, glasses, sets, answers and who left; twice brought in it is passed over; and the files agree."""
    if revealed:
        reveal_any(cellar_book, "D", sure=True, hand="Maren")
    export_folder(cellar_book, tmp_path / "out")
    for _ in range(2):
        import_folder(came, tmp_path / "out")
    assert difference_flights(came) == difference_flights(cellar_book)
    assert difference_flights(came)[0].sets == poured.sets
    export_folder(came, tmp_path / "again")
    for file in ("flights.csv", "scores.csv", "sets.csv", "departures.csv"):
        assert (tmp_path / "out" / file).read_bytes() == (tmp_path / "again" / file).read_bytes()
    assert not any(finding.broken for finding in came.check())


def test_seals_are_of_one_length(cellar_book: Book, poured: DifferenceFlight, tmp_path: Path) -> None:
    """A bench glass of many words beside a short tag shows nothing by it."""
    export_folder(cellar_book, tmp_path / "out")
    for name in ("scores", "sets"):
        rows = list(csv.DictReader((tmp_path / "out" / f"{name}.csv").open()))
        assert len({len(row["sealed"]) for row in rows}) == 1
        assert len({row["sealed"] for row in rows}) == len(rows)


FLIGHTS = "code,name,scale,poured,test,aim,rounds,alpha,share,power\nD,,,2025-01-06,triangle,differ,1,0.05,0.5,0.8\n"
SCORES = "flight,glass,vessel,role\nD,111,B-1,A\nD,222,B-1,A\nD,333,T-1,B\n"
SETS = "flight,taster,round,glasses,answer\nD,Ada,1,111 222 333,333\n"


@pytest.mark.parametrize(
    ("file", "old", "new", "refused"),
    [
        ("flights", "triangle", "guess", "column test"),
        ("flights", "0.05", "5", "is not a chance"),
        ("flights", "triangle", "", "which the column test does not name"),
        ("flights", "D,,,", "D,,0-20,", "nothing is scored"),
        ("scores", "111,B-1,A", "111,B-1,", "column role"),
        ("sets", "111 222 333", "111 222", "is no set of this triangle test"),
        ("sets", "111 222 333", "111 222 222", "is no set of this triangle test"),
        ("sets", "111 222 333", "111 222 444", "is no set of this triangle test"),
        ("sets", "333,333", "333,444", "names 444"),
        ("sets", "333,333", "333,111 222", "name one glass"),
        ("sets", ",1,", ",2,", "column round"),
        ("sets", "D,Ada", "E,Ada", "there is no flight 'E'"),
    ],
)
def test_what_cannot_be_is_refused_by_line(
    came: Book, tmp_path: Path, file: str, old: str, new: str, refused: str
) -> None:
    """And nothing is written; put right, all of it is."""
    furnished(came)
    texts = {"flights": FLIGHTS, "scores": SCORES, "sets": SETS}
    folder = tmp_path / "in"
    folder.mkdir()
    for name, text in (texts | {file: texts[file].replace(old, new, 1)}).items():
        (folder / f"{name}.csv").write_text(text)
    with pytest.raises(CooperageError, match=refused):
        import_folder(came, folder)
    assert difference_flights(came) == []
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text)
    import_folder(came, folder)
    assert difference_flights(came)[0].sets[0].answer == ["333"]


def test_sets_come_by_themselves_too(cellar_book: Book, poured: DifferenceFlight, came: Book, tmp_path: Path) -> None:
    """A file of sets alone joins a flight that is there; a revealed one stands."""
    export_folder(cellar_book, tmp_path / "out")
    shutil.move(tmp_path / "out" / "sets.csv", tmp_path / "sets.csv")
    import_folder(came, tmp_path / "out")
    assert difference_flights(came)[0].sets == []
    import_folder(came, tmp_path / "sets.csv")
    assert difference_flights(came)[0].sets == poured.sets
    reveal_any(came, "D", sure=True)
    given = (tmp_path / "sets.csv").read_text().splitlines()
    (tmp_path / "sets.csv").write_text("\n".join([given[0], "D,Ada,1,111 222 333,,,,,"]))
    with pytest.raises(CooperageError, match="has other glasses in the book"):
        import_folder(came, tmp_path / "sets.csv")


def furnished(book: Book) -> None:
    from tests.conftest import furnish

    furnish(book)


def test_sheets_are_read_back(cellar_book: Book, poured: DifferenceFlight, tmp_path: Path) -> None:
    """As they were printed and filled in; all of it or nothing, each fault with its line, a blank answer too."""
    path = tmp_path / "answers.csv"
    header, *lines = answer_table(poured, ["Ada", "Bea"]).splitlines()
    filled = [f"{line}{line.split(',')[3].split()[2]}" for line in lines]
    faults = {
        1: lines[1],
        2: f"{lines[2]}-",
        3: f"{lines[3]}{lines[0].split(',')[3].split()[0]}",
    }
    for at, fault in faults.items():
        path.write_text("\n".join([header, *filled[:at], fault, *filled[at + 1 :]]))
        with pytest.raises(CooperageError, match=rf"line {at + 2}, column answer"):
            take_answers(cellar_book, "D", path)
    assert difference_flights(cellar_book)[0].sets == poured.sets
    path.write_text("\n".join([header, *filled]))
    with pytest.raises(BackAfterLeaving, match="Bea left D"):
        take_answers(cellar_book, "D", path)
    assert difference_flights(cellar_book)[0].sets == poured.sets
    assert take_answers(cellar_book, "D", path, sure=True) == {"Ada": 2, "Bea": 2}
    assert all(each.answer == [each.codes[2]] for each in difference_flights(cellar_book)[0].sets)
    assert difference_flights(cellar_book)[0].departed == {}
    path.write_text("\n".join([header, filled[0], filled[0]]))
    with pytest.raises(CooperageError, match="answered set 1 in line 2 already"):
        take_answers(cellar_book, "D", path)
