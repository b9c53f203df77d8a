"""What was learned is kept for as long as the book says the same, and dropping it changes nothing."""

import json
import stat
from datetime import timedelta
from pathlib import Path

import pytest

from cooperage.book import Book, Lot, Upkeep, Vessel, utc_now
from cooperage.book.declared import acts
from cooperage.programme import kept as kept_module
from cooperage.programme.ageing.aged import AgedStanding, cellar_now
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.kept import FOLDER, kept
from cooperage.programme.losses.ledger import loss_rates
from cooperage.tasting.flights import flight, reveal, score, start_flight


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder in which what is learned is kept."""
    monkeypatch.setenv(FOLDER, str(tmp_path / "kept"))
    return tmp_path / "kept"


class Learning:
    """Something that counts how often it was learned."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self) -> list[float]:
        self.times += 1
        return [0.1, 1 / 3, float(self.times)]

    def kept(self, mark: str) -> list[float]:
        return kept(mark, "rates", self, list, lambda found: [float(each) for each in found])


def test_what_is_kept_is_learned_once(folder: Path) -> None:
    """The same mark finds it again, to the last bit; another does not, and no mark keeps nothing."""
    learning = Learning()
    assert learning.kept("a") == learning.kept("a") == [0.1, 1 / 3, 1.0]
    assert learning.kept("b")[2] == 2.0
    assert learning.kept("")[2] == 3.0
    assert len(list(folder.iterdir())) == 2


def test_code_that_learns_otherwise_finds_nothing_that_was_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After an update everything is learned again."""
    learning = Learning()
    learning.kept("a")
    monkeypatch.setattr(kept_module, "_code", lambda: "another version")
    assert learning.kept("a")[2] == 2.0


@pytest.mark.parametrize("broken", [b"", b"[0.1, ", b"[0.1, null, 2]", b"7", b"\xff\xfe", b'{"a": 1}x'])
def test_a_broken_file_is_learned_again_and_mended(folder: Path, broken: bytes) -> None:
    """Cut short, emptied or of another kind: no word of it, and the next time it is whole."""
    learning = Learning()
    learning.kept("a")
    [path] = folder.iterdir()
    path.write_bytes(broken)
    assert learning.kept("a")[2] == 2.0
    assert json.loads(path.read_text())[2] == 2.0


def test_a_folder_that_cannot_be_written_only_costs_time(folder: Path) -> None:
    """A file stands where the folder should be."""
    folder.write_text("not a folder")
    learning = Learning()
    learning.kept("a")
    assert learning.kept("a")[2] == 2.0


def test_what_is_kept_is_for_nobody_else_and_does_not_grow(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the newest files stay."""
    monkeypatch.setattr(kept_module, "_MOST_FILES", 3)
    learning = Learning()
    for mark in "abcde":
        learning.kept(mark)
    files = list(folder.iterdir())
    assert len(files) == 3
    assert all(stat.S_IMODE(path.stat().st_mode) & 0o077 == 0 for path in files)


@pytest.mark.slow
def test_dropping_what_is_kept_changes_no_figure(demo_file: Path, folder: Path) -> None:
    """Every figure, band and loss rate of the demo: learned, and found again; equal to the last bit."""
    moment = utc_now()
    book = Book.open(str(demo_file), lambda: moment)

    def everything() -> str:
        cellar = cellar_now(book)
        aged = [each for each in cellar if isinstance(each, AgedStanding)]
        return repr((loss_rates(book, cellar), [[each.now(name) for name in AGEINGS] for each in aged]))

    learned = everything()
    files = {path: path.stat().st_mtime_ns for path in folder.iterdir()}
    assert {path.stem.split("-", 1)[1] for path in files} == {"loss_rates", "gravities", "warmth", *AGEINGS}
    assert everything() == learned
    assert {path: path.stat().st_mtime_ns for path in folder.iterdir()} == files
    book.close()


def test_whatever_is_written_changes_the_mark(cellar_book: Book) -> None:
    """Nothing that was learned before a write is found after it: a reading, a topping, the air, a strike."""
    marks = [cellar_book.cellar().mark]
    for act in (
        acts.Reading(vessel="B-1", property="ph", value=3.5),
        acts.Top(vessel="B-1", source="K-1", volume=500),
        acts.Climate(room="Loft", temperature=12.0, humidity=70.0),
    ):
        written = cellar_book.write(act)
        marks.append(cellar_book.cellar().mark)
    cellar_book.write(acts.Strike(entry=written.id))
    marks.append(cellar_book.cellar().mark)
    assert cellar_book.cellar().mark == marks[-1]
    assert len(set(marks)) == len(marks)
    assert all(marks)


def test_who_is_registered_changes_the_mark(cellar_book: Book) -> None:
    """A vessel, its care and a lot are no entries, and count."""
    marks = [cellar_book.cellar().mark]
    with cellar_book.writing() as session:
        session.add_vessel(Vessel("new", "T-77", "tank", 500_000))
    marks.append(cellar_book.cellar().mark)
    with cellar_book.writing() as session:
        session.set_upkeep("T-77", Upkeep(va_ceiling_g_l=0.8))
    marks.append(cellar_book.cellar().mark)
    with cellar_book.writing() as session:
        session.add_lot(Lot("new", "L-77", "A lot"))
    marks.append(cellar_book.cellar().mark)
    assert len(set(marks)) == len(marks)


def test_a_revealed_flight_changes_the_mark(cellar_book: Book) -> None:
    """What panels scored says what is left in the wood; while a flight is blind nothing is learned from it."""
    start_flight(cellar_book, ["B-1"], code="F")
    score(cellar_book, "F", flight(cellar_book, "F").glasses[0].code, "Ada", 14.0)
    blind = cellar_book.cellar().mark
    reveal(cellar_book, "F")
    assert blind != cellar_book.cellar().mark != ""


def test_a_past_moment_has_no_mark(cellar_book: Book) -> None:
    """What stood then is learned from what was known then."""
    assert cellar_book.cellar(cellar_book.now() - timedelta(minutes=1)).mark == ""
