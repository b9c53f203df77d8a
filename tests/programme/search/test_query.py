"""Sifting the cellar by typed words: every form, what is said when one is not understood, and the laws of "and"."""

import shutil
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.programme.losses.level import Level
from cooperage.programme.rounds.due import Due, Task
from cooperage.programme.search.bounds import limit_in
from cooperage.programme.search.described import describe
from cooperage.programme.search.marks import Marks
from cooperage.programme.search.query import BadQuery, find_vessels, parse_query
from cooperage.units import Quantity, Units

NOW = datetime(2026, 10, 3, 9, tzinfo=UTC)
WORDS = [
    "lot heather", "lot lime", "wood acacia", "past rum", "past new", "fill 1", "fill 2-3", "level <99%", "above 90%",
    "short >2 L", "due", "due top", "low", "full", "empty", "soaking", "room low", "row b", "bay 2", "tier 1",
    "barrel", "rum", "not due", "not fill 1", "retired",
]  # fmt: skip


def _wood(past: str, kind: str, fills: int | None, wood: str = "sessile oak") -> Barrel:
    return Barrel(wood=wood, forest="Osk hills", past_life=past, past_kind=kind, fills_before=fills)


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory, empty_cellar: Path) -> Any:
    """Seven vessels in two rooms: one low and due, one just filled and soaking, one empty, one retired."""
    path = tmp_path_factory.mktemp("sift") / "cellar.db"
    shutil.copy(empty_cellar, path)
    clock = SimpleNamespace(now=NOW - timedelta(days=100))
    book = Book.open(str(path), now=lambda: clock.now)
    barrels = {
        "B-1": (("Low", "A", 1, 1), _wood("rum", "spirit", 1)),
        "B-2": (("Low", "A", 2, 1), _wood("white wine", "wine", 2, "acacia")),
        "B-3": (("Low", "B", 1, 2), _wood("new", "none", 0)),
        "B-4": (("Loft", "A", 1, 1), _wood("rum", "spirit", None)),
        "B-5": (("Loft", "A", 2, None), _wood("stout", "beer", 1)),
    }
    with book.writing() as session:
        session.add_vessel(Vessel("", "T-1", "tank", 2_000_000, "measured", ("Press", None, None, None)))
        for tag, (position, barrel) in barrels.items():
            session.add_vessel(Vessel("", tag, "barrel", 200_000, "measured", position, barrel=barrel))
        session.add_lot(Lot("", "HE-26", "Heather 2026", "heather", abv=13.0, final_sg=1.01))
        session.write(acts.Receive(lot="HE-26", vessel="T-1", volume=1_500_000))
        for tag in ("B-1", "B-2"):
            session.write(acts.Fill(vessel=tag, source="T-1"))
        session.write(acts.Retire(vessel="B-5", reason="leaks"))
    clock.now = NOW - timedelta(days=3)
    book.write(acts.Fill(vessel="B-3", source="T-1"))
    clock.now = NOW
    cellar = book.cellar()
    book.close()
    topping = Due("B-1", Task.TOP, NOW, "topped 100 days ago")
    short = {"B-1": 3_000, "B-2": 1_000, "B-3": 0}
    levels = {tag: Level(200_000 - ml, 0, 200_000, 200_000, "as reckoned") for tag, ml in short.items()}
    return describe(cellar, Marks({"B-1": [topping]}, levels, frozenset({"B-1"})))


def kept(described: Any, words: Any, units: Any = None) -> Any:
    return " ".join(standing.tag for standing in find_vessels(described, words, units or Units()))


@pytest.mark.parametrize(
    ("words", "tags"),
    [
        ("", "B-4 B-1 B-2 B-3 T-1"),
        ("rum", "B-4 B-1"),
        ("RUM low", "B-1"),
        ("lot heather", "B-1 B-2 B-3 T-1"),
        ("lot he-26 barrel", "B-1 B-2 B-3"),
        ("wood acacia", "B-2"),
        ("wood osk", "B-4 B-1 B-2 B-3"),
        ("past rum", "B-4 B-1"),
        ("past white wine", "B-2"),
        ("past new", "B-3"),
        ("fill 3", "B-2"),
        ("fill 1-2", "B-1 B-3"),
        ("fill 2 - 3", "B-1 B-2"),
        ("fill >2", "B-2"),
        ("level <99%", "B-4 B-1 T-1"),
        ("level < 99 %, barrel", "B-4 B-1"),
        ("level 40-99.4%", "B-1 T-1"),
        ("below 99", "B-4 B-1 T-1"),
        ("above 99%", "B-2 B-3"),
        ("short >2 L barrel", "B-4 B-1"),
        ("short 1-3 L", "B-1 B-2"),
        ("short 1000-3000 ml", "B-1 B-2"),
        ("short 3 past rum", "B-4 B-1"),
        ("due", "B-1"),
        ("due top", "B-1"),
        ("due sulphite", ""),
        ("low", "B-1"),
        ("room low", "B-1 B-2 B-3"),
        ("room lo and row a", "B-4 B-1 B-2"),
        ("bay 2", "B-2"),
        ("tier 2", "B-3"),
        ("empty", "B-4"),
        ("full", "B-3"),
        ("soaking", "B-3"),
        ("retired", "B-5"),
        ("not empty not due barrel", "B-2 B-3"),
        ("not retired past stout", ""),
        ("nothing-of-the-kind", ""),
    ],
)
def test_what_is_typed_keeps_what_it_says(described: Any, words: str, tags: str) -> None:
    """By hand: B-1 is 3 L short of 200 L, which is 98.5 % full; B-2 1 L, 99.5 %; T-1 holds 900 of 2,000 L, 45 %."""
    assert kept(described, words) == tags


def test_a_bare_volume_is_in_the_persons_unit(described: Any) -> None:
    """Half a US gallon is 1.9 L, so B-2 at 1 L is not that short; half a litre it is."""
    assert kept(described, "short >0.5 barrel", Units(volume="gal")) == "B-4 B-1"
    assert kept(described, "short >0,5 barrel", Units(decimal=",")) == "B-4 B-1 B-2"


@pytest.mark.parametrize(
    ("words", "result", "understood"),
    [
        ("due fill", "fill wants a number, such as fill 3 or fill 1-2", "due"),
        ("fill three", "fill wants a number, such as fill 3 or fill 1-2; not 'three'", ""),
        ("level 95%", "level wants how full in %, such as level <95% or level 50-90%; not '95%'", ""),
        ("below low", "below wants how full in %, such as below 95%; not 'low'", ""),
        ("rum lot", "lot wants part of a lot's code, name or honey, such as lot heather", "rum"),
        ("rum not", "not wants a word after it, such as not empty", "rum"),
    ],
)
def test_what_is_not_understood_is_told_in_one_line(described: Any, words: str, result: str, understood: str) -> None:
    """It says what would be, and what came before it still counts."""
    with pytest.raises(BadQuery) as caught:
        parse_query(words)
    assert str(caught.value) == result
    assert caught.value.understood == understood
    assert "\n" not in result


def test_what_may_still_be_typed_on_is_unfinished() -> None:
    """At the end of the line one is still typing; in the middle of it one is done."""
    for words, unfinished in (("fill", True), ("fill x", True), ("fill x due", False)):
        with pytest.raises(BadQuery) as caught:
            parse_query(words)
        assert caught.value.unfinished is unfinished


def test_the_hint_is_in_the_persons_unit() -> None:
    """Whoever reads gallons is shown gallons, with their decimal mark."""
    with pytest.raises(BadQuery, match="short wants US gallons, such as short >0,5 gal"):
        parse_query("short", Units(volume="gal", decimal=","))


@given(
    st.lists(st.sampled_from(WORDS), max_size=5).flatmap(lambda said: st.tuples(st.just(said), st.permutations(said)))
)
def test_the_order_of_what_is_said_does_not_matter(described: Any, orders: Any) -> None:
    """What is said twice over, in any order, keeps the same vessels."""
    said, other = (" ".join(order) for order in orders)
    assert kept(described, said) == kept(described, other)


@given(st.lists(st.sampled_from(WORDS), min_size=1, max_size=4))
def test_what_is_kept_passes_each_thing_alone(described: Any, said: list[Any]) -> None:
    """Several are "and": exactly the vessels that pass every one of them."""
    together = parse_query(" ".join(said))
    for seen in described:
        alone = [all(test(seen) for test in parse_query(each)) for each in said]
        assert all(test(seen) for test in together) is all(alone)


@given(st.sampled_from(WORDS))
def test_not_turns_round(described: Any, word: Any) -> None:
    """A vessel passes a word or its opposite, never both."""
    message, (turned,) = parse_query(word), parse_query(f"not {word}")
    for seen in described:
        assert turned(seen) is not all(test(seen) for test in message)


@given(st.text(alphabet="abfilduevst <>=-,.%0123456789", max_size=30))
def test_anything_may_be_typed(described: Any, words: str) -> None:
    """It is understood or refused; nothing else happens."""
    with suppress(BadQuery):
        assert set(find_vessels(described, words)) <= {seen.standing for seen in described}


@pytest.mark.parametrize("text", ["", ">", "<5-6", "5-", "-5", "x", "1.2.3 L", "> 5 parsecs"])
def test_what_is_no_limit(text: str) -> None:
    """Nothing is guessed."""
    assert limit_in(text, Quantity.VOLUME, "=", Units()) is None


def test_a_limit_may_leave_its_end_out() -> None:
    """More than two litres is not two litres; two to three is both."""
    for text, ml, holds in ((">2 L", 2_000, False), (">=2 L", 2_000, True), ("3-2 L", 3_000, True)):
        limit = limit_in(text, Quantity.VOLUME, "=", Units())
        assert limit is not None
        assert limit.holds(ml) == holds
