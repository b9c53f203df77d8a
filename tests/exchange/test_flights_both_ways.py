"""Any flight with attributes goes out and comes back the same, blind or closed; so does the vocabulary."""

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.allowed import LEAST_FIGURE
from cooperage.book.declared.verdicts import Judgement
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.exchange.errors import Placed
from cooperage.tasting.flights import Flight, flights, peek, reveal, score, start_flight
from cooperage.tasting.flights.vocabulary import Term, rename_term, retire_term, vocabulary

SCALES = {"oak": "0-10", "liking": "1-9 hedonic", "honey": "0-100 mm"}
figures = {
    "oak": st.just(0.0) | st.floats(LEAST_FIGURE, 10),
    "liking": st.integers(1, 9).map(float),
    "honey": st.just(0.0) | st.floats(LEAST_FIGURE, 100),
}
scores = st.fixed_dictionaries(
    {
        "glass": st.integers(0, 3),
        "taster": st.sampled_from(["Ada", "Bo", "Cleo; =1", "Ünal"]),
        "value": st.none() | st.just(0.0) | st.floats(LEAST_FIGURE, 20),
        "words": st.text("ab,;é '\n=", max_size=12).map(str.strip),
        "marks": st.fixed_dictionaries({}, optional=figures),
        "verdict": st.none() | st.sampled_from([Judgement("keep"), Judgement("look again", 8)]),
    }
)


def there(book: Book) -> tuple[list[Flight], list[Term]]:
    return flights(book), vocabulary(book, with_retired=True)


@pytest.mark.slow
@settings(max_examples=15)
@given(st.lists(scores, max_size=6), st.booleans(), st.booleans())
def test_a_flight_comes_back_as_it_was(
    fresh_sqlite: Callable[[], Book], given_scores: list[dict[str, Any]], closed: bool, renamed: bool
) -> None:
    """Exported and imported, and copied: glasses, scales, marks, verdicts, orders, peeks, words."""
    book, other = fresh_sqlite(), fresh_sqlite()
    for tag in ("T-1", "B-1", "K-1"):
        book.write(acts.Receive(lot="heather", vessel=tag, volume=20_000, sure=True))
        for _ in range(5):
            other.now()  # so late there too
    poured = start_flight(
        book,
        ["B-1", "T-1"],
        code="F",
        attributes=[f"{name}={scale}" for name, scale in SCALES.items()],
        tasters=["Ada"],
        reference="K-1",
        control="B-1",
    )
    for each in given_scores:
        code = poured.glasses[each["glass"]].code
        more = {"marks": each["marks"], "verdict": each["verdict"]}
        score(book, "F", code, each["taster"], each["value"], each["words"], **more)
    if renamed:
        peek(book, "F", hand="Maren")
        rename_term(book, "attribute", "oak", "wood")
        retire_term(book, "word", "dill")
    if closed:
        reveal(book, "F", hand="Maren", sure=True)
    with TemporaryDirectory() as folder:
        export_folder(book, Path(folder) / "out")
        import_folder(other, Path(folder) / "out")
        assert there(other) == there(book)
        assert not any(finding.broken for finding in other.check())
        again = import_folder(other, Path(folder) / "out")
        assert not any(again.counts.values())
        copied = Path(folder) / "copy.db"
        copy_book(book, str(copied))
        copy = Book.open(str(copied))
        assert there(copy) == there(book)
        copy.close()
    book.close()
    other.close()


@pytest.mark.parametrize(
    ("flights_csv", "scores_csv", "why"),
    [
        ("smoke=0-10", "", r"flights.csv line 2, column attributes: there is no attribute 'smoke'"),
        ("oak=tall", "", r"flights.csv line 2, column attributes: 'tall' is not a scale"),
        ("oak=0-10", "oak=11", r"scores.csv line 2, column marks: oak 11 is not on the scale 0-10"),
        ("oak=0-10", "honey=3", r"scores.csv line 2, column marks: 'honey' is not scored in flight F"),
        ("oak=0-10", "oak", r"scores.csv line 2, column marks: 'oak' has no figure"),
    ],
)
def test_what_a_flight_does_not_have_is_refused_with_its_place(
    small: Book, folder: Callable[..., Path], flights_csv: str, scores_csv: str, why: str
) -> None:
    """File, line and column, and nothing is written."""
    path = folder(
        flights=f"code,scale,poured,attributes\nF,0-20,2026-02-01,{flights_csv}\n",
        scores=f"flight,glass,vessel,taster,score,marks\nF,111,B-1,Ada,12,{scores_csv}\n",
    )
    with pytest.raises(Placed, match=why):
        import_folder(small, path)
    assert flights(small) == []


def test_an_order_that_is_not_each_glass_once_is_refused(small: Book, folder: Callable[..., Path]) -> None:
    """It could not be tasted."""
    path = folder(
        flights="code,scale,poured\nF,0-20,2026-02-01\n",
        scores="flight,glass,vessel\nF,111,B-1\nF,222,T-1\n",
        servings="flight,taster,place,glasses\nF,Ada,0,111 111\n",
    )
    with pytest.raises(Placed, match=r"servings.csv line 2, column glasses: is not each glass of the flight once"):
        import_folder(small, path)


def test_a_verdict_without_its_weeks_is_refused(small: Book, folder: Callable[..., Path]) -> None:
    """As everywhere else."""
    path = folder(
        flights="code,scale,poured\nF,0-20,2026-02-01\n",
        scores="flight,glass,vessel,taster,verdict\nF,111,B-1,Ada,look again\n",
    )
    with pytest.raises(Placed, match=r"scores.csv line 2, column verdict: 'look again' needs the weeks"):
        import_folder(small, path)
