"""What is drawn for a change: as Textual draws it, of no more widgets than are seen there, and without a layout."""

import asyncio
import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from threading import Event
from typing import Any

import pytest
from rich.text import Text
from textual._compositor import Compositor
from textual.geometry import Region
from textual.screen import Screen
from textual.widget import Widget

from cooperage.tui.app import PAGES
from cooperage.tui.drawing import LeanCompositor
from cooperage.tui.kept_rows import KeptRows
from cooperage.tui.racks.screen import RacksScreen
from cooperage.tui.shared.bars import BusyBar
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.line_list import LineList
from tests.tui.test_random_keys import wanted

_CHANGES = 12
_ONES_OWN_CONTENT = ("down", "up", "tab", "A", "1", "backspace")
_FORM_KEYS = ("tab", "down", "up", "shift+tab", "1", "a", "backspace", "left", " ", "home", "end")


def everything(screen: Screen[Any]) -> Region:
    return Region(0, 0, screen.size.width, screen.size.height)


def drawn(compositor: Compositor, chops: Sequence[Any], region: Region, is_wanted: Callable[[int], bool]) -> list[Any]:
    """All pieces of the wanted lines that lie in a region, each letter with its style."""

    def letters(strip: Any) -> list[Any]:
        return [(letter, segment.style) for segment in strip for letter in segment.text]

    return [
        (y, x, letters(chops[y][x]))
        for y in region.line_range
        for x, end in pairwise(compositor.cuts[y])
        if is_wanted(y) and x < region.right and end > region.x
    ]


@contextmanager
def layouts(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Any]]:
    """Note every layout of a whole screen while this is open; to scroll is none."""
    made: list[Any] = []
    lay_out = Screen._refresh_layout

    def noted(self: Any, size: Any = None, scroll: bool = False) -> Any:
        if not scroll:
            made.append(self)
        return lay_out(self, size, scroll)

    with monkeypatch.context() as patched:
        patched.setattr(Screen, "_refresh_layout", noted)
        yield made


@pytest.mark.slow
@pytest.mark.usefixtures("blending")
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_what_is_drawn_is_what_textual_would_draw(opened: Any, press: Any, page: str) -> None:
    """Of the whole screen, and of any lines of it, with dialogs and forms over it."""
    rng = random.Random(f"drawing {page}")
    async with opened(page=page) as pilot:
        for _, key in zip(range(_CHANGES), wanted(rng), strict=False):
            await press(pilot, key)
            screen = pilot.app.screen
            compositor = screen._compositor
            assert isinstance(compositor, LeanCompositor)
            some = set(rng.sample(range(screen.size.height), 5))
            part = Region(rng.randrange(60), rng.randrange(18), rng.randrange(1, 20), rng.randrange(1, 6))
            for region, lines in (
                (everything(screen), lambda _y: True),
                (everything(screen), some.__contains__),
                (part, lambda _y: True),
            ):
                lean = compositor._render_chops(region, lines)
                whole = Compositor._render_chops(compositor, region, lines)
                assert drawn(compositor, lean, region, lines) == drawn(compositor, whole, region, lines), key


def seen(screen: Screen[Any]) -> list[Any]:
    """Return every letter on a screen with its style."""
    return [
        (letter, part.style) for strip in screen._compositor.render_strips() for part in strip for letter in part.text
    ]


@pytest.mark.slow
@pytest.mark.usefixtures("blending")
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_what_is_kept_as_drawn_is_what_would_be_drawn_anew(opened: Any, press: Any, page: str) -> None:
    """After any keys, in lists, cards, texts and the forms over them."""
    rng = random.Random(f"kept {page}")
    async with opened(page=page) as pilot:
        for _ in range(_CHANGES):
            key = rng.choice([*_ONES_OWN_CONTENT, "down", "right", "v", "s", "escape", "pagedown", "end"])
            await press(pilot, key)
            kept = seen(pilot.app.screen)
            for each in pilot.app.screen.query(Widget):
                each._styles_cache.clear()
                if isinstance(each, KeptRows):
                    each.forget_drawn()
            assert kept == seen(pilot.app.screen), key


@pytest.mark.slow
async def test_a_pointer_that_moves_asks_its_list_alone_for_two_lines(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No other widget is asked for anything but what lies under the list's own margin."""
    async with opened(page="barrel") as pilot:
        await press(pilot, "down")
        asked: list[tuple[str, int]] = []

        def noting(draw: Any) -> Any:
            def noted(self: Any, crop: Region) -> Any:
                asked.append((type(self).__name__, crop.height))
                return draw(self, crop)

            return noted

        monkeypatch.setattr(Widget, "render_lines", noting(Widget.render_lines))
        monkeypatch.setattr(KeptRows, "render_lines", noting(KeptRows.render_lines))
        await press(pilot, "down")
        assert ("History", 2) in asked
        assert max(height for name, height in asked if name == "History") == 2
        assert not {"KeyBar", "TopBar", "StatusLine", "BarrelScreen"} & {name for name, _ in asked}
        monkeypatch.setattr(LineList, "line", None)  # what was drawn of both lines is shown again
        await press(pilot, "up", "down")


@pytest.mark.slow
@pytest.mark.usefixtures("blending")
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_no_key_on_a_screen_lays_it_out(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    """Neither the pointer, nor the next list, nor a tag that is typed; what opens by itself is closed first."""
    async with opened(page=page) as pilot:
        await press(pilot, *(["escape"] if page == "blend" else []), "down", "up")
        pilot.app.stylesheet.update(pilot.app.screen)  # as a screen is that was made ready
        await press(pilot)
        found = {}
        for key in _ONES_OWN_CONTENT:
            with layouts(monkeypatch) as made:
                await press(pilot, key)
            found[key] = len(made)
    assert {key: count for key, count in found.items() if count} == {}


@pytest.mark.slow
@pytest.mark.parametrize("form", ["s", "t", "d", "m", "u", "n"])
async def test_no_key_in_a_form_lays_it_out(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    """Neither from field to field nor in one."""
    async with opened(page="barrel" if form != "n" else "racks") as pilot:
        await press(pilot, form)
        pilot.app.stylesheet.update(pilot.app.screen)
        await press(pilot)
        found = {}
        for key in _FORM_KEYS:
            with layouts(monkeypatch) as made:
                await press(pilot, key)
            found[key] = len(made)
            assert len(pilot.app.screen_stack) in (2, 3)
            while len(pilot.app.screen_stack) > 2:  # Space has opened a list
                await press(pilot, "escape")
    assert {key: count for key, count in found.items() if count and key != " "} == {}


@pytest.mark.slow
async def test_nothing_ticks_behind_a_hidden_bar(opened: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bar of slow work has a timer only from when it is first seen, and that rests while it is hidden."""
    monkeypatch.setattr("cooperage.tui.shared.cellar_screen._BUSY_AFTER", 60.0)  # a start is slow on a busy machine
    async with opened(page="today") as pilot:
        bar: Any = pilot.app.screen.query_one(BusyBar)
        assert not bar._moves
        bar.show_working(True)
        assert bar._moves._active.is_set()
        assert "Esc to cancel" in str(bar.render())
        bar.show_working(False)
        assert not bar._moves._active.is_set()
        assert not bar.display


@pytest.mark.slow
async def test_a_list_is_laid_out_only_for_a_bar_that_comes_or_goes(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once when it outgrows its room and once when it fits again; another length of it lays nothing out."""
    monkeypatch.setattr("cooperage.tui.shared.cellar_screen._BUSY_AFTER", 60.0)  # its bar is laid out too
    async with opened(page="lots") as pilot:
        lines, found = pilot.app.screen.query_one("#lots", LineList), []
        for count in (3, 90, 91, 300, 2, 1):
            with layouts(monkeypatch) as made:
                lines.set_lines(count, lambda index, _width: Text(f"line {index}"))
                await press(pilot)
            found.append((len(made), lines.show_vertical_scrollbar))
        assert found[1:] == [(1, True), (0, True), (0, True), (1, False), (0, False)]


@pytest.mark.slow
async def test_every_page_is_made_ready_before_it_is_visited(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Laid out and drawn, the brief that is begun with too; scores are calculated when their page comes up."""
    scored: list[Any] = []

    def scoreboard(book: Any) -> list[Any]:
        scored.append(book)
        return []

    monkeypatch.setattr("cooperage.tui.figures.screen.scoreboard", scoreboard)
    async with opened(page="today") as pilot:
        await pilot.app.prepare()
        screens = {page.name: pilot.app.get_screen(page.name) for page in PAGES}
        assert all(screen._compositor.visible_widgets for screen in screens.values())
        assert screens["blend"].query_one("#litres").region
        assert not scored
        await pilot.app.switch_mode("figures")
        await press(pilot)
        await pilot.app.switch_mode("today")
        await pilot.app.switch_mode("figures")
        await press(pilot)
        assert len(scored) == 1


@pytest.mark.slow
@pytest.mark.parametrize("page", ["rounds", "racks"])
async def test_a_page_that_comes_up_is_laid_out_once(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    """With what it calculates in a moment; nothing is held back after that."""
    monkeypatch.setattr("cooperage.tui.shared.cellar_screen._HELD_S", 20.0)  # however slow the machine is
    monkeypatch.setattr("cooperage.tui.shared.cellar_screen._BUSY_AFTER", 60.0)
    async with opened(page="today") as pilot:
        await pilot.app.prepare()
        await press(pilot)
        with layouts(monkeypatch) as made:
            await pilot.app.switch_mode(page)
            while pilot.app._batch_count or not made:  # what it calculates may take a busy machine its time
                await pilot.pause(0.02)
            await press(pilot)
        assert made == [pilot.app.screen]
        assert pilot.app._batch_count == 0


@pytest.mark.slow
async def test_a_page_is_drawn_though_its_work_goes_on(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It waits a tenth of a second at most; and a page that is left meanwhile holds up no other."""
    may_end = Event()
    monkeypatch.setattr(RacksScreen, "_calculate", lambda *_given: may_end.wait(20) and None)
    monkeypatch.setattr(RacksScreen, "_take_calculated", lambda *_given: None)
    async with opened(page="today") as pilot:
        assert pilot.app._batch_count == 0
        await pilot.app.switch_mode("racks")
        for _ in range(200):
            if not pilot.app._batch_count:
                break
            await asyncio.sleep(0.02)
        assert pilot.app._batch_count == 0
        assert pilot.app.screen._calculates
        monkeypatch.setattr("cooperage.tui.shared.cellar_screen._HELD_S", 20.0)
        pilot.app.screen._shown = None
        pilot.app.screen.on_screen_resume()
        assert pilot.app._batch_count == 1
        await pilot.app.switch_mode("book")
        may_end.set()
        await press(pilot)
        assert pilot.app._batch_count == 0


@pytest.mark.slow
async def test_the_first_page_waits_for_nothing(opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the program opens, what is known already is drawn at once; the next page may wait."""
    waits: list[float] = []
    set_timer = CellarScreen.set_timer

    def noted(self: Any, after: float, *given: Any) -> Any:
        waits.append(after)
        return set_timer(self, after, *given)

    monkeypatch.setattr(CellarScreen, "set_timer", noted)
    monkeypatch.setattr("cooperage.tui.shared.cellar_screen._HELD_S", 0.123)
    async with opened(page="racks") as pilot:
        assert 0.123 not in waits
        await pilot.app.switch_mode("rounds")
        await press(pilot)
        assert 0.123 in waits
