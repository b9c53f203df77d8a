"""The arithmetic of a volume of mead: when a figure is known, and what leaves with the vapour and what stays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.replay.contents import PLACE_OF, SIZE, UNKNOWN_ORIGIN, Contents

ABV, SUGAR = PLACE_OF["abv"], PLACE_OF["sugar_g_l"]


def mead(ml: int, lot: str, abv: float | None = 13.0, sugar: float | None = 20.0, day: float = 0.0) -> Contents:
    """Return so much of one lot, with a strength [% vol] and sugar [g/L] that may be unknown."""
    made = Contents(ml, lot)
    for place, value in ((ABV, abv), (SUGAR, sugar)):
        if value is not None:
            made.set(place, value, day)
    return made


@pytest.mark.parametrize(("known_ml", "is_known"), [(0, False), (899, False), (900, True), (901, True), (1000, True)])
def test_a_figure_is_known_from_nine_tenths_of_the_litres(known_ml: int, is_known: bool) -> None:
    """Of a litre 900 ml are enough and 899 are not; the figure is that of the known part."""
    mixed = mead(known_ml, "KNOWN")
    mixed.join(mead(1000 - known_ml, "DARK", abv=None))
    assert mixed.value(ABV) == (pytest.approx(13.0) if is_known else None)


def test_nothing_has_no_figures() -> None:
    """An empty vessel has no strength, not a strength of zero."""
    assert Contents().value(ABV) is None


@given(
    st.integers(2, 1_000_000),
    st.integers(1, 1_000_000),
    st.floats(0.001, 0.999),
    st.floats(0.1, 20.0),
    st.floats(0.0, 250.0),
)
def test_evaporation_conserves_what_is_there(there: int, more: int, part: float, abv: float, sugar: float) -> None:
    """Of two lots, one of unknown strength: vapour and rest together are what was; extract stays whole in the rest."""
    before, left = mead(there, "HEATHER", abv, sugar), mead(there, "HEATHER", abv, sugar)
    for each in (before, left):
        each.join(mead(more, "DARK", abv=None, sugar=sugar))
    vapour = left.evaporate(max(1, int(part * before.ml)))
    assert vapour.ml + left.ml == before.ml
    for lot, ml in before.origins.items():
        assert vapour.origins[lot] + left.origins[lot] == pytest.approx(ml)
        assert vapour.origins[lot] / vapour.ml == pytest.approx(ml / before.ml)
    assert vapour.amounts[ABV] + left.amounts[ABV] == pytest.approx(before.amounts[ABV])
    assert vapour.known[ABV] + left.known[ABV] == pytest.approx(before.known[ABV])
    assert vapour.amounts[ABV] / vapour.known[ABV] == pytest.approx(abv)
    assert left.amounts[SUGAR] == before.amounts[SUGAR]
    assert [vapour.amounts[place] for place in range(SIZE) if place != ABV] == [0.0] * (SIZE - 1)


def test_the_vapour_of_all_there_is_takes_everything() -> None:
    """What dries up leaves nothing behind that could be counted."""
    gone = mead(1000, "HEATHER")
    vapour = gone.evaporate(1000)
    assert (gone.ml, gone.origins, vapour.ml, vapour.origins) == (0, {}, 1000, {"HEATHER": 1000.0})


@given(st.integers(2, 1_000_000), st.floats(0.0, 1.0), st.floats(0.1, 20.0), st.floats(0.0, 250.0))
def test_what_is_taken_and_what_is_left_are_alike(there: int, part: float, abv: float, sugar: float) -> None:
    """A portion has the figures, the origins and the days in wood of the whole, by its share of it."""
    rest = mead(there, "HEATHER", abv, sugar)
    rest.wood_days = 30.0 * there
    portion = rest.take(int(part * (there - 1)))
    assert portion.ml + rest.ml == there
    for each in (portion, rest):
        assert each.origins["HEATHER"] == pytest.approx(each.ml)
        assert each.wood_days == pytest.approx(30.0 * each.ml)
        assert each.ml == 0 or each.value(ABV) == pytest.approx(abv)
        assert each.ml == 0 or each.value(SUGAR) == pytest.approx(sugar)


def test_whoever_takes_all_there_is_leaves_nothing() -> None:
    """An emptied vessel has no origin, no figure and no days in wood left from what was in it."""
    emptied = mead(1000, "HEATHER")
    emptied.wood_days = 30_000.0
    portion = emptied.take(1000)
    assert (emptied.ml, emptied.origins, emptied.wood_days) == (0, {}, 0.0)
    assert emptied.amounts == emptied.known == [0.0] * SIZE
    assert (portion.origins, portion.wood_days) == ({"HEATHER": 1000.0}, 30_000.0)
    assert (portion.value(ABV), portion.value(SUGAR)) == (13.0, 20.0)


def test_more_than_the_book_has_is_more_of_the_same_mead() -> None:
    """What a dip finds beyond the book was there all along; in an empty vessel nobody knows what it is."""
    there = mead(1000, "HEATHER")
    more = there.more_alike(250)
    assert (more.ml, more.origins, more.value(ABV), there.ml) == (250, {"HEATHER": 250.0}, 13.0, 1000)
    unknown = Contents().more_alike(250)
    assert (unknown.ml, unknown.origins, unknown.value(ABV)) == (250, {UNKNOWN_ORIGIN: 250.0}, None)


def test_what_is_added_raises_what_is_known_and_only_that() -> None:
    """20 g/L and 10 g in a litre are 30 g/L; sugar that nobody knows stays unknown, and an empty vessel empty."""
    sweet, dark, empty = mead(1000, "HEATHER"), mead(1000, "DARK", sugar=None), Contents()
    for each in (sweet, dark, empty):
        each.raise_by(SUGAR, 10.0 * 1000, 0.0)
    assert [each.value(SUGAR) for each in (sweet, dark, empty)] == [30.0, None, None]


def test_a_mixture_that_contracts_keeps_every_amount() -> None:
    """1000 ml at 13 % vol that shrink to 990 ml are 13.13 % vol: the same ethanol in less volume."""
    mixed = mead(1000, "HEATHER")
    mixed.contract(10)
    assert mixed.ml == 990
    assert mixed.origins["HEATHER"] == pytest.approx(990.0)
    assert mixed.value(ABV) == pytest.approx(13.0 * 1000 / 990)


def test_a_figure_is_as_old_as_its_parts_are_on_average() -> None:
    """Three litres known on day 100 and one known on day 20 make four known on day 80; taking some changes nothing."""
    mixed = mead(3000, "HEATHER", day=100.0)
    mixed.join(mead(1000, "DARK", day=20.0))
    assert known_on(mixed, ABV) == pytest.approx(80.0)
    assert known_on(mixed.take(1500), ABV) == pytest.approx(80.0)
    mixed.evaporate(200)
    mixed.contract(50)
    assert known_on(mixed, ABV) == pytest.approx(80.0)


def test_a_reading_makes_a_figure_known_again() -> None:
    """What is read on day 150 is known since that day, whatever it was before."""
    mixed = mead(3000, "HEATHER", day=100.0)
    mixed.set(ABV, 12.0, 150.0)
    assert known_on(mixed, ABV) == pytest.approx(150.0)
    assert known_on(mixed, SUGAR) == pytest.approx(100.0)


def test_what_is_added_is_told_apart_wherever_it_goes() -> None:
    """10 g/L added on day 130 to 20 g/L known on day 100: a portion of it keeps both, mixed with others half of it."""
    held = mead(2000, "HEATHER", day=100.0)
    held.raise_by(SUGAR, 10.0 * 2000, 130.0)
    assert held.value(SUGAR) == pytest.approx(30.0)
    portion = held.take(1000)
    portion.evaporate(100)
    portion.join(mead(900, "HEATHER", sugar=20.0, day=100.0))
    since = portion.since_known(SUGAR)
    assert since is not None
    assert (since.on, since.added, since.added_on) == pytest.approx((100.0, 10_000 / 1800, 130.0))
    portion.set(SUGAR, 25.0, 140.0)
    since = portion.since_known(SUGAR)
    assert since == (140.0, 0.0, 0.0, 0.0, 0.0)


def test_rackings_and_days_in_wood_are_counted_since_a_figure_was_known() -> None:
    """Read after thirty days in wood and racked twice; a quarter that was never racked makes it one and a half."""
    mixed = mead(3000, "HEATHER")
    mixed.wood_days = 30.0 * 3000
    mixed.set(ABV, 12.0, 50.0)
    mixed.is_racked()
    mixed.is_racked()
    mixed.join(mead(1000, "HEATHER"))
    since = mixed.since_known(ABV)
    assert since is not None
    assert since.racked == pytest.approx(1.5)
    assert since.wood_days == pytest.approx(22.5)


def test_of_nothing_nothing_is_known() -> None:
    """An empty vessel has no moment since when its strength is known."""
    assert Contents().since_known(ABV) is None


def known_on(contents: Contents, place: int) -> float:
    """Return the day on which a property came to be known."""
    since = contents.since_known(place)
    assert since is not None
    return since.on
