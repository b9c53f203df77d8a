"""The real program in a real terminal: a walk, a dip, a flight, a blend, a retirement, a strike; and the book agrees.

The program runs on a pseudo-terminal of 80 by 24; `pyte` keeps what a person would see, and the script waits for the
screen to say so before it types on. At the end `check` holds and the litres are those the book's entries add up to.
"""

import os
import re
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.log import entries
from cooperage.tasting.flights import flights

PATIENCE = 30.0
"""Seconds until what must happen is missed; nothing is asserted of how long it takes."""


@pytest.fixture
def terminal(demo: Path, run_in_terminal: Any) -> Any:
    return run_in_terminal(demo)


def read_book(path: Path) -> Any:
    """The cellar and all entries as they stand, read by another connection."""
    book = Book.open(str(path))
    with book.reading() as connection:
        found = entries(connection, in_written_order=True)
    litres = {standing.tag: standing.ml for standing in book.cellar()}
    broken = [line for finding in book.check() for line in finding.broken]
    poured = flights(book)
    book.close()
    return found, litres, broken, poured


def top_ten(terminal: Any) -> list[tuple[str, str, int]]:
    """Top ten barrels from the rounds, number and Enter each; pass over what is no topping."""
    topped: list[tuple[str, str, int]] = []
    terminal.until("F3 rounds")
    terminal.type("f3")
    terminal.until(r"stops to do")
    while len(topped) < 10:
        seen = terminal.until(r"((B-\d+): (\w|SO2)|\+ writes order).*(\n.*)*\n (B-\d+) › ")
        tag = re.findall(r"^ (B-\d+) › ", seen, re.MULTILINE)[-1]
        keg = re.search(rf"{tag}: top .*  (K-\d+) holds", seen)
        if keg is None:
            terminal.type("-")
            terminal.until(rf"(?s)^(?!.*\n {tag} › )")
            continue
        ml = 700 + 10 * len(topped)
        terminal.type(f"{ml} ml", "enter")
        seen = terminal.until(rf"Written \d\d:\d\d  {tag}  top")
        if re.search(rf"^ {tag} › ", seen, re.MULTILINE):
            terminal.type("-")
            terminal.until(rf"(?s)^(?!.*\n {tag} › )")
        topped.append((tag, keg[1], ml))
    return topped


def assert_litres_agree(found: Any, litres: dict[str, int]) -> None:
    """The cellar holds, vessel by vessel, what the moves of the book add up to."""
    summed = dict.fromkeys(litres, 0)
    for entry in found:
        for move in entry.moves:
            for place, ml in ((move.source, -move.ml), (move.destination, move.ml)):
                if place in summed:
                    summed[place] += ml
    assert summed == litres


@pytest.mark.slow
def test_a_day_in_the_cellar(terminal: Any, demo: Path) -> None:
    """Ten toppings, a dip, a scored flight, a poured blend, a retired barrel, a struck entry; `check` stays ok."""
    before, litres_before, broken, _ = read_book(demo)
    assert broken == []
    topped = top_ten(terminal)

    terminal.type("B-009", "enter")
    terminal.until("B-009 › ")
    terminal.type("dip 140", "enter")
    terminal.until("194.1 L was found")
    terminal.type("+")
    terminal.until(r"Written \d\d:\d\d  B-009  dip")

    terminal.type("f6")
    terminal.until("autumn panel")
    terminal.type("n")
    terminal.until("Pour a flight")
    terminal.type("B-001", "enter", "B-002", "enter", "B-003", "enter", "ctrl+s")
    terminal.until("Only the person who pours")
    terminal.type("-")
    terminal.until("Enter score")
    terminal.type("enter")
    terminal.until("taster ›")
    terminal.type("Ada", "enter")
    for nth, overall in enumerate(("14", "15.5", "13"), 1):
        terminal.until(f"Ada, glass {nth} of 3")
        terminal.type(f"6 3 7 5 {overall}", "enter")  # the attributes of the demo's last flight
    terminal.until("Ada: 3 glasses are written")
    terminal.type("esc")
    terminal.until("3  blind")

    terminal.type("f7")
    terminal.until("Type the volume wanted")
    terminal.type("250", "tab", "tab", "12-12.6", "tab", "60-110", "esc")
    terminal.until("Best plan: 250.0 L")
    terminal.type("p")
    terminal.until("(?i)into")
    terminal.type("enter")
    terminal.until("(?i)pour")
    terminal.type("+")
    terminal.until("Enter close")
    terminal.type("enter")
    terminal.until("solves it over what is left")

    terminal.type("f5", "B-034", "enter")
    terminal.until(r"B-034  Long")
    terminal.type("z")
    terminal.until("reason")
    terminal.type("musty", "enter")
    terminal.until("Written: retire B-034|B-034.*retired")

    terminal.type("B-001", "enter")
    terminal.until(r"B-001  Low")
    terminal.type("s")
    terminal.until("Pull a sample")
    terminal.type("100 ml", "enter")
    terminal.until("Written: sample B-001")
    terminal.type("ctrl+z")
    terminal.until("(?i)strike")
    terminal.type("+")
    terminal.until("Struck: sample B-001")
    status = terminal.leave()
    after, litres, broken, poured = read_book(demo)
    new = after[len(before) :]
    assert status == 0
    assert broken == []
    assert [entry.kind for entry in new].count("top") == 10
    for tag, keg, ml in topped:
        assert litres[tag] <= litres_before[tag] + ml
        assert any(move.source == keg and move.destination == tag and move.ml == ml for e in new for move in e.moves)
    kinds = [entry.kind for entry in new]
    assert [kinds.count(kind) for kind in ("gauge", "blend", "retire", "strike")] == [1, 1, 1, 1]
    assert next(e.strikes for e in new if e.kind == "strike") == next(e.id for e in new if e.struck_by)
    assert_litres_agree(after, litres)
    assert sorted(score.value for score in poured[0].scores.values()) == [13.0, 14.0, 15.5]


@pytest.mark.slow
def test_a_fault_of_ours_leaves_one_line_and_no_traceback(demo: Path, run_in_terminal: Any) -> None:
    """When the program itself fails, the terminal is given back with one line that names a report."""
    broken = "from cooperage.book import Book\nBook.cellar_in = lambda self, connection, at=None: 1 / 0"
    seen = run_in_terminal(demo, first=broken).until("our fault")
    assert "Traceback" not in seen


@pytest.mark.slow
def test_it_ends_with_its_terminal_even_where_the_signal_is_ignored(demo: Path, run_in_terminal: Any) -> None:
    """Started under nohup it is not told that the terminal hung up; it must not go on reading what is not there."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        terminal = run_in_terminal(demo)
        terminal.until("F2 TODAY")
    finally:
        signal.signal(signal.SIGHUP, before)
    os.close(terminal.let_go())
    deadline = time.monotonic() + PATIENCE
    ended = 0
    while not ended and time.monotonic() < deadline:
        ended, _ = os.waitpid(terminal.pid, os.WNOHANG)
        time.sleep(0.1)
    assert ended == terminal.pid
