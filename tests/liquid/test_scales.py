"""The scales a gravity is written in."""

from collections.abc import Callable
from typing import Any

import pytest

from cooperage.liquid import (
    apparent_sg,
    baume_from_sg_60_60,
    oechsle_from_sg,
    sg_20_4_from_sg,
    sg_60_60_from_baume,
    sg_from_oechsle,
    sg_from_sg_20_4,
    true_sg,
)


def test_20_20_and_20_4_differ_by_0_0018() -> None:
    """Trap 1 of tests/reference/README.md: about 0.45 Brix."""
    assert 1.0 - sg_20_4_from_sg(1.0) == pytest.approx(0.0018, abs=5e-5)
    assert sg_from_sg_20_4(sg_20_4_from_sg(1.1)) == pytest.approx(1.1, abs=1e-15)


def test_oechsle_are_thousandths_over_one(facts: Callable[[str], dict[str, Any]]) -> None:
    """1000 (SG - 1)."""
    assert facts("units_and_scales.json")["scales"]["oechsle"] == "1000*(SG 20/20 - 1)"
    assert oechsle_from_sg(1.125) == pytest.approx(125.0)
    assert sg_from_oechsle(125.0) == pytest.approx(1.125)


def test_heavy_baume(facts: Callable[[str], dict[str, Any]]) -> None:
    """145 - 145/SG: SG 1.16 is 20 °Bé, since 145/1.16 = 125."""
    assert facts("units_and_scales.json")["scales"]["baume_heavy_us"] == "145 - 145/SG (60/60 degF)"
    assert baume_from_sg_60_60(1.16) == pytest.approx(20.0)
    assert sg_60_60_from_baume(20.0) == pytest.approx(1.16)


def test_weighing_in_air() -> None:
    """By hand at 1038 kg/m3: (1038 - 1.2)/(998.20123 - 1.2) = 1.039918; the true ratio is 1.039871."""
    true = 1038.0 / 998.20123
    assert apparent_sg(true) == pytest.approx(1036.8 / 997.00123, abs=1e-12)
    assert true_sg(apparent_sg(true)) == pytest.approx(true, abs=1e-15)
