"""The arithmetic of a volume of mead: when a figure is known, and what leaves with the vapour and what stays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.replay.contents import PLACE_OF, SIZE, Contents

ABV, SUGAR = PLACE_OF["abv"], PLACE_OF["sugar_g_l"]


def mead(ml: int, lot: str, abv: float | None = 13.0, sugar: float | None = 20.0) -> Contents:
    """Return so much of one lot, with a strength [% vol] and sugar [g/L] that may be unknown."""
    made = Contents(ml, lot)
    for place, value in ((ABV, abv), (SUGAR, sugar)):
        if value is not None:
            made.set(place, value)
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
