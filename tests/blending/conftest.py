"""Builders and assertions in the cellar's words."""

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import pandas as pd
import pytest

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import read_brief

REFERENCE = Path(__file__).parent.parent / "reference"


class AssertMeets(Protocol):
    """An assertion that an answer's blend meets a brief, and that no stock is overdrawn."""

    def __call__(self, brief: Mapping[str, Any], answer: Answer, tolerance: float = 1e-6) -> None: ...


@pytest.fixture(scope="session")
def reference() -> Callable[[str], Any]:
    """Return a reader of published figures by file name."""

    def read(name: str) -> Any:
        path = REFERENCE / name
        return pd.read_csv(path) if path.suffix == ".csv" else json.loads(path.read_text(encoding="utf-8"))

    return read


@pytest.fixture(scope="session")
def assert_meets() -> AssertMeets:
    """Return an assertion that an answer's blend meets a brief to 1e-6, and that no stock is overdrawn."""

    def check(brief: Mapping[str, Any], answer: Answer, tolerance: float = 1e-6) -> None:
        asked = read_brief(brief)
        for name, span in {"litres": asked.litres, **asked.limits}.items():
            got = answer.blend[name]
            assert got is not None, name
            assert span.low - tolerance <= got <= span.high + tolerance, f"{name} comes to {got}"
        for draw in answer.draws:
            assert draw.litres > 0, draw.stock
            assert draw.left_l is None or draw.left_l >= 0, f"{draw.stock} is overdrawn"

    return check


@pytest.fixture
def cellar() -> pd.DataFrame:
    """Return four barrels and a tank whose blends can be reckoned in the head."""
    rows = [
        ("dry", 200, 12.0, 0.0, 2.0, "old oak"),
        ("sweet", 200, 12.0, 100.0, 3.0, "old oak"),
        ("strong", 100, 16.0, 0.0, 5.0, "new oak"),
        ("rich", 100, 16.0, 100.0, 6.0, "new oak"),
        ("tank", 1000, 10.0, 20.0, 1.0, "steel"),
    ]
    return pd.DataFrame(rows, columns=["stock", "litres", "abv", "sugar_g_l", "cost_per_l", "group"])


@pytest.fixture
def hard_to_prove() -> tuple[pd.DataFrame, dict[str, Any]]:
    """Return 150 whole barrels of awkward sizes that all but fit an exact volume: a plan is easy, its proof is long."""
    barrels = 150
    random = np.random.default_rng(7)
    pool = pd.DataFrame(
        {
            "stock": [f"B-{at}" for at in range(barrels)],
            "litres": random.uniform(150, 230, barrels).round(3),
            "abv": random.normal(13.5, 1.0, barrels).round(3),
            "sugar_g_l": random.normal(60, 20, barrels).clip(1).round(3),
            "va_g_l": random.normal(0.4, 0.1, barrels).clip(0.1).round(4),
            "cost_per_l": random.uniform(2, 5, barrels).round(3),
        }
    )
    brief = {
        "litres": {"min": 30 * 190.0, "max": 30 * 190.0 + 1.0},
        "mixing": "plain",
        "objective": ["least_cost"],
        "limits": {"abv": {"target": 13.5, "within": 0.001}, "sugar_g_l": {"target": 60, "within": 0.05}},
        "draws": {"whole": True},
    }
    return pool, brief


@pytest.fixture
def until_a_plan() -> Callable[[Callable[[float], bool]], None]:
    """Give a solve more and more seconds, until it has found a plan: how many that takes is up to the machine."""

    def give(found_within: Callable[[float], bool]) -> None:
        assert any(found_within(seconds) for seconds in (1.5, 6.0, 24.0, 96.0))

    return give
