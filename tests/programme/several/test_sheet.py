"""The sheet of a form: it shows what the writer would write or refuse, and writes nothing."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import CooperageError
from cooperage.programme.several.moved import main_ml
from cooperage.programme.several.sheet import ActSheet, sheet_of
from cooperage.programme.several.wanted import Ground, Wanted
from cooperage.programme.several.written import write_several
from cooperage.units import Quantity, show
from tests.examples import tried_on
from tests.programme.several.conftest import filled
from tests.programme.several.test_together import states, vessels, wishes


def sheet(book: Book, kind: str, each: Any = None, /, *, out: Any = (), **texts: str) -> ActSheet:
    named = {name.rstrip("_"): text for name, text in texts.items()}
    cellar = book.cellar()
    return sheet_of(book, Wanted(kind, named, each or {}), cellar, Ground(book, cellar), out)


@pytest.mark.slow
@given(wish=wishes, tags=vessels, out=st.sets(st.sampled_from(["B-1", "B-3"])))
@tried_on(60)
def test_a_sheet_shows_what_the_writer_does(
    fresh_sqlite: Callable[[], Book], wish: Any, tags: list[str], out: set[str]
) -> None:
    """What it refuses is refused, what it asks is asked; else just the vessels in it are written, with its figures."""
    book = filled(fresh_sqlite())
    before = states(book)
    found = sheet(book, wish[0], out=out, vessel=",".join(tags), **wish[1])
    assert states(book) == before
    assert {line.tag for line in found.lines if line.tag in out} == out & set(tags) or found.refused
    if found.meant is None or found.refused_at is not None:
        if found.meant is not None:
            with pytest.raises(CooperageError):
                write_several(book, found.meant, sure=True)
        assert states(book) == before
        return
    written = write_several(book, found.meant, sure=True)
    shown = {line.tag: line.figure for line in found.lines if not line.left_out}
    assert set(shown) == set(found.meant.acts)
    for tag, entry in zip(found.meant.acts, written, strict=True):
        ml = main_ml(entry)
        if ml is not None and wish[0] in ("fill", "rack", "top", "sample"):
            assert shown[tag] == show(Quantity.VOLUME, ml), tag


def test_what_comes_to_each_the_sum_and_what_remains(small: Book) -> None:
    """A tank that fills three: as far as it reaches, in order; what is typed for one wins."""
    found = sheet(small, "fill", {"B-3": {"volume": "20 L"}}, vessel="B-2,B-3,B-4", from_="T-1")
    rooms = {s.tag: s.headspace_ml for s in small.cellar()}
    litres = [rooms["B-2"], 20_000, rooms["B-4"]]
    assert [line.figure for line in found.lines] == [show(Quantity.VOLUME, ml) for ml in litres]
    whole, left = sum(litres), small.cellar()["T-1"].ml - sum(litres)
    told = f"fill 3 barrels, {show(Quantity.VOLUME, whole)} from T-1, which keeps {show(Quantity.VOLUME, left)}"
    assert found.announced == told


def test_what_is_refused_of_one_is_shown_at_its_line(small: Book) -> None:
    """The others are tried all the same; what is not understood is shown there too."""
    found = sheet(small, "fill", {"B-3": {"volume": "900 L"}}, vessel="B-2,B-3", from_="T-1")
    assert [bool(line.refused) for line in found.lines] == [False, True]
    assert found.first_words.count("B-3") == 1
    found = sheet(small, "fill", {"B-3": {"volume": "much"}}, vessel="B-2,B-3", from_="T-1")
    assert "'much' is not a volume" in found.lines[1].refused
    assert found.meant is None


def test_a_field_that_is_needed_is_named(small: Book) -> None:
    """And with every vessel left out, that is all there is to say."""
    missing = sheet(small, "fill", vessel="B-2,B-3", from_="").missing
    assert missing is not None
    assert missing.field == "from"
    assert "every vessel is left out" in sheet(small, "fill", out=("B-2", "B-3"), vessel="B-2,B-3", from_="T-1").refused


def test_what_was_done_before_is_announced_without_being_tried(small: Book) -> None:
    """The writer checks it when it is written."""
    found = sheet(small, "treat", vessel="B-2,B-3", treatment="rinse", when="yesterday")
    assert found.announced == "treat B-2, B-3: rinsed"
    assert found.refused_at is None
    found = sheet(small, "fill", {"B-3": {"volume": "20 L"}}, vessel="B-2,B-3", from_="T-1", volume="9 L", when="today")
    assert [line.figure for line in found.lines] == ["9.0 L", "20.0 L"]
    assert found.announced == "fill 2 barrels, 29.0 L from T-1"


def test_the_last_of_a_tank_goes_only_so_far(small: Book) -> None:
    """Who gets nothing is left out, with the reason."""
    small.write(acts.Rack(vessel="T-1", destination="T-2", volume=small.cellar()["T-1"].ml - 30_000))
    found = sheet(small, "fill", vessel="B-2,B-3", from_="T-1")
    assert found.lines[1].left_out == "T-1 does not reach that far"
    assert "B-3 left out" in found.asked
