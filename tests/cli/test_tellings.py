"""Whatever was said with an entry is told again in every door: when it is written, in histories, in the book report."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from rich.style import Style

from cooperage.book import KINDS, Barrel, Book, Lot, Vessel
from cooperage.book.errors import ID_LETTERS
from cooperage.book.log import entries
from cooperage.programme.visits import Visit
from cooperage.settings import load_settings
from cooperage.tui.book.rows import BookRow
from cooperage.tui.book.words import BookLines

if TYPE_CHECKING:
    from tests.cli.conftest import Cooperage


WRITTEN = (
    # what is typed, what every door tells of it, and what a hand with gallons, Brix and Fahrenheit is told
    ("receive HE-24 T-1 1000", ["1000.0 L", "HE-24"], ["264.172 gal", "HE-24"]),
    ("lotend HE-24 --gravity 1.022", ["HE-24", "at a gravity of 1.022"], ["HE-24", "at a gravity of"]),
    ("lotcost HE-24 7.20", ["HE-24 7.20 by the litre"], ["HE-24 7.20 by the litre"]),
    (
        "rack T-1 400 --to T-2 --lees 12.5",
        ["400.0 L to T-2", "12.5 L lees"],
        ["105.6688 gal to T-2", "3.3022 gal lees"],
    ),
    ("fill B-1 100 --from T-1", ["100.0 L from T-1"], ["26.4172 gal from T-1"]),
    ("sample B-1 0.05", ["0.05 L"], ["0.0132 gal"]),
    ("top B-1 1.85 --from T-1 --not-full", ["1.85 L from T-1", "not filled"], ["0.4887 gal from T-1", "not filled"]),
    ("gauge B-1 99.5 --cause leak", ["99.5 L found", "L leak"], ["26.285 gal found", "gal leak"]),
    (
        "reading B-1 sg 1.022 --give-or-take 0.0007 --how hydrometer",
        ["gravity 1.022", "give or take 0.0007", "hydrometer"],
        ["gravity 5.6 Bx", "give or take 0.174 Bx", "hydrometer"],
    ),
    ("reading B-1 va_g_l 0.398909", ["volatile acidity 0.40 g/L"], ["volatile acidity 0.40 g/L"]),
    ("addition B-1 metabisulphite 2.5", ["2.5 g of potassium metabisulphite"], ["2.5 g of potassium metabisulphite"]),
    ("treat B-1 stir", ["lees stirred"], ["lees stirred"]),
    ("look B-1 --level low --bung weeping --smell egg", ["level low", "bung weeping", "smells of egg"], ["level low"]),
    (
        "judge B-1 again --weeks 8 --tasting F-4",
        ["look again", "in 8 weeks", "flight F-4"],
        ["look again", "in 8 weeks", "flight F-4"],
    ),
    ("judge B-2 again --weeks 1", ["look again", "in 1 week"], ["look again", "in 1 week"]),
    ("climate Loft 11.3 70", ["Loft 11.3 °C", "70.0 %"], ["Loft 52.3 °F", "70.0 %"]),
    ("shift B-1 --room Low --row C --bay 0 --tier 2", ["to Low C.0.2"], ["to Low C.0.2"]),
    (
        "blend T-2 B-1=20 --doses honey=1500",
        ["20.0 L from B-1", "1500.0 g (1.056 L) of honey"],
        ["5.2834 gal from B-1", "1500.0 g (0.279 gal) of honey"],
    ),
    (
        "bottle T-2 RUN-1 100 --bottle 0.5 --loss 2",
        ["100 bottles of 0.5 L as RUN-1", "2.0 L spilled or lost on the line"],
        ["100 bottles of 0.132 gal as RUN-1", "0.5283 gal spilled or lost on the line"],
    ),
    ("lotcost HE-24 7.15", ["HE-24 7.15"], ["HE-24 7.15"]),
    ("stow RUN-1 4x12 Shop", ["48 bottles of RUN-1 in Shop"], ["48 bottles of RUN-1 in Shop"]),
    (
        "remove RUN-1 12 sold --out-of Shop --to Inn --document 118",
        ["12 bottles of RUN-1 sold", "from Shop", "to Inn", "document 118"],
        ["12 bottles of RUN-1 sold", "from Shop", "to Inn", "document 118"],
    ),
    (
        "takeback RUN-1 6 --whose Inn --in Shop",
        ["6 bottles of RUN-1", "that were sold", "into Shop", "by Inn"],
        ["6 bottles of RUN-1", "that were sold", "into Shop", "by Inn"],
    ),
    ("stocktake RUN-1 41 --in Shop", ["41 bottles of RUN-1 counted", "in Shop"], ["41 bottles of RUN-1 counted"]),
    (
        "pourback RUN-1 2 T-1 --loss 0.05",
        ["2 bottles of RUN-1", "1.0 L from bottled", "0.05 L spilled or lost on the line"],
        ["2 bottles of RUN-1", "0.2642 gal from bottled"],
    ),
    ("retire B-2 --reason stave-split", ["stave-split"], ["stave-split"]),
    ("strike last", ["cancels retire"], ["cancels retire"]),
)
AMERICAN = 'volume = "gal"\ngravity = "brix"\ntemperature = "f"\n'


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """A cellar with one entry of every kind, each with a note and a hand; and what was said when each was written."""
    from click.testing import CliRunner

    from cooperage.cli import main

    path = tmp_path_factory.mktemp("told") / "cellar.db"
    book = Book.create(str(path))
    with book.writing() as session:
        for tag in ("T-1", "T-2"):
            session.add_vessel(Vessel("", tag, "tank", 1_000_000, "measured"))
        for tag in ("B-1", "B-2"):
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", ("Loft", "A", 1, 1), barrel=Barrel()))
        session.add_lot(Lot("", "HE-24", "Heather", "heather", 1.110, 1.010, 13.0))
    book.close()
    message = []
    for typed, *_ in WRITTEN:
        words = [*typed.split(), "--hand", "Tove", "--note", "cold day", "--sure"]
        done = CliRunner().invoke(main, ["--cellar", str(path), "log", *words])
        assert done.exit_code == 0, (typed, done.stderr)
        message.append(done.stdout)
    return path, message


@pytest.fixture
def american(tmp_path: Path) -> Any:
    """The settings of somebody who reads gallons, Brix and Fahrenheit."""
    path = tmp_path / "american.toml"
    path.write_text(AMERICAN)
    return {"COOPERAGE_CONFIG": str(path)}


def assert_in_order(lines: Any, at: Any) -> None:
    """Each line tells what its entry said, and its note."""
    assert len(lines) == len(WRITTEN)
    for line, entry in zip(lines, WRITTEN, strict=True):
        assert [piece for piece in entry[at] if piece not in line] == [], line
        assert "cold day" in line


def test_every_kind_is_written_here() -> None:
    """A new kind fails here until it is told."""
    assert {typed.split()[0] for typed, *_ in WRITTEN} == KINDS.keys()


def test_it_is_told_when_it_is_written(written: Any) -> None:
    """`cooperage log` confirms the entry as the book has it, not only its kind."""
    assert_in_order(written[1], 1)
    assert all("written: " in message and "; id 0" in message for message in written[1])


@pytest.mark.parametrize(("how", "at"), [("text", 1), ("csv", 1), ("json", 1), ("american", 2)])
def test_the_book_report_tells_it(
    cooperage_at: "Callable[[Path], Cooperage]", written: Any, american: Any, how: str, at: int
) -> None:
    """Text in the person's units; CSV and JSON in litres, Celsius and specific gravity."""
    cellar = cooperage_at(written[0])
    if how == "json":
        lines = [json.dumps(row, ensure_ascii=False) for row in cellar.json("report", "book")["rows"]]
    else:
        done = cellar.run("report", "book", *(["--csv"] if how == "csv" else []), env=american if at == 2 else None)
        rows = [",".join(row) for row in csv.reader(io.StringIO(done.stdout))] if how == "csv" else []
        lines = rows[1:] or [line for line in done.stdout.splitlines() if "cold day" in line]
    assert_in_order(sorted(lines, key=_written_order(written[0])), at)
    retired = next(line for line in lines if "stave-split" in line)
    assert "struck by " in retired


def _written_order(path: Any) -> Any:
    """Sort lines that hold an entry's id as the entries were written."""
    ids = [entry.id[:ID_LETTERS] for entry in _entries(path)]
    return lambda line: next(at for at, entry_id in enumerate(ids) if entry_id in line)


def _entries(path: Any) -> Any:
    book = Book.open(str(path))
    with book.reading() as connection:
        found = entries(connection, in_written_order=True)
    book.close()
    return found


@pytest.mark.parametrize("at", [1, 2])
def test_a_vessels_history_tells_it(
    cooperage_at: "Callable[[Path], Cooperage]", written: Any, american: Any, at: int
) -> None:
    """`cooperage barrel` tells values, not only that something was read."""
    result = cooperage_at(written[0]).run("barrel", "B-1", env=american if at == 2 else None).stdout
    for line, entry in zip(_lines_of(result), [each for each in WRITTEN if "B-1" in each[0]], strict=True):
        assert [piece for piece in entry[at] if piece not in line.replace("l to B-1", "l from T-1")] == [], line
        assert "(Tove)" in line
    rows = cooperage_at(written[0]).json("barrel", "B-1")["entries"]
    assert any("gravity 1.022" in row["text"] for row in rows)


def _lines_of(told: str) -> list[str]:
    return [line for line in told.splitlines() if "cold day" in line]


def test_the_book_screen_tells_it_in_short(written: Any, american: Any) -> None:
    """On a short line volumes are rounded, but every value read is there."""
    units = load_settings(american).units
    found = _entries(written[0])
    columns = BookLines(units, found[0].happened_at)
    lines = [columns.line(BookRow(Visit((entry,)), entry), 400, Style()).plain for entry in found]
    assert any("gravity 5.6 Bx, give or take 0.174 Bx, hydrometer" in line for line in lines)
    assert any("B-1       sampled 0.013 gal, " in line for line in lines)
    assert any("B-2       STRUCK: retired: stave-split" in line for line in lines)
    assert all("“cold day”" in line for line in lines)


def test_no_entry_has_a_volume_without_its_unit(cooperage_at: "Callable[[Path], Cooperage]", written: Any) -> None:
    """Of every kind: 400 litres are 400 under a key that ends in their unit, and millilitres are nowhere."""
    told = [entry for tag in ("T-1", "T-2", "B-1") for entry in cooperage_at(written[0]).json("barrel", tag)["entries"]]
    said = {entry["kind"]: entry["said"] for entry in told}
    assert (said["rack"]["volume_l"], said["rack"]["lees_l"], said["bottle"]["bottle_l"]) == (400.0, 12.5, 0.5)
    assert said["blend"]["draws"] == [{"vessel": "B-1", "volume_l": 20.0}]
    assert said["blend"]["doses"] == [{"substance": "honey", "amount": 1500.0, "unit": "g"}]
    assert (said["addition"]["amount"], said["addition"]["unit"]) == (2.5, "g")
    assert not [key for kind in said.values() for key in kind if key in ("volume", "loss", "lees", "headspace")]
    assert max(move["volume_l"] for entry in told for move in entry["moves"]) == 1000.0
