"""What the panel found of a barrel, on its page: with no flight, one, several, and mead that came after them."""

from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.tasting.flights import flight, reveal, score, start_flight

pytestmark = pytest.mark.slow


def tasted(book: Book, code: str, mean: float) -> None:
    """A revealed flight in which B-001 got `mean` of two tasters, four attributes and words."""
    names = ("honey", "fruit", "oak", "acidity")
    start_flight(
        book,
        ["B-001", "B-002"],
        code=code,
        attributes=[f"{name}=0-10" for name in names],
        tasters=["Ada", "Bea"],
    )
    for glass in flight(book, code).glasses:
        for taster in ("Ada", "Bea"):
            value = mean if glass.vessel == "B-001" else 5.0
            score(book, code, glass.code, taster, value, "bright", marks=dict.fromkeys(names, 4.0))
    reveal(book, code, sure=True)


async def head(opened: Any, press: Any, size: tuple[int, int] = (80, 24)) -> str:
    async with opened(page="barrel", size=size) as pilot:
        await press(pilot)
        for _ in range(100):
            shown = "\n".join(
                "".join(segment.text for segment in strip)
                for strip in pilot.app.screen._compositor.render_strips()[1:7]
            )
            if "calculating" not in shown:
                break
            await pilot.pause(0.05)
        return shown


async def test_the_head_has_the_last_score_of_this_fill_the_verdict_and_the_wood(
    opened: Any, press: Any, book: Book
) -> None:
    """Nothing of it without a flight; the newest of two; of the mead before, only that it was before."""
    shown = await head(opened, press)
    assert not any(word in shown for word in ("scored", "last score", "judged"))
    tasted(book, "F1", 11.0)
    tasted(book, "F2", 14.0)
    book.write(acts.Judge(vessel="B-001", verdict="keep", flight="F2"))
    shown = await head(opened, press)
    assert "judged keep" in shown
    assert "14.0 on 0-20" in shown
    assert "11.0" not in shown
    assert "wood left" in shown
    book.write(acts.Rack(vessel="B-001", destination="T-01", sure=True))
    assert "last fill scored 14.0 on 0-20" in await head(opened, press)
    book.write(acts.Fill(vessel="B-001", source="T-01"))
    assert "before this fill: 14.0 on 0-20" in await head(opened, press, (109, 24))


async def test_scores_through_time_stand_whole_under_their_scales(opened: Any, press: Any, book: Book) -> None:
    """Newest first; each scale is named once for what was scored on it, and no word of it is cut at 80 columns."""
    tasted(book, "F1", 11.0)
    tasted(book, "F2", 14.0)
    async with opened(page="barrel") as pilot:
        for _ in range(20):
            await press(pilot, "v")
            shown = "\n".join("".join(s.text for s in strip) for strip in pilot.app.screen._compositor.render_strips())
            if "panel scores" in shown:
                break
        assert shown.count("honey 4.0, fruit 4.0, oak 4.0, acidity 4.0 on 0-10") == 2
        assert shown.index("F2") < shown.index("F1 ")
        assert "bright" in shown
