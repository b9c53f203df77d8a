"""Laws of a blend's doubt: what is common does not average away, what is each stock's own does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from cooperage.blending.answer.chance import deviations
from cooperage.blending.stocks.doubt import Common, along
from cooperage.blending.stocks.pool import Floats, Stocks

DOUBTS = arrays(np.float64, 4, elements=st.floats(0.01, 5))
LITRES = arrays(np.float64, 4, elements=st.floats(0, 500)).filter(lambda litres: litres.sum() > 1)
PARTS = arrays(np.float64, (4, 3), elements=st.floats(-1, 1))
NAMES = np.array(["a", "b", "c", "d"], dtype=object)


def stocks(u: Floats, moves: Floats | None = None) -> Stocks:
    """Return four stocks with acidities that are unsure by `u`, of which `moves` are what errors in common do."""
    common = {} if moves is None else {"ta_g_l": Common(moves, np.zeros_like(moves), 0.2)}
    full, none = np.full(4, 500.0), np.zeros(4)
    return Stocks(NAMES, full, none, {"ta_g_l": np.full(4, 6.0)}, {}, {"ta_g_l": u}, common=common)


def told(these: Stocks, litres: Floats) -> float:
    """Return one standard deviation of the blend's acidity."""
    return deviations(these, litres, float(litres.sum()))["ta_g_l"]


@given(DOUBTS, LITRES)
def test_what_is_common_does_not_average_away(u: Floats, litres: Floats) -> None:
    """Errors that go all together make the blend as unsure as its stocks are on average, by litres."""
    assert told(stocks(u, u[:, None]), litres) == pytest.approx(float(litres @ u) / litres.sum(), rel=1e-9)


@given(DOUBTS, LITRES)
def test_what_is_each_stocks_own_does(u: Floats, litres: Floats) -> None:
    """Independent errors add by their squares, whether no errors in common were told or there are none."""
    by_hand = float(np.sqrt(((litres * u) ** 2).sum())) / litres.sum()
    assert told(stocks(u), litres) == pytest.approx(by_hand, rel=1e-9)
    assert told(stocks(u, np.zeros((4, 2))), litres) == pytest.approx(by_hand, rel=1e-9)


@given(DOUBTS, LITRES, PARTS)
def test_any_covariance_is_worked_as_matrices_have_it(own: Floats, litres: Floats, parts: Floats) -> None:
    """X'Cx with C written out; never less than what is common makes, never more than if all went together."""
    covariance = np.diag(own**2) + parts @ parts.T
    u = np.sqrt(np.diag(covariance))
    these = stocks(u, parts)
    sd = told(these, litres)
    assert sd == pytest.approx(float(np.sqrt(litres @ covariance @ litres)) / litres.sum(), rel=1e-9)
    assert along(these.uncertainty["ta_g_l"], these.common.get("ta_g_l"), litres) == pytest.approx(
        covariance @ litres, rel=1e-9, abs=1e-9
    )
    assert sd <= float(litres @ u) / litres.sum() * (1 + 1e-9)
    assert sd >= float(np.linalg.norm(litres @ parts)) / litres.sum() * (1 - 1e-9)


@given(DOUBTS, LITRES, PARTS)
def test_the_doubt_is_convex_in_the_litres(own: Floats, litres: Floats, parts: Floats) -> None:
    """Half of one blend in half of another is no less sure than both on average: what rows for a confidence need."""
    these = stocks(np.sqrt(own**2 + (parts**2).sum(axis=1)), parts)
    other = litres[::-1]
    halves = told(these, (litres + other) / 2)
    assert halves <= (told(these, litres) + told(these, other)) / 2 * (1 + 1e-9)


@given(DOUBTS, PARTS, arrays(np.bool_, 4))
def test_stocks_taken_or_joined_keep_what_they_have_in_common(own: Floats, parts: Floats, keep: Floats) -> None:
    """Fewer stocks are as sure as they were among the others; a dose that is exact adds no doubt of its own."""
    these = stocks(np.sqrt(own**2 + (parts**2).sum(axis=1)), parts)
    litres = np.where(keep, 100.0, 0.0)
    if keep.any():
        assert told(these.take(keep.astype(bool)), litres[keep.astype(bool)]) == pytest.approx(told(these, litres))
    joined = these.joined(["water"], np.inf, {"ta_g_l": np.zeros(1)})
    assert told(joined, np.array([25.0] * 4 + [100.0])) == pytest.approx(told(these, np.full(4, 25.0)) / 2)
