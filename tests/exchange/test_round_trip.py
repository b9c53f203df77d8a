"""What goes out comes back: the same ids, times, moves and states, on every backend."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.errors import CooperageError
from cooperage.exchange import copy_book, export_folder, import_folder
from cooperage.exchange.errors import InTheWay, NotCopied
from cooperage.outfile import NotWritten, ThereAlready
from cooperage.units import Quantity

if TYPE_CHECKING:
    from tests.conftest import Clock


COUNTS = {"vessels": 7, "lots": 2, "entries": 27, "vocabulary": 3, "flights": 1, "scores": 2, "servings": 2, "peeks": 1}
COUNTS |= {
    "sets": 0,
    "departures": 0,
    "facts": 2,
    "orders": 0,
    "ready": 0,
    "trials": 0,
    "barrel_trials": 0,
    "prices": 0,
}
COUNTS |= {"periods": 0, "filed_entries": 0}
COUNTS |= {"rules": 0, "risks_passed": 0}
COUNTS |= {"honeys": 0, "batches": 0}
COUNTS |= {"runs": 0, "run_lines": 0, "run_closings": 0}


def no_law_is_broken(book: Book) -> Any:
    return not any(finding.broken for finding in book.check())


@pytest.mark.slow
@pytest.mark.parametrize("form", ["folder", "book.xlsx"])
def test_export_then_import_is_the_same_book(
    lively: Book, fresh: Callable[[], Book], contents: Callable[[Book], dict[str, Any]], tmp_path: Path, form: str
) -> None:
    """Every kind, late entries, strikes and tastings come back with ids, times, moves and states, from any backend."""
    exported = export_folder(lively, tmp_path / form)
    again = fresh()
    again.now = lively.now
    imported = import_folder(again, tmp_path / form)
    assert imported.counts == exported == COUNTS
    assert contents(again) == contents(lively)
    assert no_law_is_broken(again)


@pytest.mark.parametrize("substance", sorted(SUBSTANCES))
def test_every_substance_that_is_added_comes_back(
    small: Book,
    fresh: Callable[[], Book],
    contents: Callable[[Book], dict[str, Any]],
    tmp_path: Path,
    substance: Any,
) -> None:
    """Grams and millilitres alike: an amount typed in litres is as whole in the files as one that a move holds."""
    unit = "L" if SUBSTANCES[substance].quantity is Quantity.VOLUME else "g"
    texts = {"vessel": "T-1", "substance": substance, "amount": f"1 {unit}"}
    small.write(parse_act("addition", texts, small.now()))
    again = fresh()
    again.now = small.now
    export_folder(small, tmp_path / "out")
    import_folder(again, tmp_path / "out")
    assert contents(again) == contents(small)


def test_import_into_each_backend(
    lively: Book,
    fresh: Callable[[], Book],
    contents: Callable[[Book], dict[str, Any]],
    tmp_path: Path,
    request: pytest.FixtureRequest,
    clock: "Clock",
) -> None:
    """What one cellar exports, an empty one on either backend takes in unchanged."""
    to_sqlite = "sqlite" in request.node.name
    target = fresh() if to_sqlite else Book.create(request.getfixturevalue("new_postgres")(), clock)
    target.now = clock
    export_folder(lively, tmp_path / "out")
    import_folder(target, tmp_path / "out")
    assert contents(target) == contents(lively)
    assert no_law_is_broken(target)
    target.close()


@pytest.mark.slow
def test_importing_twice_changes_nothing(
    lively: Book, fresh: Callable[[], Book], contents: Callable[[Book], dict[str, Any]], tmp_path: Path
) -> None:
    """A second import of the same files passes every row over and says so."""
    export_folder(lively, tmp_path / "out")
    again = fresh()
    again.now = lively.now
    import_folder(again, tmp_path / "out")
    before = contents(again)
    second = import_folder(again, tmp_path / "out")
    assert set(second.counts.values()) == {0}
    assert second.passed_over == COUNTS
    assert second.notes[0] == "passed over, in the book already: 7 of vessels"
    assert contents(again) == before


def test_an_export_does_not_overwrite(lively: Book, tmp_path: Path) -> None:
    """Files that are there stay as they are unless force is used; then they are replaced, and no half file is left."""
    (tmp_path / "lots.csv").write_text("mine")
    with pytest.raises(ThereAlready, match=r"lots\.csv is there already; give another path, or --force to replace it"):
        export_folder(lively, tmp_path)
    assert (tmp_path / "lots.csv").read_text() == "mine"
    assert not (tmp_path / "vessels.csv").exists()
    export_folder(lively, tmp_path, force=True)
    assert (tmp_path / "lots.csv").read_text(encoding="utf-8").startswith("code,name,honey")
    assert not list(tmp_path.glob(".*"))


def test_an_export_that_cannot_be_written_says_so(lively: Book, tmp_path: Path) -> None:
    """A path under a file is one clear line."""
    (tmp_path / "a file").write_text("")
    with pytest.raises(NotWritten, match="cannot be written"):
        export_folder(lively, tmp_path / "a file" / "out")


def test_a_workbook_holds_no_formulas(
    small: Book, tmp_path: Path, fresh: Callable[[], Book], contents: Callable[[Book], dict[str, Any]]
) -> None:
    """A note that begins with = stays text."""
    small.write(acts.Sample(vessel="T-1", volume=100, note="=1+1"))
    export_folder(small, tmp_path / "a.xlsx")
    again = fresh()
    import_folder(again, tmp_path / "a.xlsx")
    assert contents(again) == contents(small)


@pytest.mark.parametrize("form", ["folder", "book.xlsx"])
def test_a_book_with_old_control_characters_comes_back_with_them_spelt_out(
    small: Book, tmp_path: Path, fresh: Callable[[], Book], form: str
) -> None:
    """A tag and a note that no door takes today: the export shows which they were, and is taken."""
    with small.writing() as session:
        session.connection.exec_driver_sql(
            "UPDATE vessel SET tag = 'B' || char(27) || '1', note = 'ding' || char(7) WHERE kind = 'barrel'"
        )
    export_folder(small, tmp_path / form)
    again = fresh()
    import_folder(again, tmp_path / form)
    assert again.cellar()["B\\x1b1"].vessel.note == "ding\\x07"
    assert not any(finding.broken for finding in again.check())


def test_copy_is_row_for_row_and_proven(
    lively: Book, contents: Callable[[Book], dict[str, Any]], tmp_path: Path, clock: "Clock"
) -> None:
    """A copy to a new cellar holds every row, and breaks no law."""
    counts = copy_book(lively, str(tmp_path / "copy.db"))
    copy = Book.open(str(tmp_path / "copy.db"), clock)
    assert contents(copy) == contents(lively)
    assert counts["entry"] == 27
    assert no_law_is_broken(copy)
    copy.close()


@pytest.mark.slow
def test_copy_between_backends(
    lively: Book, contents: Callable[[Book], dict[str, Any]], new_postgres: Callable[[], str], clock: "Clock"
) -> None:
    """A cellar of either backend is copied to PostgreSQL unchanged."""
    url = new_postgres()
    copy_book(lively, url)
    copy = Book.open(url, clock)
    assert contents(copy) == contents(lively)
    copy.close()


def test_copy_refuses_a_cellar_that_holds_something(lively: Book, small: Book) -> None:
    """Nothing is ever copied over another cellar."""
    lively.now = small.now
    with pytest.raises(InTheWay, match="is not empty"):
        copy_book(lively, small.name)


def test_a_copy_of_a_broken_book_is_told(small: Book, tmp_path: Path) -> None:
    """What breaks a law in the original breaks it in the copy, and is not passed over in silence."""
    with small.writing() as session:
        session.connection.exec_driver_sql("UPDATE reckoned SET state = '{}'")
    with pytest.raises(NotCopied, match="breaks a law of the book"):
        copy_book(small, str(tmp_path / "copy.db"))


TAGS = st.sampled_from(["T-1", "T-2", "B-1", "B-2", "K-1"])
ML = st.integers(1, 240_000)
FLAG = st.booleans()
BACK = st.integers(0, 40)
PLAIN = st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp", "Cn"], include_characters="\n")
TEXT = st.text(PLAIN, max_size=12)
ACTS = st.one_of(
    st.builds(acts.Receive, lot=st.just("HE"), vessel=TAGS, volume=ML, note=TEXT),
    st.builds(acts.Fill, vessel=TAGS, source=TAGS, volume=st.none() | ML),
    st.builds(
        acts.Top, vessel=TAGS, source=TAGS, volume=st.integers(1, 6000), sure=st.booleans(), not_full=st.booleans()
    ),
    st.builds(acts.Rack, vessel=TAGS, destination=TAGS, volume=st.none() | ML, lees=st.integers(0, 3000)),
    st.builds(acts.Gauge, vessel=TAGS, volume=ML, sure=st.just(True)),
    st.builds(acts.Sample, vessel=TAGS, volume=st.integers(1, 1500), note=TEXT),
    st.builds(acts.Reading, vessel=TAGS, property=st.just("abv"), value=st.floats(3, 25), method=TEXT),
    st.builds(
        acts.Addition, vessel=TAGS, substance=st.just("honey"), amount=st.floats(0.001, 5000), sure=st.just(True)
    ),
    st.builds(
        acts.Addition,
        vessel=TAGS,
        substance=st.sampled_from(["water", "spirit"]),
        amount=ML.map(float),
        sure=st.just(True),
    ),
    st.builds(acts.Blend, vessel=TAGS, draws=st.lists(st.tuples(TAGS, ML), min_size=1, max_size=3).map(tuple)),
    st.builds(acts.Strike, entry=st.just("last")),
)


@pytest.mark.slow
@settings(max_examples=25)
@given(doings=st.lists(st.tuples(ACTS, BACK), max_size=25))
def test_any_book_comes_back_from_its_files(
    doings: list[Any],
    empty_cellar: Path,
    tmp_path_factory: pytest.TempPathFactory,
    contents: Callable[[Book], dict[str, Any]],
    clock: "Clock",
) -> None:
    """Whatever was written, in whatever order, late or struck: the files give back the same book."""
    place = tmp_path_factory.mktemp("trip")
    books = []
    for name in ("first.db", "again.db"):
        shutil.copy(empty_cellar, place / name)
        books.append(Book.open(str(place / name), clock))
    first, again = books
    _furnish(first)
    for act, days_back in doings:
        try:
            first.write(replace(act, at=clock() - timedelta(days=days_back)))
        except CooperageError:
            continue
    export_folder(first, place / "out")
    import_folder(again, place / "out")
    assert contents(again) == contents(first)
    for book in books:
        book.close()
    shutil.rmtree(Path(place))


def _furnish(book: Book) -> None:
    with book.writing() as session:
        session.add_lot(Lot("", "HE", "Heather", original_sg=1.098, final_sg=1.012))
        for tag, kind, ml in (("T-1", "tank", 900_000), ("T-2", "tank", 500_000), ("K-1", "keg", 50_000)):
            session.add_vessel(Vessel("", tag, kind, ml))
        for tag in ("B-1", "B-2"):
            session.add_vessel(Vessel("", tag, "barrel", 225_000, barrel=Barrel(fills_before=0)))
