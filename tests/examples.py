"""On how many cases a law is tried: on all by hand, on a part of them in CI, where every run draws the same."""

import os
from collections.abc import Sequence
from itertools import product
from typing import TypeVar

from hypothesis import settings

IN_CI = bool(os.environ.get("CI"))
First = TypeVar("First")
Second = TypeVar("Second")


def tried_on(count: int) -> settings:
    """Try a law on so many cases; on half of them in CI."""
    return settings(max_examples=count // 2 if IN_CI else count)


def crossed(first: Sequence[First], second: Sequence[Second]) -> list[tuple[First, Second]]:
    """Return every pair of two lists; in CI the values take turns, so that each of either stands in some pair."""
    if not IN_CI:
        return list(product(first, second))
    most = max(len(first), len(second))
    return [(first[nth % len(first)], second[nth % len(second)]) for nth in range(most)]
