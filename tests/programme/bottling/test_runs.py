"""A bottling run from opening to close: by hand, refused, reopened, through files, and killed between two lines."""

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.book import Book
from cooperage.book.bottles import bottle_stock
from cooperage.book.declared import acts
from cooperage.book.declared.places import Outside
from cooperage.book.errors import AlreadyThere, Implausible, InQuarantine
from cooperage.book.store.engine import writing
from cooperage.errors import Refused
from cooperage.exchange import export_folder, import_folder
from cooperage.programme.bottling.closing import HowClosed
from cooperage.programme.bottling.errors import (
    FewerFilled,
    NoSuchLine,
    NotASizeOfIt,
    NothingInRun,
    RestIntoItself,
    RunIsClosed,
    RunNotOpened,
    RunTakesMore,
    VesselInARun,
)
from cooperage.programme.bottling.opening import open_run
from cooperage.programme.bottling.run import BottlingRun, RunLineKind
from cooperage.programme.bottling.shown import run_shown, runs_shown
from cooperage.programme.bottling.stored import codes_of, find_run, open_runs, runs_in
from cooperage.programme.bottling.writing import strike_line, write_line
from cooperage.programme.bottling_risks.risks import risks
from cooperage.programme.orders.bottled import close_run
from cooperage.programme.orders.kept import open_orders, order_numbered
from cooperage.programme.orders.written import write_order
from cooperage.programme.rules.kept import use_profile
from cooperage.programme.several.wanted import Wanted
from cooperage.programme.several.written import strike_together
from cooperage.programme.upkeep.cautions import cautions_of_bottling
from cooperage.units import DEFAULT, local_day

SIZES: dict[int, int | None] = {750: None, 375: 96}


def opened(book: Book, *tags: str, code: str = "SALT", sizes: dict[int, int | None] | None = None) -> BottlingRun:
    sizes = sizes or {750: None}
    found = risks(book, tags, sizes)
    return open_run(book, code, tags, sizes, found, {each.name: "settled at the line" for each in found})


def count(book: Book, kind: RunLineKind, bottles: int, size: int | None = None) -> None:
    write_line(book, "SALT", kind, bottles=bottles, bottle_ml=size)


def litres(book: Book, *tags: str) -> list[int]:
    cellar = book.cellar()
    return [cellar[tag].ml for tag in tags]


def codes(book: Book, code: str = "SALT") -> list[str]:
    with book.reading() as connection:
        return codes_of(connection, find_run(connection, code))


def whole(book: Book) -> bool:
    return not any(finding.broken for finding in book.check())


def test_two_sizes_from_one_tank_by_hand(cellar_book: Book) -> None:
    """T-1 holds 860 L less B-1's filling; 100 of 750 ml, 96 of 375 ml, 2 rejects, 0.3 L sampled, 2.5 L in the line."""
    [there] = litres(cellar_book, "T-1")
    run = opened(cellar_book, "T-1", sizes=SIZES)
    assert run.expected.fill_ml == there - round(there / 100)
    count(cellar_book, RunLineKind.FILLED, 60, 750)
    count(cellar_book, RunLineKind.FILLED, 40, 750)
    count(cellar_book, RunLineKind.FILLED, 96, 375)
    count(cellar_book, RunLineKind.REJECTS, 2, 750)
    write_line(cellar_book, "", RunLineKind.SAMPLE, ml=300)
    run = close_run(
        cellar_book, "salt", HowClosed(retained={750: 6, 375: 2}, store="library", line_loss_ml=2_500, rest="T-2")
    )
    left = there - 75_000 - 36_000 - 1_500 - 300 - 2_500
    assert run.closed is not None
    assert run.closed.came_to == {
        "there_ml": there,
        "filled_ml": 111_000,
        "rejects_ml": 1_500,
        "line_loss_ml": 2_500,
        "samples_ml": 300,
        "left_ml": left,
        "rest": "T-2",
        "left_in_ml": {"T-1": left},
    }
    assert codes(cellar_book) == ["SALT-750", "SALT-375"]
    assert litres(cellar_book, "T-1", "T-2") == [0, left]
    with cellar_book.reading() as connection:
        stock = {(each.code, each.place): each.bottles for each in bottle_stock(connection)}
    assert stock[("SALT-750", "library")] == 6
    assert stock[("SALT-750", "")] == 94
    assert (stock[("SALT-375", "library")], stock[("SALT-375", "")]) == (2, 94)
    assert whole(cellar_book)


def test_two_barrels_are_drawn_from_in_their_order(cellar_book: Book) -> None:
    """B-1 is emptied but for less than a bottle, which was lost; the rest is of B-4 and is written off where asked."""
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1"))
    first, second = litres(cellar_book, "B-1", "B-4")
    opened(cellar_book, "B-1", "B-4")
    count(cellar_book, RunLineKind.FILLED, 4 * 80)
    close_run(cellar_book, "", HowClosed(line_loss_ml=2_000, rest="lost"), sure=True)
    bottles = {first // 750, 320 - first // 750}
    with cellar_book.reading() as connection:
        assert {each.bottles for each in bottle_stock(connection) if each.place == ""} == bottles
        moved: dict[str, int] = dict(
            connection.execute(text("SELECT destination_id, sum(ml) FROM move GROUP BY 1")).all()
        )
    assert codes(cellar_book) == ["SALT-B-1", "SALT-B-4"]
    assert litres(cellar_book, "B-1", "B-4") == [0, 0]
    assert (moved["bottled"], moved["spilled"]) == (240_000, 2_000)
    assert moved[Outside.GAUGING.value] == first + second - 242_000
    assert whole(cellar_book)


def test_a_run_that_was_struck_as_one_is_open_again(cellar_book: Book) -> None:
    """And a second close is refused until then."""
    before = litres(cellar_book, "T-1")
    opened(cellar_book, "T-1")
    count(cellar_book, RunLineKind.FILLED, 100)
    run = close_run(cellar_book, "", HowClosed(line_loss_ml=1_000, retained={750: 3}))
    with pytest.raises(RunIsClosed, match="SALT"):
        close_run(cellar_book, "SALT", HowClosed())
    with pytest.raises(RunIsClosed):
        count(cellar_book, RunLineKind.FILLED, 1)
    assert run.closed is not None
    strike_together(cellar_book, acts.Strike(entry=run.closed.entries[0], sure=True))
    with cellar_book.reading() as connection:
        assert [each.code for each in open_runs(connection)] == ["SALT"]
    assert litres(cellar_book, "T-1") == before
    close_run(cellar_book, "", HowClosed())
    assert codes(cellar_book) == ["SALT"]
    assert whole(cellar_book)


def test_closing_a_run_closes_the_order_whose_work_it_is(cellar_book: Book) -> None:
    """The one of its code goes first, the other on that vessel stays; once the run is struck it is open again."""
    today = local_day(cellar_book.now())
    for code in ("OTHER", "salt"):
        write_order(cellar_book, Wanted("bottle", {"vessel": "T-1", "code": code, "bottles": "90"}), today)
    opened(cellar_book, "T-1")
    count(cellar_book, RunLineKind.FILLED, 100)
    run = close_run(cellar_book, "", HowClosed(line_loss_ml=1_000))
    assert run.closed is not None
    assert [each.number for each in open_orders(cellar_book)] == [1]
    assert set(order_numbered(cellar_book, "2").entries) <= set(run.closed.entries)
    strike_together(cellar_book, acts.Strike(entry=run.closed.entries[0], sure=True))
    assert [each.number for each in open_orders(cellar_book)] == [1, 2]


def test_what_does_not_fit_is_refused_and_nothing_is_written(cellar_book: Book) -> None:
    """The figure is named; the run stays open, and what was wrong is struck by a line."""
    [there] = litres(cellar_book, "B-1")
    opened(cellar_book, "B-1")
    with pytest.raises(NothingInRun):
        close_run(cellar_book, "", HowClosed())
    count(cellar_book, RunLineKind.FILLED, 400)
    with pytest.raises(RunTakesMore, match=r"300\.0 L, and B-1 hold 225\.0 L by the book: 75\.0 L too much"):
        close_run(cellar_book, "", HowClosed(line_loss_ml=0))
    with pytest.raises(RunTakesMore):
        close_run(cellar_book, "", HowClosed(line_loss_ml=500))
    run, struck = strike_line(cellar_book, "", 1, words="read the wrong counter")
    assert (struck.bottles, run.bottles(RunLineKind.FILLED), len(run.lines)) == (400, {}, 2)
    with pytest.raises(NoSuchLine):
        strike_line(cellar_book, "", 1)
    count(cellar_book, RunLineKind.FILLED, 10)
    with pytest.raises(NotASizeOfIt, match="500 mL is no size of it"):
        count(cellar_book, RunLineKind.FILLED, 10, 500)
    with pytest.raises(FewerFilled):
        close_run(cellar_book, "", HowClosed(retained={750: 11}))
    with pytest.raises(RestIntoItself):
        close_run(cellar_book, "", HowClosed(rest="b-1"))
    with pytest.raises(Refused):
        close_run(cellar_book, "", HowClosed(rest="lost"))  # it asks first: nearly all of the barrel would be gone
    assert litres(cellar_book, "B-1") == [there]
    with cellar_book.reading() as connection:
        assert len(runs_in(connection)[0].lines) == 3


def test_more_bottles_than_the_vessel_can_fill_are_asked_back(cellar_book: Book) -> None:
    """10000 where 300 can be; nothing is written unless that is so, and a count that fits is not asked about."""
    opened(cellar_book, "B-1")
    with pytest.raises(Implausible, match=r"run SALT would come to 7500.* and B-1 held 2\d\d"):
        write_line(cellar_book, "SALT", RunLineKind.FILLED, bottles=10_000, sure=False)
    run, _ = write_line(cellar_book, "SALT", RunLineKind.FILLED, bottles=250, sure=False)
    assert len(run.lines) == 1
    run, _ = write_line(cellar_book, "SALT", RunLineKind.FILLED, bottles=10_000, sure=True)
    assert len(run.lines) == 2


def test_what_stays_closed(cellar_book: Book) -> None:
    """Trouble without a reason, quarantine, a code that is taken, a vessel that is being bottled."""
    found = risks(cellar_book, ["T-1"], {750: None})
    with pytest.raises(RunNotOpened, match="living yeast"):
        open_run(cellar_book, "SALT", ["T-1"], {750: None}, found, {"strength": "measured"})
    with cellar_book.reading() as connection:
        assert runs_in(connection) == []
    opened(cellar_book, "T-1")
    with pytest.raises(AlreadyThere):
        opened(cellar_book, "B-1", code="salt")
    with pytest.raises(VesselInARun):
        opened(cellar_book, "B-1", "T-1", code="OTHER")
    cellar_book.write(acts.Bottle(vessel="T-1", code="NIGHT-375", bottles=10))
    with pytest.raises(AlreadyThere, match="NIGHT-375"):
        opened(cellar_book, "B-1", code="NIGHT", sizes=SIZES)
    cellar_book.write(acts.Judge(vessel="T-1", verdict="quarantine"))
    count(cellar_book, RunLineKind.FILLED, 10)
    with pytest.raises(InQuarantine):
        close_run(cellar_book, "", HowClosed())
    cellar_book.write(acts.Judge(vessel="B-1", verdict="quarantine"))
    with pytest.raises(InQuarantine):
        opened(cellar_book, "B-1", code="OTHER")


def test_runs_go_out_and_come_in(cellar_book: Book, empty_cellar: Path, tmp_path: Path) -> None:
    """Open and closed, with every line; a second import passes them over."""
    opened(cellar_book, "T-1", sizes=SIZES)
    count(cellar_book, RunLineKind.FILLED, 100, 750)
    write_line(cellar_book, "", RunLineKind.CHECK, bottle_ml=750, volumes_ml=[750.25, 748.1 + 0.2])
    write_line(cellar_book, "", RunLineKind.CLOSURE, words='cork "12", natural')
    strike_line(cellar_book, "", 1)
    count(cellar_book, RunLineKind.FILLED, 99, 750)
    close_run(cellar_book, "", HowClosed(line_loss_ml=1_001))
    opened(cellar_book, "B-1", code="OPEN")
    counts = export_folder(cellar_book, tmp_path / "out")
    assert [counts[name] for name in ("runs", "run_lines", "run_closings")] == [2, 6, 1]
    other = Book.open(str(shutil.copy(empty_cellar, tmp_path / "other.db")), cellar_book.now)
    import_folder(other, tmp_path / "out")
    with cellar_book.reading() as mine, other.reading() as theirs:
        assert runs_in(theirs) == runs_in(mine)
    again = import_folder(other, tmp_path / "out")
    assert again.passed_over["run_lines"] == 6
    assert codes(other) == ["SALT"]
    assert whole(other)


@pytest.mark.parametrize("table", ["run", "run_line", "run_closed"])
def test_no_row_is_changed(cellar_book: Book, table: str) -> None:
    """On both databases."""
    opened(cellar_book, "T-1")
    count(cellar_book, RunLineKind.FILLED, 10)
    close_run(cellar_book, "", HowClosed())
    last = f"TRUNCATE {table} CASCADE"
    if cellar_book._engine.dialect.name == "sqlite":
        last = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"
    for statement in (f"UPDATE {table} SET hand = 'Bo'", f"DELETE FROM {table}", last):
        with (
            pytest.raises(DBAPIError, match="a bottling run stands"),
            writing(cellar_book._engine) as connection,
        ):
            connection.execute(text(statement))
    assert whole(cellar_book)


_COUNTS = """
import os, signal, sys
from cooperage.book import Book
from cooperage.programme.bottling.run import RunLineKind
from cooperage.programme.bottling.writing import write_line
book = Book.open(sys.argv[1])
for _ in range(3):
    print(write_line(book, "SALT", RunLineKind.FILLED, bottles=12)[1].number, flush=True)
with book.writing() as session:
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_killed_between_two_lines_nothing_is_lost(
    fresh_sqlite: Callable[[], Book],
) -> None:
    """Every line that was acknowledged is there, and the run goes on."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    opened(book, "T-1")
    done = subprocess.run([sys.executable, "-c", _COUNTS, book.name], capture_output=True, text=True, check=False)
    assert done.returncode == -9, done.stderr
    assert done.stdout.split() == ["1", "2", "3"]
    count(book, RunLineKind.FILLED, 4)
    run = close_run(book, "", HowClosed())
    assert run.bottles(RunLineKind.FILLED) == {750: 40}
    assert litres(book, "T-1") == [870_000]
    assert whole(book)


def test_the_caution_of_several_vessels_names_them_once(cellar_book: Book) -> None:
    """Two that hold the same mead stand before one colon."""
    cellar_book.write(acts.Fill(vessel="B-4", source="T-1"))
    [caution] = cautions_of_bottling(("B-1", "B-4"), cellar_book.cellar())
    assert caution.text.startswith("B-1, B-4: ")
    assert "can burst" in caution.text


def test_the_target_before_the_first_check_is_by_the_last_run(cellar_book: Book) -> None:
    """A line that varied by 9 mL needs 720 + 3.719 x 9 = 753.5 mL, by rules that ask a mean."""
    use_profile(cellar_book, "EU", since=local_day(cellar_book.now()))
    opened(cellar_book, "T-1")
    volumes = [741.0, 741.0 + 9 * 2**0.5]
    write_line(cellar_book, "", RunLineKind.CHECK, volumes_ml=volumes)
    count(cellar_book, RunLineKind.FILLED, 10)
    close_run(cellar_book, "", HowClosed())
    opened(cellar_book, "T-1", code="NEXT")
    before = "\n".join(run_shown(cellar_book, "NEXT", DEFAULT).fills)
    assert before.startswith(
        "fill of 750 mL: not checked yet; in SALT it varied by 9.0 mL: set the line to a mean of 753.5 mL"
    )
    write_line(cellar_book, "", RunLineKind.CHECK, volumes_ml=[754.0, 754.2])
    after = run_shown(cellar_book, "NEXT", DEFAULT).fills
    assert after[0].startswith("fill of 750 mL: 2 bottles checked")
    assert [each.run.code for each in runs_shown(cellar_book, DEFAULT)] == ["NEXT", "SALT"]
