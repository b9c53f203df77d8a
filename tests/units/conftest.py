"""A system clock that is not on UTC."""

import time
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="module")
def _five_hours_west() -> Iterator[None]:
    """Set the system clock five hours behind UTC, with no summer time: a local day is no day of UTC."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "XYZ+5")
        time.tzset()
        yield
    time.tzset()
