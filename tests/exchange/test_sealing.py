"""A blind flight goes out and comes back whole, and the files tell nobody what is in its glasses."""

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.exchange import import_folder
from cooperage.exchange.errors import Placed
from cooperage.exchange.exporting import export_folder
from cooperage.exchange.sealing import SEALED, BrokenSeal, seal, unseal
from cooperage.tasting.flights import flights, reveal, score, start_flight

if TYPE_CHECKING:
    from tests.conftest import Clock


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=90)
rows = st.fixed_dictionaries(dict.fromkeys(("flight", "glass", "taster", "position", "id", *SEALED), texts))


@given(rows)
def test_what_is_sealed_comes_back(cells: Any) -> None:
    """Every row, whatever stands in it; nothing that tells stands outside the seal."""
    there = {name: text for name, text in cells.items() if text}
    hidden = {name: text for name, text in seal(cells).items() if text}
    assert not set(hidden) & set(SEALED)
    assert unseal(hidden) == there


@given(rows)
def test_a_seal_looks_the_same_twice_and_unlike_in_another_row(cells: Any) -> None:
    """Two exports of one book agree; two glasses of one vessel do not look alike, not even in length."""
    short = cells | dict.fromkeys(SEALED, "") | {"vessel": cells["vessel"][:5], "score": "12"}
    assert seal(short) == seal(short)
    other = short | {"glass": short["glass"] + "1", "vessel": "B-1"}
    assert seal(short)["sealed"] != seal(other)["sealed"]
    assert len(seal(short)["sealed"]) == len(seal(other)["sealed"])


def test_the_last_letter_of_a_seal_has_one_way_to_be_right() -> None:
    """136 bytes leave two bits of it without a meaning: a letter that differs in them alone is another one."""
    sealed = seal({"flight": "F", "glass": "1", "taster": "Ada", "vessel": "B-1", "words": "w" * 80})
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
    assert len(sealed["sealed"]) == 218
    for letter in letters:
        text = sealed["sealed"][:-1] + letter
        if text != sealed["sealed"]:
            with pytest.raises(BrokenSeal):
                unseal(sealed | {"sealed": text})


@given(rows, st.data())
def test_a_broken_seal_is_told(cells: Any, data: st.DataObject) -> None:
    """Changed, cut, or moved to another glass: refused, never read as something else."""
    sealed = seal(cells)
    place = data.draw(st.integers(0, len(sealed["sealed"]) - 1))
    letter = data.draw(st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567 é="))
    for text in (sealed["sealed"][:place] + letter + sealed["sealed"][place + 1 :], sealed["sealed"][:place]):
        if text != sealed["sealed"]:
            with pytest.raises(BrokenSeal):
                unseal(sealed | {"sealed": text})
    with pytest.raises(BrokenSeal):
        unseal(sealed | {"glass": cells["glass"] + "9"})


@pytest.fixture
def blind(cellar_book: Book) -> Any:
    """Three glasses, B-1 in two of them, scored by two, still blind; and a bench glass."""
    trials = {"901": "plan: 9 ml B-1"}
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="BLIND", hidden_duplicate=True, trials=trials)
    for taster in ("Iko", "Jory"):
        for place, glass in enumerate(poured.glasses):
            score(cellar_book, "BLIND", glass.code, taster, 11.25 + place, f"words {place}")
    return cellar_book


@pytest.fixture
def came(empty_cellar: Path, tmp_path: Path, clock: "Clock") -> Iterator[Any]:
    """An empty cellar to bring it into, later than the other."""
    clock.pass_days(1)
    book = Book.open(str(shutil.copy(empty_cellar, tmp_path / "came.db")), clock)
    yield book
    book.close()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["out", "out.xlsx"])
def test_a_blind_flight_comes_back_whole(blind: Any, came: Any, tmp_path: Path, name: str) -> None:
    """Exported and imported, and exported from there: the same flight, still blind, and the same files."""
    export_folder(blind, tmp_path / name)
    import_folder(came, tmp_path / name)
    (there,), (here,) = flights(came), flights(blind)
    assert there.is_blind
    assert (there.glasses, there.scores, there.code) == (here.glasses, here.scores, here.code)
    export_folder(came, tmp_path / f"again {name}")
    if name == "out":
        for file in ("flights.csv", "scores.csv"):
            assert (tmp_path / name / file).read_bytes() == (tmp_path / f"again {name}" / file).read_bytes()


def test_the_files_of_a_blind_flight_tell_nothing(blind: Any, tmp_path: Path) -> None:
    """Neither vessel nor score nor words beside a code; once revealed all in the clear and nothing sealed."""
    export_folder(blind, tmp_path / "out")
    with (tmp_path / "out" / "scores.csv").open(newline="") as file:
        result = list(csv.DictReader(file))
    assert len(result) == 8
    assert all(row["sealed"] and not any(row[name] for name in SEALED) for row in result)
    assert len({row["sealed"] for row in result}) == 8
    reveal(blind, "BLIND")
    export_folder(blind, tmp_path / "later")
    with (tmp_path / "later" / "scores.csv").open(newline="") as file:
        result = list(csv.DictReader(file))
    assert all(not row["sealed"] and row["score"] and row["words"] for row in result)


def test_a_broken_seal_is_one_line_with_its_place(blind: Any, came: Any, tmp_path: Path) -> None:
    """The import names file, line and column, and writes nothing."""
    export_folder(blind, tmp_path / "out")
    path = tmp_path / "out" / "scores.csv"
    lines = path.read_bytes().split(b"\r\n")
    lines[2] = lines[2][:-4] + b"AAAA"
    path.write_bytes(b"\r\n".join(lines))
    with pytest.raises(Placed, match=r"scores.csv line 3.*sealed.*the seal is broken"):
        import_folder(came, tmp_path / "out")
    assert flights(came) == []
