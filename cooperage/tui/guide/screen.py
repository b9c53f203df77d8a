"""The guide: its pages in Textual's own Markdown viewer, opened at the page of the screen it was called from."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Markdown, MarkdownViewer, Static
from textual.widgets._markdown import MarkdownH2  # it has no public door
from textual.widgets.markdown import MarkdownFence, MarkdownTableOfContents

from cooperage.guide.pages import TOPICS, guide_page, guide_pages
from cooperage.tui.guide.key_sheet import KeyLine, flow, key_parts
from cooperage.tui.guide.over import OverScreen
from cooperage.tui.keys import bound, pressed, rebind
from cooperage.tui.shared.dialogs import Pick

TOPIC_OF = {
    "today": "morning",
    "rounds": "walk",
    "racks": "barrels",
    "barrel": "barrels",
    "panel": "panel",
    "blend": "blend",
    "lots": "bottling",
    "book": "book",
    "losses": "book",
    "figures": "figures",
    "trials": "trials",
    "periods": "period",
    "recall": "recall",
    "bottling": "bottling",
    "bottles": "bottling",
}
"""The page that belongs to each screen."""

_LAID_OUT_S = 0.02
"""Seconds until it is looked again whether a page that was opened is laid out."""
_WIDE = 110


class PlainFence(MarkdownFence):
    """What stands on a terminal, in ink alone: colour is for states."""

    @classmethod
    def highlight(cls, code: str, language: str, ansi: bool = False, dark: bool = False) -> Content:  # noqa: ARG003 - Textual's
        """Return the text as it is."""
        return Content(code.replace("[..]", "…"))


class PageOfGuide(Markdown):
    """A page as it is read."""

    BLOCKS = {**Markdown.BLOCKS, "fence": PlainFence}  # noqa: RUF012 - typed by Textual

    def on_markdown_link_clicked(self, event: Markdown.LinkClicked) -> None:
        """Follow a link to another page, which is shown from its head."""
        event.stop()
        self.call_later(self.run_action, f"screen.open({Path(event.href).stem!r})")


class PageViewer(MarkdownViewer):
    """A page; the keys that go sideways turn to the page before and the next."""

    def __init__(self) -> None:
        super().__init__(show_table_of_contents=False, open_links=False)
        rebind(self, bound("left", "screen.turn(-1)", "page before", show=True))
        rebind(self, bound("right", "screen.turn(1)", "next page", show=True))

    def compose(self) -> ComposeResult:
        """Show the page, and its headings if they are wanted."""
        page = PageOfGuide(open_links=False)
        page.can_focus = True
        yield page
        yield MarkdownTableOfContents(page)


class GuideScreen(OverScreen):
    """The guide over the screen it was called from: its keys there first, then the page."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("guide", "dismiss(None)", "close", show=False),
        bound("find", "pick", "other pages"),
        bound("view", "contents", "contents"),
    ]

    def __init__(self, screen: Screen[Any], here: str, topic: str = "", section: str = "") -> None:
        super().__init__(here)
        self._topic, self._section = topic or TOPIC_OF.get(here, TOPICS[0]), section
        self._keys: list[KeyLine] = [] if topic else key_parts(screen).get("Here", [])

    def compose_page(self) -> ComposeResult:
        """Show the keys that act on the screen below, then the page."""
        yield Static(id="keys-below")
        yield PageViewer()

    async def on_mount(self) -> None:
        """Open the page."""
        self.viewer.show_table_of_contents = self.app.size.width >= _WIDE
        self.viewer.document.focus()
        self.watch(self.viewer, "virtual_size", self._show_section, init=False)
        await self.open_page(self._topic, self._section)

    def on_resize(self, event: events.Resize) -> None:
        """Fill the rows of keys again."""
        keys, pairs = self.query_one("#keys-below", Static), [(key, word) for key, word, _ in self._keys]
        keys.display = bool(pairs)
        keys.update(flow(self.app, pairs, event.size.width - 2))

    @property
    def viewer(self) -> PageViewer:
        """The page as it is shown."""
        return self.query_one(PageViewer)

    async def open_page(self, topic: str, section: str = "") -> None:
        """Open a page, at one of its sections if that is asked, else at its head."""
        self._section = section
        await self.viewer.go(guide_page(topic).file)
        self.viewer.scroll_home(animate=False)
        self.call_after_refresh(self._show_section)

    def _show_section(self) -> None:
        """Scroll to the section that was asked for; its heading has a place once the page is laid out."""
        for heading in self.viewer.query(MarkdownH2):
            if self._section and str(heading.render()) == self._section:
                if heading.region:
                    heading.scroll_visible(animate=False, top=True)
                else:
                    self.set_timer(_LAID_OUT_S, self._show_section)

    def on_markdown_viewer_navigator_updated(self) -> None:
        """Show which page is open, however one came to it."""
        self._topic = self.viewer.navigator.location.stem
        page = guide_page(self._topic)
        nth = f"page {TOPICS.index(self._topic) + 1} of {len(TOPICS)}"
        self.show_title(f"Guide: {page.title}", f"{nth}   {pressed('back')} closes")

    async def action_open(self, topic: str) -> None:
        """Open a page that another one links to."""
        await self.open_page(topic)

    async def action_turn(self, pages: int) -> None:
        """Turn to the page before or the next."""
        at = TOPICS.index(self._topic) + pages
        if 0 <= at < len(TOPICS):
            await self.open_page(TOPICS[at])

    def action_contents(self) -> None:
        """Show or hide the headings of the page."""
        self.viewer.show_table_of_contents = not self.viewer.show_table_of_contents

    def action_pick(self) -> None:
        """Choose another page, or a section of one, from the list of all."""

        async def picked(chosen: str | None) -> None:
            if chosen is not None:
                topic, _, section = chosen.partition("#")
                await self.open_page(topic, section)

        self.app.push_screen(Pick("Pages of the guide", list(_contents()), self._topic), picked)


def _contents() -> Iterator[tuple[str, str]]:
    """Yield every page and, under it, its sections: (topic or topic#section, words)."""
    for page in guide_pages():
        yield page.topic, page.title
        yield from ((f"{page.topic}#{section}", f"  {section}") for section in page.sections)
