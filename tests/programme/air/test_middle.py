"""The median of a few numbers, against NumPy's own."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.air.middle import median


@given(st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=40))
def test_it_is_the_median(values: list[float]) -> None:
    """An odd count and an even one, ties, in any order."""
    assert median(np.array(values)) == np.median(values)
