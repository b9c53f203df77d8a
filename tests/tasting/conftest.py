"""Published tables for the tests of tasting, read once."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

REFERENCE = Path(__file__).parents[1] / "reference"


@pytest.fixture(scope="session")
def reference() -> Callable[[str], Any]:
    """Read a file of tests/reference by name: JSON as it is, CSV as a list of rows."""

    def read(name: str) -> Any:
        text = (REFERENCE / name).read_text(encoding="utf-8")
        return json.loads(text) if name.endswith(".json") else list(csv.DictReader(text.splitlines()))

    return read


@pytest.fixture(scope="session")
def agreement_case(reference: Callable[[str], Any]) -> Callable[[str], dict[str, Any]]:
    """Look up a case of agreement_cases.json by its id."""
    cases: dict[str, dict[str, Any]] = {case["id"]: case for case in reference("agreement_cases.json")["cases"]}
    return cases.__getitem__
