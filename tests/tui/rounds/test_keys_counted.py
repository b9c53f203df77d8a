"""How many keys a stop takes, counted with the pilot; and that a key in the line lays nothing out."""

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.screen import Screen

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.log import Entry
from cooperage.programme.walk.progress import open_walk
from cooperage.tui.rounds.walk_line import WalkLine
from tests.tui.conftest import FILLED, NOW, Clock

STOPS = int(os.environ.get("COOPERAGE_STOPS", "12"))
"""Stops of the walk that is counted; sixty take minutes, and the keys a stop are the same."""
SAID = ("1.5", "1.4; so2 30", "1.6; so2 31 ph 3.4; taste clean", "full", "full; so2 29", "1.5; weeping; taste sound")


class Keys:
    """Types lines and counts: what is said, and what is pressed besides."""

    def __init__(self, press: Any) -> None:
        self._press = press
        self.said = self.besides = 0

    async def type(self, pilot: Any, text: str, *besides: str) -> None:
        self.said += len(text)
        self.besides += len(besides)
        await self._press(pilot, text, *besides)


@pytest.fixture
def sixty(tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Sixty barrels that were topped 35 days ago; of some SO2 is due as well, of some a tasting, of some both."""
    long_ago, lately = NOW - timedelta(days=130), NOW - timedelta(days=1)
    made = Book.create(str(tmp_path / "sixty.db"), now=clock)
    oak = Barrel(wood="french oak", past_life="red wine", past_kind="wine", fills_before=2)
    with made.writing() as w:
        w.add_lot(Lot(id="", code="M-26", name="lime honey", abv=13.5, original_sg=1.12, final_sg=1.015))
        w.add_vessel(Vessel(id="", tag="T-01", kind="tank", capacity_ml=20_000_000))
        w.add_vessel(Vessel(id="", tag="K-01", kind="keg", capacity_ml=500_000, position=("North", None, None, None)))
        w.write(acts.Receive(lot="M-26", vessel="T-01", volume=15_000_000, at=FILLED - timedelta(days=1)))
        w.write(acts.Rack(vessel="T-01", destination="K-01", volume=400_000, at=FILLED))
        for nth in range(STOPS):
            tag, said = f"B-{nth + 1:03}", SAID[nth % len(SAID)]
            place = ("North", "1", nth // 2 + 1, nth % 2 + 1)
            w.add_vessel(Vessel(id="", tag=tag, kind="barrel", capacity_ml=225_000, position=place, barrel=oak))
            w.write(acts.Fill(vessel=tag, source="T-01", volume=225_000, at=FILLED))
            w.write(acts.Top(vessel=tag, source="T-01", volume=1_500, at=NOW - timedelta(days=35)))
            read = long_ago if "so2" in said else lately
            for name, value in (("free_so2_mg_l", 32.0), ("ph", 3.4)):
                w.write(acts.Reading(vessel=tag, property=name, value=value, at=read))
            w.write(acts.Reading(vessel=tag, property="va_g_l", value=0.4, at=lately))
            w.write(acts.Treat(vessel=tag, treatment="taste", at=long_ago if "taste" in said else lately))
    yield made
    made.close()


@pytest.mark.slow
async def test_mixed_stops_take_one_key_each_beyond_what_is_said(sixty: Book, press: Any) -> None:
    """A topping alone, with SO2, with pH and a tasting, a look: Enter, and the next stop is up."""
    from cooperage.settings import Settings
    from cooperage.tui.app import CooperageApp

    app, keys = CooperageApp(sixty, Settings(hand="Ada")), Keys(press)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.switch_mode("rounds")
        await press(pilot)
        await press(pilot)
        for nth in range(STOPS):
            assert str(app.screen.query_one("#prompt").render()).startswith(f"B-{nth + 1:03}")
            await keys.type(pilot, SAID[nth % len(SAID)], "enter")
    assert keys.besides == STOPS
    assert {state for _, state in open_walk(sixty).states.items()} == {"done"}
    print(f"{STOPS} stops: {keys.said} keys said, {keys.besides} besides")


@pytest.mark.slow
async def test_a_topping_takes_four_keys(opened: Any, press: Any, newest: Callable[..., list[Entry]]) -> None:
    """1.1 and Enter."""
    async with opened() as pilot:
        keys = Keys(press)
        await keys.type(pilot, "1.1", "enter")
    assert keys.said + keys.besides == 4
    assert (newest()[0].kind, newest()[0].vessel) == ("top", "B-001")


@pytest.mark.slow
async def test_all_of_a_visit_takes_one_line_and_one_enter(
    opened: Any, press: Any, newest: Callable[..., list[Entry]]
) -> None:
    """Topping, SO2, pH, gravity and a look."""
    async with opened() as pilot:
        keys = Keys(press)
        await keys.type(pilot, "1.1; so2 30 ph 3.4 sg 1.015; weeping", "enter")
    assert keys.besides == 1
    assert [entry.kind for entry in reversed(newest(5))] == ["look", "reading", "reading", "reading", "top"]


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (140, 40), (60, 20)])
async def test_no_key_in_the_line_lays_the_screen_out(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, size: Any
) -> None:
    """Neither typing, nor moving the cursor, nor clearing, nor going to the list and back."""
    count = 0
    lay_out = Screen._refresh_layout

    def counted(self: Any, *args: Any, **named: Any) -> Any:
        nonlocal count
        count += 1
        return lay_out(self, *args, **named)

    async with opened(size=size) as pilot:
        monkeypatch.setattr(Screen, "_refresh_layout", counted)
        laid_out = {}
        for key in (*"1.1; so2 24", "left", "right", "backspace", "escape", "escape", "tab", *"weepin", "escape"):
            count = 0
            await press(pilot, key)
            laid_out[key] = count
        assert pilot.app.screen.query_one(WalkLine).has_focus
    assert {key: times for key, times in laid_out.items() if times} == {}
