"""One impossible figure among good ones is refused, and it is the one named."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.liquid import (
    abv_from_density,
    abv_from_gravities,
    brix_from_density,
    correct_hydrometer,
    dose_for_extract,
    extract_g_l,
)


def _warm_hydrometer(celsius: ArrayLike) -> ArrayLike:
    return correct_hydrometer(1.010, celsius, abv=12.0)


def _brix(kg_m3: ArrayLike) -> ArrayLike:
    return brix_from_density(kg_m3, 20.0)


def _dose_to_thirty(extract: ArrayLike) -> ArrayLike:
    return dose_for_extract(225.0, 13.0, extract, 0.0, 800.0, 30.0)


# Each bad figure lies inside the range that its parameter states, so that only what the others say of it refuses it.
IMPOSSIBLE: dict[str, tuple[Callable[[ArrayLike], ArrayLike], float, float]] = {
    "lighter than ethanol": (abv_from_density, 980.0, 780.0),  # pure ethanol at 20 °C: 789.24 kg/m3 (OIML R 22)
    "heavier than water": (abv_from_density, 980.0, 999.0),  # water at 20 °C: 998.20 kg/m3 (OIML R 22)
    "no sugar so light": (_brix, 1080.0, 990.0),
    "strength without room for it": (lambda sg: extract_g_l(sg, 12.0), 1.010, 0.900),  # 12 % in water is SG 0.985
    "too hot to know the strength": (_warm_hydrometer, 25.0, 50.0),
    "ends heavier than it began": (lambda sg: abv_from_gravities(1.100, sg), 1.010, 1.150),
    "sweeter already": (_dose_to_thirty, 20.0, 40.0),
}


@pytest.mark.parametrize(("work_out", "good", "bad"), IMPOSSIBLE.values(), ids=IMPOSSIBLE)
def test_a_bad_figure_among_good_ones_is_refused_as_it_is_alone(
    work_out: Callable[[ArrayLike], ArrayLike], good: float, bad: float
) -> None:
    """In the same words wherever it stands in the column, while the good figures alone are worked out."""
    assert np.isfinite(work_out([good, good, good])).all()
    with pytest.raises(BadInput) as alone:
        work_out(bad)
    for place in range(3):
        column = [good] * 3
        column[place] = bad
        with pytest.raises(type(alone.value)) as refusal:
            work_out(column)
        assert str(refusal.value) == str(alone.value)


@pytest.mark.parametrize(("excess", "is_refused"), [(0.0, False), (1e-9, False), (2e-9, True)])
def test_a_final_gravity_above_the_original_is_refused_beyond_rounding(excess: float, is_refused: bool) -> None:
    """A billionth counts as rounding and gives no alcohol; two are a mistake."""
    if is_refused:
        with pytest.raises(BadInput, match="above"):
            abv_from_gravities(1.050, 1.050 + excess)
    else:
        assert abv_from_gravities(1.050, 1.050 + excess) == pytest.approx(0.0, abs=1e-6)
