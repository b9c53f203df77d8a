"""The screens show each danger before anything is written: the form, the stop, the sign, the plan."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from rich.style import Style

from cooperage.book import KINDS, Book
from cooperage.book.dangers.dangers import DANGERS
from cooperage.book.declared import acts
from cooperage.settings import Settings
from tests.dangers.a_cellar import NOW
from tests.dangers.scenarios import ACTS, PLANS, SIGNS, STOPS, planned


@pytest.mark.slow
async def test_every_danger_is_shown_on_the_form_before_enter(cellar: Path) -> None:
    """The form of every kind, filled in as one would; nothing is written while it stands there."""
    from textual.widgets import Static

    from cooperage.tui.app import CooperageApp
    from cooperage.tui.shared.act_form import ActForm

    book = Book.open(str(cellar))
    app, newest = CooperageApp(book, Settings(hand="Ada")), book.newest_id()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for name, (kind, texts) in ACTS.items():
            form = ActForm(KINDS[kind], texts)
            await app.push_screen(form)
            await pilot.pause()
            shown = " ".join(str(form.query_one("#caution", Static).render()).split())
            assert DANGERS[name].short[1:] in shown, name
            assert shown.endswith("licensed practice come first."), name
            form.dismiss(None)
            await pilot.pause()
        assert book.newest_id() == newest
    book.close()


@pytest.mark.slow
async def test_every_danger_of_a_stop_is_on_its_card(cellar: Path) -> None:
    """The rounds on screen: the card of a stop tells all of it, and the line of the list is marked."""
    from cooperage.programme.rounds.due import rounds
    from cooperage.programme.walk.progress import open_walk
    from cooperage.programme.walk.stops import stops_of
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.rounds.screen import RoundsScreen
    from cooperage.tui.rounds.words import stop_line
    from cooperage.units import DEFAULT

    book = Book.open(str(cellar))
    for tag in ("WHO", "LYE"):  # never filled here, so due only by and by
        book.write(acts.Treat(vessel=tag, treatment="sniff", at=NOW - timedelta(days=80), sure=True))
    stops = stops_of(rounds(book.cellar()), open_walk(book), book.cellar())
    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.switch_mode("rounds")
        for name, (tag, task) in STOPS.items():
            (stop,) = [stop for stop in stops if stop.tag == tag and task in stop.all_tasks]
            assert "(!)" in stop_line(stop, 80, DEFAULT, lambda _role: Style()).plain, name
            screen = app.screen
            assert isinstance(screen, RoundsScreen)
            for _ in range(100):
                await pilot.pause(0.02)
                if screen.stops.shown:
                    break
            screen.walk_to(next(at for at, each in enumerate(screen.stops.shown) if each.key == stop.key))
            await pilot.pause()
            card = screen.query_one("#card")
            told = DANGERS[name].in_row or DANGERS[name].short[1:]
            assert told in " ".join(str(card.render()).split()), name
    book.close()


async def until(pilot: Any, is_so: Callable[[], bool]) -> None:
    """Wait, within bounds, for what slow work brings."""
    for _ in range(2_000):
        await pilot.pause(0.02)
        if is_so():
            return


@pytest.mark.slow
async def test_every_danger_of_a_sign_stands_under_the_list(cellar: Path) -> None:
    """The losses on screen: with the cursor on a sign, what to mind before it is acted upon."""
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.losses.screen import LossesScreen

    book = Book.open(str(cellar))
    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.switch_mode("losses")
        screen = app.screen
        assert isinstance(screen, LossesScreen)
        await until(pilot, lambda: bool(screen._signs))
        await app.workers.wait_for_complete()
        for name, sign in SIGNS.items():
            at = next(at for at, each in enumerate(screen._signs) if (each.vessel, each.kind) == sign)
            screen._sign_list.cursor = at
            screen._show_sign()
            await pilot.pause()
            shown = " ".join(str(screen.query_one("#why").render()).split())
            assert DANGERS[name].short[1:] in shown, name
            assert screen.query_one("#why").size.height >= 3, name
    book.close()


@pytest.mark.slow
async def test_every_danger_of_a_plan_is_in_the_question_before_it_is_poured(cellar: Path) -> None:
    """The screen's question, with all cautions; no leaves it unpoured."""
    from cooperage.tui.app import CooperageApp
    from cooperage.tui.blend.pour import IntoTank, ask_to_pour
    from cooperage.tui.shared.cellar_screen import CellarScreen
    from cooperage.tui.shared.dialogs import Confirm

    book = Book.open(str(cellar))
    app, newest = CooperageApp(book, Settings(hand="Ada")), book.newest_id()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for name, plan in PLANS.items():
            if plan[2] == "SULPH":
                continue  # the screen pours into tanks only
            answer, brief = planned(plan, cellar)
            page = app.screen
            assert isinstance(page, CellarScreen)
            ask_to_pour(page, answer, brief, lambda poured: None)
            await until(pilot, lambda: app.screen is not page)  # noqa: B023 - called at once
            app.screen.dismiss(IntoTank(plan[2]))
            await until(pilot, lambda: isinstance(app.screen, Confirm))
            assert isinstance(app.screen, Confirm), name
            shown = " ".join(str(app.screen.query_one("#question-minded").render()).split())
            assert DANGERS[name].short[1:] in shown, name
            await pilot.press("minus")
            await pilot.pause()
        assert book.newest_id() == newest
    book.close()
