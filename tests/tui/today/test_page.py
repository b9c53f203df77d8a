"""The first page on the demo: the worst first, whole at every size, nothing judged before it is calculated."""

import re
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from textual.screen import Screen

from cooperage.book import Book
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.day_walk import DayWalk, KegWork
from cooperage.programme.today.glance import today_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import alike_words, kegs_verdict, sure_column
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.line_list import LineList
from cooperage.units import DEFAULT

SIZES = [(60, 20), (80, 24), (140, 40)]
TROUBLES = ["B-025 leak", "B-028 vinegar", "B-033 SO2 low", "B-009 dip short", "B-034 empty"]


@pytest.fixture
def book(demo: Path) -> Iterator[Book]:
    """The demo in place of the small cellar."""
    made = Book.open(str(demo))
    yield made
    made.close()


def rows(pilot: Any) -> list[str]:
    listed = pilot.app.screen.query_one("#trouble")
    width = listed.scrollable_content_region.width
    return [listed.line(y, width).plain for y in range(listed.line_count)]


def shown(pilot: Any, selector: Any) -> str:
    return str(pilot.app.screen.query_one(selector).render())


def whole_page(pilot: Any) -> list[str]:
    return [strip.text for strip in pilot.app.screen._compositor.render_strips()]


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_planted_troubles_stand_first_and_whole(opened: Any, size: Any) -> None:
    """In view at every size, each with its figure; nothing is cut, nothing stands over anything else."""
    async with opened(page="today", size=size) as pilot:
        page = whole_page(pilot)
        assert not [line for line in page if "…" in line or "cooperage " in line]
        first = [" ".join(line.split()) for line in rows(pilot)[:5]]
        for line, named in zip(first, TROUBLES, strict=True):
            assert line.startswith(f"▲ {named}")
            assert any(named in " ".join(drawn.split()) for drawn in page)
        points = {line.index(figure.group()) for line in rows(pilot)[:4] if (figure := re.search(r"(?<=\d)\.\d", line))}
        assert len(points) == 1
        assert shown(pilot, "#today-head").endswith("▲ 5  ○ 36 stops") or "▲ 5" in shown(pilot, "#today-head")
        for selector in ("#trouble", "#orders", "#walk-ahead", KeyBar):
            region = pilot.app.screen.query_one(selector).region
            assert region.height >= 1
            assert region.bottom <= size[1]


@pytest.mark.slow
async def test_nothing_is_judged_before_it_is_calculated(
    opened: Any, monkeypatch: pytest.MonkeyPatch, book: Book
) -> None:
    """Until the warnings are in the list has one line, and neither mark nor count nor walk; then all at once."""
    goes_on, began = threading.Event(), threading.Event()

    def slow(*given: Any) -> Any:
        began.set()
        assert goes_on.wait(30)
        return today_of(*given)

    monkeypatch.setattr("cooperage.tui.today.shown.today_of", slow)
    from cooperage.settings import Settings
    from cooperage.tui.app import CooperageApp
    from tests.tui.conftest import settle

    app = CooperageApp(book, Settings(hand="Ada"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert began.wait(10)
        assert rows(pilot) == ["Look first: calculating"]
        before = "".join(whole_page(pilot)[1:22])
        assert not set(before) & set("▲○✓")
        assert "Nothing" not in before
        list_before = app.screen.query_one("#trouble").region.offset
        goes_on.set()
        await settle(pilot)
        assert rows(pilot)[0].startswith("▲ B-025")
        assert app.screen.query_one("#trouble").region.offset == list_before


@pytest.mark.slow
async def test_enter_goes_there(opened: Any, press: Any) -> None:
    """To the vessel; to the rounds where many alike are dealt with on the walk."""
    async with opened(page="today") as pilot:
        await press(pilot, "enter")
        assert (pilot.app.current_mode, pilot.app.desk.tag) == ("barrel", "B-025")
        await press(pilot, "f2", *["down"] * 5)
        assert pilot.app.screen.current.word == "SO2 near its floor"
        await press(pilot, "enter")
        assert pilot.app.current_mode == "rounds"


@pytest.mark.slow
async def test_what_to_do_stands_under_the_list(opened: Any, press: Any) -> None:
    """And what to mind; a narrow screen has the reason there too."""
    async with opened(page="today") as pilot:
        assert shown(pilot, "#trouble-why").startswith("Look under the bilge and at the heads, then top ")
        await press(pilot, "down", "down")
        assert "metabisulphite" in shown(pilot, "#trouble-why")
        assert "Caution: " in shown(pilot, "#trouble-why")
    async with opened(page="today", size=(60, 20)) as pilot:
        assert " a month; usual " in " ".join(shown(pilot, "#trouble-why").split())


@pytest.mark.slow
async def test_what_a_class_line_is_and_where_it_is_written_stands_whole(opened: Any, press: Any) -> None:
    """At 80 columns too, where the reason in full has no room and was cut."""
    async with opened(page="today", size=(80, 24)) as pilot:
        place = next(nth for nth, row in enumerate(rows(pilot)) if "class line" in row)
        await press(pilot, *["down"] * place)
        words = " ".join(shown(pilot, "#trouble-why").split())
        assert "near 14 % vol; label tolerance, 27 CFR 4.36, as of 2024-11. Measure before any bottling" in words
        assert words.endswith("Enter opens B-021.")


@pytest.mark.slow
async def test_a_key_lays_nothing_out(opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Down and up again on the list."""
    async with opened(page="today") as pilot:
        laid_out: list[str] = []
        lay_out = Screen._refresh_layout

        def counted(self: Any, *given: Any, **named: Any) -> None:
            laid_out.append(type(self).__name__)
            lay_out(self, *given, **named)

        monkeypatch.setattr(Screen, "_refresh_layout", counted)
        await press(pilot, "down", "down", "up")
        assert pilot.app.screen.query_one("#trouble", LineList).cursor == 1
        assert not laid_out


@pytest.mark.slow
async def test_the_page_counts_stops_as_the_rounds_do(opened: Any, press: Any) -> None:
    """One stop skipped on the rounds is none to do here."""
    async with opened(page="rounds") as pilot:
        await press(pilot, "-")
        left = int(re.match(r"(\d+) of", shown(pilot, "#walk")).group(1))  # type: ignore[union-attr]
        await press(pilot, "f2")
        pilot.app.screen.show_cellar(pilot.app.desk.cellar)
        from tests.tui.conftest import settle

        await settle(pilot)
        assert f"○ {left} stops" in shown(pilot, "#today-head")


def drawn_rows(pilot: Any, selector: str) -> int:
    return int(pilot.app.screen.query_one(selector).size.height)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_no_list_hides_rows_without_telling(opened: Any, press: Any, size: Any) -> None:
    """Each heading has how many rows are out of view, wherever the cursor is; all trouble is in view at first."""
    async with opened(page="today", size=size) as pilot:
        screen = pilot.app.screen
        trouble = [each for each in screen._today.matters if each.state is SignState.TROUBLE]
        assert drawn_rows(pilot, "#trouble") >= len(trouble)
        for keys in ([], ["end"], ["home", "tab"], ["end"]):
            await press(pilot, *keys)
            for selector in ("#trouble", "#orders"):
                listed, head = screen.query_one(selector), shown(pilot, f"#{HEADS[selector]}")
                first = listed.scroll_offset.y
                assert first <= listed.cursor < first + listed.size.height
                out = listed.line_count - min(listed.line_count - first, listed.size.height)
                told = re.search(r"(\d+)(?: more (?:above|below)| above, (\d+) below)", head)
                assert sum(int(count) for count in told.groups() if count) == out if told else out == 0


HEADS = {"#trouble": "look-head", "#orders": "orders-head"}


@pytest.mark.slow
async def test_trouble_and_the_order_for_it_belong_together(opened: Any, press: Any) -> None:
    """The row names the order, what Enter does is told, and Enter opens it; an impossible order leads nowhere."""
    from cooperage.tui.several.order_forms import DoForm

    async with opened(page="today") as pilot:
        await press(pilot, "down", "down")
        assert "order 1 is for this" in rows(pilot)[2]
        assert "Enter opens order 1." in shown(pilot, "#trouble-why")
        await press(pilot, "enter")
        form: Any = pilot.app.screen
        assert isinstance(form, DoForm)
        await press(pilot, "escape", "down", "down")
        assert pilot.app.screen.current.orders == (3,)
        assert "Enter opens B-034." in " ".join(shown(pilot, "#trouble-why").split())


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_cellar_is_told_how_to_begin(size: Any, tmp_path: Path) -> None:
    """Whole, and with nothing of wood or losses."""
    from cooperage.settings import Settings
    from cooperage.tui.app import CooperageApp
    from tests.tui.conftest import settle

    made = Book.create(str(tmp_path / "new.db"))
    app = CooperageApp(made, Settings(hand="Ada"))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        told = " ".join(" ".join(rows(pilot)).split())
        assert told.startswith("The cellar has no vessels yet;")
        assert told.endswith(".")
        assert max(map(len, rows(pilot))) <= size[0] - 2
        page = " ".join(whole_page(pilot))
        assert "Wood" not in page
        assert "Lost" not in page
    made.close()


MANY = tuple(f"B-{number:03}" for number in range(1, 21))
ROW = Matter(SignState.DUE, ("sulphite",), "SO2", MANY, None, (), (), "", (0.5, 0.9), 1.0, ())


@pytest.mark.parametrize("width", [20, 40, 78, 200])
def test_many_alike_are_named_as_far_as_they_fit_and_counted(width: int) -> None:
    """Named and counted ones come to all."""
    words = alike_words(ROW, width)
    assert len(words) <= width
    more = re.search(r"and (\d+) more$", words)
    assert words.count("B-") + (int(more.group(1)) if more else 0) == len(ROW.vessels)


@pytest.mark.parametrize(
    ("state", "sure", "words"),
    [
        (SignState.TROUBLE, None, "sure"), (SignState.DUE, None, ""), (SignState.DUE, (0.69, 0.96), "69–96 %"),
        (SignState.TROUBLE, (0.999, 0.999), ">99 %"), (SignState.DUE, (0.5, 0.5), "50 %"),
    ],
)  # fmt: skip
def test_how_sure_is_one_word(state: SignState, sure: Any, words: str) -> None:
    """What was seen is sure; what is no matter of chance has none."""
    assert sure_column(replace(ROW, state=state, sure=sure)) == words


def test_a_keg_that_cannot_give_enough_is_named() -> None:
    """With what it holds and must give."""
    kegs = (KegWork("K-01", 1_000, 5_000), KegWork("K-02", 3_600, 2_000))
    assert kegs_verdict(DayWalk((), kegs, (), 0.0), DEFAULT) == "▲ K-02 holds 2.0 L of the 3.6 L it must give."
    assert kegs_verdict(DayWalk((), kegs[:1], (), 0.0), DEFAULT) == "Kegs hold enough."
    assert kegs_verdict(DayWalk((), (), (), 0.0), DEFAULT) == ""
