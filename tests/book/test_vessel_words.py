"""A vessel in words: the place, the lots, the wood; what is unknown reads as unknown."""

from types import SimpleNamespace
from typing import Any, cast

import pytest

from cooperage.book import Barrel, Book, Standing, Vessel
from cooperage.book.vessel_words import (
    chalked_place,
    cooperage_words,
    lot_shares,
    lots_words,
    place_words,
    vessel_line,
    wood_words,
)
from cooperage.units import Quantity, Units, show


@pytest.mark.parametrize(
    ("position", "words", "chalked"),
    [
        (("North", "1", 4, 2), "North · row 1 · bay 4 · tier 2", "North 1.4.2"),
        (("North", None, None, None), "North", "North"),
        ((None, "A", 3, None), "row A · bay 3", "A.3"),
        ((None, None, None, None), "no position", ""),
    ],
)
def test_a_position_leaves_out_what_is_unknown(position: tuple[Any, ...], words: str, chalked: str) -> None:
    """Both the words and what is chalked on the rack."""
    assert (place_words(position), chalked_place(position)) == (words, chalked)


def test_a_long_room_is_cut_where_asked() -> None:
    """The rounds have eight letters for it."""
    assert chalked_place(("Northern annexe", "1", 4, 2), 8) == "Northern 1.4.2"


@pytest.mark.parametrize(("count", "words"), [(0, "0 earlier fills"), (1, "1 earlier fill"), (2, "2 earlier fills")])
def test_earlier_fills_are_counted(count: int, words: str) -> None:
    """One fill is singular."""
    assert cooperage_words(Barrel(fills_before=count)).startswith(words)


def test_what_is_not_known_of_the_making_comes_last() -> None:
    """A char that is not noted is not missing: most barrels have none."""
    words = cooperage_words(Barrel(year=2019, toast_staves="medium", fills_before=1))
    assert words == "2019, toast medium, 1 earlier fill; not known: cooper, forest, heads, seasoning"


def test_a_vessel_is_listed_with_its_volume_and_lots(cellar_book: Book) -> None:
    """The volume is in the person's unit; one lot has no share beside it, an empty vessel says empty."""
    cellar = cellar_book.cellar()
    full = next(s for s in cellar if s.ml and len(s.lots) == 1)
    line = vessel_line(full, Units(volume="gal"))
    assert line.startswith(full.tag)
    assert " gal  " in line
    assert line.split()[1] == full.vessel.kind
    assert f" of {show(Quantity.VOLUME, full.vessel.capacity_ml, Units(volume='gal')):>10}  " in line
    assert line.endswith(next(iter(full.lots)))
    assert all(lots_words(s) == "empty" for s in cellar if not s.ml)


def test_new_wood_and_a_tank(book: Book) -> None:
    """A new barrel held nothing; a tank is called by its kind."""
    with book.writing() as w:
        w.add_vessel(Vessel(id="", tag="N-1", kind="barrel", capacity_ml=225_000, barrel=Barrel(past_kind="none")))
        w.add_vessel(Vessel(id="", tag="T-1", kind="tank", capacity_ml=900_000))
    cellar = book.cellar()
    assert (wood_words(cellar["N-1"]), wood_words(cellar["T-1"])) == ("unknown wood, new", "tank")


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ({"HE-24": 0.86, "HE-25": 0.14}, ["HE-24 86 %", "HE-25 14 %"]),
        ({"HE-24": 0.998, "HE-25": 0.002}, ["HE-24 over 99 %", "HE-25 a trace"]),
        ({"HE-24": 1.0}, ["HE-24 100 %"]),
    ],
)
def test_a_trace_is_not_nothing(shares: dict[str, float], words: list[str]) -> None:
    """A share that rounds to nothing, or to all, is named for what it is."""
    assert lot_shares(cast(Standing, SimpleNamespace(lots=shares))) == words
