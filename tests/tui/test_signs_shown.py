"""A sign has one mark and one word on every screen."""

from datetime import timedelta
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.signs.all_signs import signs, signs_at
from cooperage.programme.signs.sign import Sign, SignState
from cooperage.tui.shared.ink import DUE, KNOWN, TROUBLE, role_of_mark, sign_content


@pytest.fixture
def low(book: Book) -> Book:
    """The small cellar with next to no free SO2 in B-001."""
    with book.writing() as w:
        at = w.now - timedelta(hours=1)
        w.write(acts.Reading(vessel="B-001", property="free_so2_mg_l", value=2.0, at=at, sure=True))
    return book


@pytest.mark.parametrize("page", ["today", "rounds", "barrel", "losses"])
async def test_trouble_stands_alike_on_every_screen(low: Book, opened: Any, press: Any, page: str) -> None:
    """The page of the vessel too, which looks over one barrel alone."""
    async with opened(page=page, size=(140, 40)) as pilot:
        pilot.app.desk.tag = "B-001"
        await press(pilot)
        shown = "\n".join("".join(s.text for s in strip) for strip in pilot.app.screen._compositor.render_strips())
    assert f"{TROUBLE} SO2 low" in shown or f"{TROUBLE} B-001" in shown
    assert "SO2 low" in shown


def test_one_barrel_alone_is_weighed_as_all_of_them_are(low: Book) -> None:
    cellar = cellar_now(low)
    [alone] = signs_at(cellar["B-001"], cellar)
    [among] = [sign for sign in signs(low, cellar) if sign.vessel == "B-001" and sign.kind == alone.kind]
    assert (alone.state, alone.word, alone.waiting_costs_l) == (among.state, among.word, among.waiting_costs_l)
    assert alone.is_trouble


@pytest.mark.parametrize(
    ("state", "mark", "role"),
    [(SignState.TROUBLE, TROUBLE, "ember"), (SignState.DUE, DUE, "honey"), (SignState.KNOWN, KNOWN, "quiet")],
)
def test_each_state_has_its_own_mark_and_colour(state: SignState, mark: str, role: str) -> None:
    """What is only known is not due."""
    shown = sign_content(Sign("B-001", "strength", "the spirit barrel gave strength", state=state, word="stronger"))
    assert shown.plain == f"{mark} stronger: the spirit barrel gave strength"
    assert role_of_mark(shown.plain) == role
    assert any(role in str(span.style) for span in shown.spans)
