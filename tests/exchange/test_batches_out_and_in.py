"""Honeys and batch sheets go out and come back the same, corrections too; what is wrong is shown all at once."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.errors import ManyProblems
from cooperage.programme.batches.kept import batches_in, honeys_in, keep_batch, keep_honey
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed, Juice


def rows(book: Book) -> Any:
    with book.reading() as connection:
        return honeys_in(connection), batches_in(connection)


@pytest.fixture
def other(tmp_path: Path, empty_cellar: Path, clock: Any) -> Book:
    return Book.open(str(shutil.copy(empty_cellar, tmp_path / "other.db")), clock)


def test_they_come_back_the_same(cellar_book: Book, other: Book, tmp_path: Path) -> None:
    keep_honey(
        cellar_book, Honey("", "HB-1", 200_001, "moor", "heather", "July", "7", 17.25, "index", 8.25, note="a\nb")
    )
    keep_honey(cellar_book, Honey("", "HB-1", 210_000, moisture=None))
    juice = (Juice("sour cherry", 120_001, 1.0567913466933512),)
    for moisture in (17.2, None):
        keep_honey(cellar_book, Honey("", "HB-2", 200_000, moisture=moisture))
        keep_batch(cellar_book, Batch("", "HEATHER", 350_000, (HoneyUsed("HB-2", 99_999),), juice, "ours", 14.0, 12.5))
    export_folder(cellar_book, tmp_path / "out")
    import_folder(other, tmp_path / "out")
    assert rows(other) == rows(cellar_book)
    assert sum(import_folder(other, tmp_path / "out").counts.values()) == 0
    other.close()


def test_a_file_of_honeys_and_batches_is_calculated_like_any_sheet(cellar_book: Book, tmp_path: Path) -> None:
    (tmp_path / "honeys.csv").write_text("code,mass,moisture\nHB-1,200 kg,17.2 %\n")
    (tmp_path / "batches.csv").write_text("lot,water,honeys,tolerance\nheather,350 L,hb-1=150 kg,14 %\n")
    import_folder(cellar_book, tmp_path)
    _, [batch] = rows(cellar_book)
    assert batch.target_sg == pytest.approx(1.1050, abs=0.0002)
    assert batch.lot == "HEATHER"


def test_all_that_is_wrong_is_shown_at_once(cellar_book: Book, tmp_path: Path) -> None:
    (tmp_path / "honeys.csv").write_text("code,mass,moisture\nHB-1,200 kg,90 %\nHB-2,1 kg,17 %\n")
    (tmp_path / "batches.csv").write_text("lot,water,honeys\nNOPE,1 L,\nHEATHER,1 L,HB-2=9 kg\nLIME,1 L,HB-2\n")
    with pytest.raises(ManyProblems) as caught:
        import_folder(cellar_book, tmp_path)
    text = str(caught.value)
    for part in ("the moisture cannot be 90", "NOPE", "of honey HB-2 1 kg came in", "'HB-2' is not understood"):
        assert part in text
    assert rows(cellar_book) == ([], [])
