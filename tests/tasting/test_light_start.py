"""Importing the statistics stays light."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    "module", ["tasting", "tasting.panel", "tasting.statistics.trend", "tasting.statistics.difference.power"]
)
def test_scipy_waits_until_it_is_needed(module: str) -> None:
    """A fresh interpreter that imports the module has loaded neither scipy nor pandas nor textual."""
    code = f"import sys, cooperage.{module}; print(*({{'scipy', 'pandas', 'textual'}} & set(sys.modules)))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert loaded.strip() == ""
