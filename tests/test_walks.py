"""Which rooms an act runs through: what it is not about is left alone."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import numpy as np

import cooperage
from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.flights import score, start_flight

HOME = Path(cooperage.__file__).parent


@contextmanager
def files_run() -> Iterator[set[str]]:
    """Collect the files of the program of which some function runs."""
    found: set[str] = set()

    def called(frame: FrameType, event: str, _arg: object) -> None:
        path = Path(frame.f_code.co_filename)
        if event == "call" and frame.f_code.co_name != "<module>" and path.is_relative_to(HOME):
            found.add(path.relative_to(HOME).as_posix())

    before = sys.getprofile()
    sys.setprofile(called)
    try:
        yield found
    finally:
        sys.setprofile(before)


def run_through(work: Callable[[], object]) -> set[str]:
    with files_run() as found:
        work()
    return found


def test_a_score_makes_no_states(cellar_book: Book) -> None:
    """A glass is no vessel: no state is read or kept for it, and no vessel is looked up."""
    poured = start_flight(cellar_book, ["B-1", "T-1"], code="F-1", rng=np.random.default_rng(1))
    glass = poured.glasses[0].code
    found = run_through(lambda: score(cellar_book, "F-1", glass, "Ada", 14.0))
    assert "tasting/flights/scoring.py" in found
    assert not {path for path in found if path.startswith("book/replay/")}
    assert "book/store/registry.py" not in found


def test_a_topping_asks_for_no_bottles(cellar_book: Book) -> None:
    """What is about vessels looks up no bottling."""
    found = run_through(lambda: cellar_book.write(acts.Top(vessel="B-1", volume=300, source="K-1", sure=True)))
    assert "book/replay/replay.py" in found
    assert not {path for path in found if "bottle" in path}
