"""Published figures as columns, and how far the worst of them lies from ours."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import ArrayLike

REFERENCE = Path(__file__).parents[1] / "reference"


def _column(values: list[str]) -> np.ndarray:
    try:
        return np.array([float(value) if value else np.nan for value in values])
    except ValueError:
        return np.array(values)


@pytest.fixture(scope="session")
def published() -> Callable[..., dict[str, np.ndarray]]:
    """Read a CSV of tests/reference as columns; keyword arguments keep only the rows with that value."""

    def read(name: str, **wanted: str) -> dict[str, np.ndarray]:
        with (REFERENCE / name).open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        rows = [row for row in rows if all(row[key] == value for key, value in wanted.items())]
        assert rows, f"{name} holds no such row"
        return {key: _column([row[key] for row in rows]) for key in rows[0]}

    return read


@pytest.fixture(scope="session")
def facts() -> Callable[[str], dict[str, Any]]:
    """Read a JSON of tests/reference."""
    return lambda name: json.loads((REFERENCE / name).read_text(encoding="utf-8"))


@pytest.fixture
def agrees(request: pytest.FixtureRequest, record_property: Callable[[str, object], None]) -> Callable[..., None]:
    """Hold ours against theirs to a tolerance, and note the largest deviation (shown by `-rA` reports)."""

    def check(ours: ArrayLike, theirs: ArrayLike, tolerance: float) -> None:
        gap = np.abs(np.asarray(ours) - np.asarray(theirs))
        assert not np.isnan(gap).any()
        record_property("largest deviation", float(gap.max()))
        print(f"DEVIATION {request.node.name}: {gap.max():.3g} of {tolerance:g}")
        assert gap.max() <= tolerance

    return check
