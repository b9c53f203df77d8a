"""What the guide shows is what comes out: every command and every line of Python on its pages is run."""

from pathlib import Path

import pytest
from sybil.parsers.markdown import PythonCodeBlockParser

from cooperage.guide.pages import TOPICS, guide_page
from tests.guide.console import fits, mended, run_page


@pytest.mark.slow
@pytest.mark.parametrize("topic", TOPICS)
def test_every_example_of_a_page_comes_out_as_shown(topic: str, that_morning: Path) -> None:
    """In order, on the demo as it is that morning, each page on a cellar of its own."""
    run_page(guide_page(topic).file, [PythonCodeBlockParser()])


def test_what_may_vary_and_what_is_left_out_need_not_fit() -> None:
    """And nothing else."""
    came = ["B-001  topped", "1.1 L", "by Maren"]
    assert fits(["B-[..]  topped", "...", "by Maren"], came)
    assert fits(["...", "by Maren"], came)
    assert not fits(["B-[..]  topped"], came)
    assert not fits(["B-001  topped", "1.2 L", "by Maren"], came)
    assert not fits([], came)


def test_a_page_is_mended_where_it_does_not_fit() -> None:
    """What varies stays marked, and what was left out stays left out."""
    came = ["vessel  why", "B-002  topped 1.1 L", "0.2 L", "by Tove"]
    assert mended(["vessel  why", "...", "by Maren"], came) == ["vessel  why", "...", "by Tove"]
    assert mended(["...", "B-002  [..]", "...", "by Tove"], came) == ["...", "B-002  [..]", "...", "by Tove"]
    assert mended(["...", "B-002  topped 1.0 L", "..."], came) == ["...", "B-002  topped 1.1 L", "..."]
    assert mended(["vessel  [..]", "B-002  topped 1.4 L"], came) == ["vessel  [..]", *came[1:]]
    assert mended(["...", "B-001  [..] L", "..."], came) == ["...", "B-002  [..]", "..."]
    assert mended(["vessel  why", "...", "B-001  top[..]"], came) == ["vessel  why", "B-002  top[..]", "..."]
    assert mended([], came) == came
