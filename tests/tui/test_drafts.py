"""What is half typed is there again when the program opens on the same day; never what was written."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book.log import Entry
from cooperage.tui.drafts import Drafts, HalfTyped
from cooperage.tui.rounds.walk_line import WalkLine

if TYPE_CHECKING:
    from tests.tui.conftest import Clock

CELLAR, DAY = "/somewhere/cellar.db", "2026-10-03"


def taken_up(cellar: str = CELLAR, day: str = DAY) -> Drafts:
    """What another start of the program finds."""
    drafts = Drafts()
    drafts.take_up(cellar, day)
    return drafts


def test_a_line_is_kept_with_its_cursor_for_its_day_and_cellar() -> None:
    """On another day, or in another cellar, nothing is taken up."""
    drafts = Drafts()
    drafts.keep("B-002", HalfTyped("1.1; so2", 3))
    drafts.save(CELLAR, DAY)
    assert taken_up().of("B-002") == HalfTyped("1.1; so2", 3)
    assert list(taken_up(day="2026-10-04").tags) == []
    assert list(taken_up("/elsewhere/cellar.db").tags) == []


def test_what_is_about_to_be_written_is_not_on_disk_any_more() -> None:
    """Whatever stops the program, it does not come back as half typed; where nothing is left, no file is."""
    drafts = Drafts()
    drafts.keep("B-002", HalfTyped("1.1", 3))
    drafts.keep("B-003", HalfTyped("1.2", 3))
    drafts.save(CELLAR, DAY)
    drafts.save(CELLAR, DAY, but="B-002")
    assert list(taken_up().tags) == ["B-003"]
    drafts.written("B-002")
    drafts.written("B-003")
    drafts.save(CELLAR, DAY)
    assert list(taken_up().tags) == []


@pytest.mark.parametrize("broken", [b"", b"[]", b'{"day": "2026-10-03"}', b'{"day": "2026-10-03", "lines": {"B": 1}}'])
def test_a_broken_file_is_as_good_as_none(tmp_path: Path, broken: bytes) -> None:
    """And is written over."""
    drafts = Drafts()
    drafts.keep("B-002", HalfTyped("1.1", 3))
    drafts.save(CELLAR, DAY)
    (file,) = (tmp_path / "own").rglob("*.json")
    file.write_bytes(broken)
    assert list(taken_up().tags) == []
    again = Drafts()
    again.keep("B-003", HalfTyped("1.2", 3))
    again.save(CELLAR, DAY)
    assert list(taken_up().tags) == ["B-003"]


def test_a_folder_that_cannot_be_written_keeps_nothing(tmp_path: Path) -> None:
    """And stops nothing."""
    (tmp_path / "own").write_text("a file where the folder would be", encoding="utf-8")
    drafts = Drafts()
    drafts.keep("B-002", HalfTyped("1.1", 3))
    drafts.save(CELLAR, DAY)
    assert list(taken_up().tags) == []


@pytest.mark.slow
async def test_the_program_opens_again_with_what_was_half_typed(
    opened: Any, press: Any, newest: Callable[..., list[Entry]], clock: "Clock"
) -> None:
    """At the stop it was typed for, another one's too; written, it is gone; the day after, all is."""
    before = newest()[0].id
    async with opened() as pilot:
        await press(pilot, "1.1; so2", "down", "1.2")
    async with opened() as pilot:
        line = pilot.app.screen.query_one(WalkLine)
        assert line.value == "1.1; so2"
        await press(pilot, "down")
        assert line.value == "1.2"
        assert newest()[0].id == before
        await press(pilot, "enter")
        assert newest()[0].id != before
    async with opened() as pilot:
        line = pilot.app.screen.query_one(WalkLine)
        assert line.value == "1.1; so2"
        await press(pilot, "down")
        assert line.value == ""
    clock.at += timedelta(days=1)
    async with opened() as pilot:
        assert pilot.app.screen.query_one(WalkLine).value == ""
