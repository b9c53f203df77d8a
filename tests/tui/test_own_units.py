"""Every screen speaks the person's units, and gives no verdict before it knows."""

import re
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from textual.screen import Screen
from textual.worker import WorkerCancelled

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.acts import KINDS
from cooperage.programme.ageing.scoring.scoreboard import ScoreLine
from cooperage.programme.ageing.scoring.scores import ForecastScore
from cooperage.programme.losses.ledger import GROUPINGS
from cooperage.settings import Settings
from cooperage.tui.app import PAGES, CooperageApp
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.forms.lab_slip import SlipDialog
from cooperage.tui.forms.upkeep_form import UpkeepForm
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import StatusLine
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.units import Units

AMERICAN = Units(volume="gal", gravity="brix", temperature="f")
WIDE = (150, 50)


def picture(pilot: Any) -> str:
    """The screen as plain lines of text."""
    return "\n".join(
        "".join(segment.text for segment in strip) for strip in pilot.app.screen._compositor.render_strips()
    )


def said(pilot: Any) -> str:
    """What stands on the line for it."""
    return str(pilot.app.screen.query_one(StatusLine).render())


@pytest.fixture
def scored(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scores of what has units of its own, in place of those of the demo, which take long."""
    score = ForecastScore("level", 9, 50.0, -20.0, (0.5, 0.8, 0.95), 40.0, 80.0, 30.0)
    lines = [ScoreLine(each, "learned from 9 readings here", is_set_aside=False) for each in (score, gravity_score())]
    monkeypatch.setattr("cooperage.tui.figures.screen.scoreboard", lambda book: lines)


def gravity_score() -> ForecastScore:
    return ForecastScore("sg", 9, 0.001, -0.0005, (0.5, 0.8, 0.95), 0.0008, 0.002, 0.001)


@pytest.mark.slow
@pytest.mark.usefixtures("scored")
async def test_every_page_of_the_demo_speaks_gallons(demo: Path, press: Any, foreign: Callable[..., list[str]]) -> None:
    """Each page as it comes up, and after its keys: other groupings, periods, charts, results, a filter."""
    keys = {
        "rounds": ("down", *"0.2; dip 3, full"),
        "racks": ("down", "right", "down"),
        "barrel": ("v", "right", "v"),
        "panel": ("down",),
        "lots": ("down", "tab", "down"),
        "book": (*["down"] * 4, "q", *"2026-10-01", "enter"),
        "losses": tuple(key for nth in range(len(GROUPINGS) + 2) for key in ("q", *["down"] * nth, "enter")),
        "figures": ("tab", "down"),
        "recall": (*"SALT-25", "enter", "v", "v", "v", "v"),
    }
    book = Book.open(str(demo))
    app, wrong = CooperageApp(book, Settings(hand="Maren", units=AMERICAN)), []
    async with app.run_test(size=WIDE) as pilot:
        for page in (page.name for page in PAGES):
            if app.current_mode != page:
                await app.switch_mode(page)
            pictures = []
            for key in ((), *((key,) for key in keys.get(page, ()))):
                with suppress(WorkerCancelled):  # a key may let go of what the one before has asked for
                    await press(pilot, *key)
                await press(pilot)
                pictures.append(picture(pilot))
            wrong += [f"{page}: {line}" for result in pictures for line in foreign(result)]
    book.close()
    assert not wrong, "\n".join(dict.fromkeys(wrong))


@pytest.mark.slow
async def test_every_form_and_dialog_speaks_gallons(opened: Any, press: Any, foreign: Callable[..., list[str]]) -> None:
    """A form for every kind of act, the upkeep, a count, a lab slip, and the keys."""
    wrong = []
    async with opened(size=WIDE, page="barrel", units=AMERICAN) as pilot:
        standing = pilot.app.screen._standing
        screens: dict[str, Screen[Any]] = {kind: ActForm(KINDS[kind], {"vessel": "B-001"}) for kind in KINDS}
        screens |= {"upkeep": UpkeepForm(standing), "count": CountDialog(), "slip": SlipDialog()}
        for name, screen in screens.items():
            await pilot.app.push_screen(screen)
            await pilot.pause()
            wrong += [f"{name}: {line}" for line in foreign(picture(pilot))]
            pilot.app.pop_screen()
        await press(pilot, "?")
        wrong += foreign(picture(pilot))
    assert not wrong, "\n".join(dict.fromkeys(wrong))


@pytest.mark.slow
@pytest.mark.usefixtures("blending", "graded")
@pytest.mark.parametrize("limit", [("12.9-13.1"), ("min 16")])
async def test_a_solved_blend_speaks_gallons(
    opened: Any, press: Any, solved: Any, foreign: Callable[..., list[str]], limit: str
) -> None:
    """The plan with its figures and prices, and the reasons where there is none."""
    async with opened(size=WIDE, page="blend", units=AMERICAN) as pilot:
        screen = pilot.app.screen
        screen.query_one("#litres").value = "100"
        screen.query_one("#abv").value = limit
        await solved(pilot)
        result = picture(pilot)
    assert "gal" in result
    assert not foreign(result), result


@pytest.mark.slow
@pytest.mark.parametrize("page", [page.name for page in PAGES])
async def test_no_screen_gives_a_verdict_before_its_figures(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, page: Any
) -> None:
    """While the slow work goes on nothing is "nothing", "none" or "no"."""
    monkeypatch.setattr(CellarScreen, "run_slow_work", lambda *_work: None)
    async with opened(size=WIDE, page=page) as pilot:
        for key in ("down", "tab", "down"):
            await press(pilot, key)
        result = picture(pilot)
    assert not re.search(r"\b(Nothing|No (entry|flight|lots|barrel)|none\b|has been bottled)", result), result


@pytest.mark.slow
async def test_a_message_belongs_to_its_vessel_on_the_rounds(opened: Any, press: Any) -> None:
    """A refusal is gone when the walk goes on; what was written names its vessel, and goes with the next step."""
    async with opened() as pilot:
        await press(pilot, "1..5", "enter")
        assert "1..5" in said(pilot)
        await press(pilot, "down")
        assert said(pilot).startswith("B-002: top")
        await press(pilot, "1", "enter")
        assert re.match(r"Written \d\d:\d\d  B-002  top", said(pilot))
        await press(pilot, "down")
        assert said(pilot).startswith("B-004: top")
        await press(pilot, "enter")
        assert "Type what was done at B-004 first" in said(pilot)
        await press(pilot, "up")
        assert said(pilot).startswith("B-003: top")


@pytest.mark.slow
async def test_a_message_belongs_to_its_vessel_on_its_page(opened: Any, press: Any, book: Book) -> None:
    """Struck or written, it is told on that vessel's page and on no other."""
    book.write(acts.Sample(vessel="B-001", volume=50))
    async with opened(page="barrel") as pilot:
        await press(pilot, "down", "x", "+")
        assert "B-001" in said(pilot)
        await press(pilot, "up", "up", "right")  # past the strike, to the heading
        assert pilot.app.desk.tag == "B-002"
        assert said(pilot) == ""
        await press(pilot, "s", "5", "enter")
        await press(pilot, "escape", "escape", "left")
        assert said(pilot) == ""


@pytest.mark.slow
async def test_a_small_sample_is_not_shown_as_nothing(opened: Any, press: Any) -> None:
    """50 ml are 0.05 L."""
    async with opened() as pilot:
        await press(pilot, "escape", "s", "50 ml", "enter")
        assert "0.05 L" in said(pilot)
