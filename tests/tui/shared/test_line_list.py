"""A list draws again what has changed and nothing else, and never shows a line that is no longer so."""

import asyncio
from collections.abc import AsyncIterator, Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.text import Text
from textual.app import App

from cooperage.tui.shared.line_list import LineList


class Listed(App[None]):
    """A list of texts, and a note of every line that was drawn."""

    def compose(self) -> Iterator[Any]:
        """Show the list."""
        yield LineList(id="list")

    def show(self, texts: list[Text]) -> None:
        """Put these texts on the list."""
        self.query_one(LineList).set_lines(len(texts), lambda index, _width: texts[index])

    def seen(self) -> list[str]:
        """What a person sees, line by line, as the screen has put it together."""
        lines = self.query_one(LineList)
        strips = self.screen._compositor.render_strips()
        return [
            "".join(segment.text for segment in strip)[: lines.scrollable_content_region.width].rstrip()
            for strip in strips
        ]


@pytest.fixture
async def listed() -> AsyncIterator[Any]:
    app = Listed()
    async with app.run_test(size=(30, 8)) as pilot:
        yield pilot


async def test_only_the_lines_that_differ_are_drawn_again(listed: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of eight lines one has another word and one another style; the cursor stays."""
    texts = [Text(f"barrel {number}") for number in range(20)]
    listed.app.show(texts)
    await listed.pause()
    asked = []
    monkeypatch.setattr(LineList, "refresh_line", lambda _self, y: asked.append(y))
    listed.app.show([*texts[:2], Text("leaks"), texts[3], Text("barrel 4", style="bold"), *texts[5:]])
    assert asked == [2, 4]


steps = st.lists(
    st.tuples(st.sampled_from(["change", "cursor", "fewer", "more"]), st.integers(0, 14), st.integers(0, 3)), max_size=8
)


@pytest.mark.slow
@given(steps=steps)
@settings(max_examples=12)
def test_what_is_seen_is_what_is_on_the_list(steps: Any) -> None:
    """After any changes of texts, lengths and cursor the screen shows the lines in view, each as it is now."""

    async def walk() -> None:
        app = Listed()
        words = [f"barrel {number}" for number in range(12)]
        async with app.run_test(size=(30, 8)) as pilot:
            for kind, where, what in [("change", 0, 0), *steps]:
                lines = app.query_one(LineList)
                if kind == "cursor":
                    lines.cursor = where
                elif kind == "fewer":
                    words = words[: max(1, len(words) - what)]
                elif kind == "more":
                    words = words + [f"new {what} {number}" for number in range(what)]
                else:
                    words = [*words]
                    words[where % len(words)] = f"changed {what}"
                app.show([Text(word) for word in words])
                await pilot.pause()
                top = lines.scroll_offset.y
                assert [line for line in app.seen() if line] == words[top : top + 8]

    asyncio.run(walk())


async def test_a_line_of_one_style_alone_is_drawn_in_it(listed: Any) -> None:
    """Rich leaves the only style of a text out where no part of it has another."""
    listed.app.show([Text("entry"), Text("struck entry", style="bold strike")])
    await listed.pause()
    plain, struck = (listed.app.query_one(LineList).render_line(y) for y in (0, 1))
    assert all(segment.style and segment.style.strike for segment in struck if segment.text.strip())
    assert not any(segment.style and segment.style.strike for segment in plain)
