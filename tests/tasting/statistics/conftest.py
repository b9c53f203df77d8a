"""Published panels as tables of glasses by tasters."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

Panel = tuple[np.ndarray, list[str]]


@pytest.fixture(scope="session")
def tv_panel(reference: Callable[[str], Any]) -> Callable[[str], Panel]:
    """One response of tv_sharpness.csv, glasses by eight tasters, and the product of each glass: poured twice."""
    rows = reference("tv_sharpness.csv")
    glasses = sorted({(row["TVset"], row["Picture"], row["Repeat"]) for row in rows})

    def read(response: str) -> Panel:
        scores = np.full((len(glasses), 8), np.nan)
        for row in rows:
            place = glasses.index((row["TVset"], row["Picture"], row["Repeat"]))
            scores[place, int(row["Assessor"]) - 1] = float(row[response])
        return scores, [set_ + picture for set_, picture, _ in glasses]

    return read
