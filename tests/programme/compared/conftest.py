"""What these tests are held against."""

import json
from pathlib import Path
from typing import Any

import pytest

REFERENCE = Path(__file__).parents[2] / "reference"


@pytest.fixture(scope="session")
def cases() -> Any:
    return json.loads((REFERENCE / "barrel_trial_cases.json").read_text())
