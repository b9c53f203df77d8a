"""What oak gives, and how little is known of it."""

import numpy as np
import pytest

from cooperage.errors import BadInput
from cooperage.liquid import wood_extraction, wood_scale
from cooperage.liquid.wood import MarkerGroup

GROUPS: list[MarkerGroup] = ["lactone", "vanillin", "toast", "tannin"]


@pytest.mark.parametrize("group", GROUPS)
def test_each_fill_gives_less(group: MarkerGroup) -> None:
    """And in the end nothing."""
    percent = wood_extraction(365.0, np.arange(1, 8), group).percent
    assert (np.diff(percent) <= 0).all()
    assert percent[-1] == 0.0


@pytest.mark.parametrize("group", GROUPS)
def test_it_rises_towards_its_ceiling(group: MarkerGroup) -> None:
    """Never past it; 100 % of a new barrel in the long run."""
    percent = wood_extraction(np.array([0.0, 7.0, 90.0, 365.0, 7300.0]), 1, group).percent
    assert (np.diff(percent) > 0).all()
    assert percent[0] == 0.0
    assert percent[-1] == pytest.approx(100.0, abs=0.01)


def test_toast_comes_in_weeks_and_lactone_in_months() -> None:
    """After a month most of the toast is there and little of the lactone (PMID 12926895)."""
    toast, vanillin, lactone = (wood_extraction(30.0, 1, group).percent for group in ("toast", "vanillin", "lactone"))
    assert toast > 70 > 50 > vanillin > lactone
    assert lactone < 20


@pytest.mark.parametrize(
    ("group", "ceilings"),
    [
        ("lactone", [100, 60, 35, 15, 0]),
        ("vanillin", [100, 50, 25, 10, 0]),
        ("toast", [100, 15, 5, 0, 0]),
        ("tannin", [100, 50, 10, 0, 0]),
    ],
)
def test_in_the_long_run_each_fill_gives_its_share_of_a_new_barrel(group: MarkerGroup, ceilings: list[int]) -> None:
    """Twenty years are at least twenty time constants: what is left to come is below 1e-8 (shares: no source)."""
    assert wood_extraction(7300.0, np.arange(1, 6), group).percent == pytest.approx(ceilings, abs=1e-5)


def test_toast_is_nearly_gone_at_the_second_fill_and_lactone_lasts() -> None:
    """Toast aromas are nearly gone by the second use, lactone persists (common practice, no source)."""
    assert wood_extraction(7300.0, 2, "toast").percent < 20
    assert wood_extraction(7300.0, 2, "lactone").percent > 50


def test_the_band_is_wide_and_said_aloud() -> None:
    """Barrels of one lot differ by 27 %: 95 % of them lie within 53 % either way even when time is no matter."""
    long = wood_extraction(7300.0, 1)
    assert long.low == pytest.approx(100 * (1 - 1.96 * 0.27), abs=0.1)
    assert long.high == pytest.approx(100 * (1 + 1.96 * 0.27), abs=0.1)
    assert "guide" in long.caveat
    early = wood_extraction(60.0, 1)
    assert early.high / early.low > long.high / long.low


def test_small_barrels_give_more() -> None:
    """By wood per litre."""
    assert wood_extraction(90.0, 1, area_cm2_l=171.6).percent == pytest.approx(2 * wood_extraction(90.0, 1).percent)


def test_the_cellars_own_scores_set_the_scale() -> None:
    """By hand: (20x2 + 40x4.1)/(400 + 1600) = 0.102; residuals -0.04 and 0.02, so u = sqrt(0.002/2000) = 0.001."""
    scale = wood_scale([20.0, 40.0, np.nan], [2.0, 4.1, 3.0])
    assert scale.factor == pytest.approx(0.102)
    assert scale.standard_uncertainty == pytest.approx(0.001)
    assert wood_extraction(7300.0, 1, scale=scale.factor).percent == pytest.approx(10.2, abs=0.001)
    assert np.isnan(wood_scale([20.0], [2.0]).standard_uncertainty)


def test_an_unknown_group_is_refused() -> None:
    """With the names there are."""
    with pytest.raises(BadInput, match="lactone, vanillin, toast, tannin"):
        wood_extraction(90.0, 1, "smoke")  # type: ignore[arg-type]  # no such group
