"""On how many cases a law is tried: on all where they are drawn at random, on half where they are always the same."""

import os

from hypothesis import settings


def tried_on(count: int) -> settings:
    """Try a law on so many cases; on half of them in CI, where every run draws the same."""
    return settings(max_examples=count // 2 if os.environ.get("CI") else count)
