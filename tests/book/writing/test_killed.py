"""A program killed in the middle of its work: what it had said is written is in the book, and the book is whole."""

import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.log import entries

ROOT = Path(__file__).parents[3]
WRITES_ON = """
import sys
from cooperage.book import Book
from cooperage.book.declared import acts
book = Book.open(sys.argv[1])
while True:
    for act in (
        acts.Rack(vessel="T-1", destination="T-2", volume=7_000),
        acts.Reading(vessel="T-2", property="abv", value=13.0),
        acts.Blend(vessel="T-1", draws=(("T-2", 6_500),)),
        acts.Sample(vessel="T-2", volume=100),
    ):
        print(book.write(act).id, flush=True)
"""


@pytest.mark.slow
@pytest.mark.parametrize("round_number", range(8))
def test_nothing_that_was_acknowledged_is_lost(fresh_sqlite: Callable[[], Book], round_number: int) -> None:
    """SIGKILL at a random moment: every id that was printed is there, at most one more is, and every law holds."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=900_000))
    book.write(acts.Rack(vessel="T-1", destination="T-2", volume=50_000))
    path = book.name
    book.close()
    writer = subprocess.Popen([sys.executable, "-c", WRITES_ON, path], stdout=subprocess.PIPE, text=True, cwd=ROOT)
    assert writer.stdout is not None
    message = [writer.stdout.readline().strip()]
    time.sleep(random.Random(round_number).uniform(0.0, 0.25))
    writer.send_signal(signal.SIGKILL)
    message += [line.strip() for line in writer.stdout.read().splitlines() if len(line.strip()) == 32]
    writer.wait()
    again = Book.open(path)
    with again.reading() as connection:
        there = [entry.id for entry in entries(connection)][2:]
    assert set(message) <= set(there)
    assert len(there) - len(message) in (0, 1)
    assert [finding.broken for finding in again.check() if finding.broken] == []
    again.write(acts.Sample(vessel="T-2", volume=100))
    again.close()
