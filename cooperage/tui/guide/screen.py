"""The guide: its pages in Textual's own Markdown viewer, opened at the page of the screen it was called from."""

import re
from typing import Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Markdown, MarkdownViewer, Static
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
}
"""The page that belongs to each screen."""

_WIDE = 110


class PlainFence(MarkdownFence):
    """What stands on a terminal, in ink alone: colour is for states."""

    @classmethod
    def highlight(cls, code: str, language: str, ansi: bool = False, dark: bool = False) -> Content:  # noqa: ARG003 - Textual's
        """Return the text as it is."""
        return Content(code)


class PageOfGuide(Markdown):
    """A page as it is read."""

    BLOCKS = {**Markdown.BLOCKS, "fence": PlainFence}  # noqa: RUF012 - typed by Textual


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
        """Open a page, at one of its sections if that is asked."""
        anchor = f"#{_anchor(section)}" if section else ""
        await self.viewer.go(f"{guide_page(topic).file}{anchor}")

    def on_markdown_viewer_navigator_updated(self) -> None:
        """Show which page is open, however one came to it."""
        self._topic = self.viewer.navigator.location.stem
        page = guide_page(self._topic)
        nth = f"page {TOPICS.index(self._topic) + 1} of {len(TOPICS)}"
        self.show_title(f"Guide: {page.title}", f"{nth}   {pressed('back')} closes")

    async def action_turn(self, pages: int) -> None:
        """Turn to the page before or the next."""
        at = TOPICS.index(self._topic) + pages
        if 0 <= at < len(TOPICS):
            await self.open_page(TOPICS[at])
            self.viewer.scroll_home(animate=False)

    def action_contents(self) -> None:
        """Show or hide the headings of the page."""
        self.viewer.show_table_of_contents = not self.viewer.show_table_of_contents

    def action_pick(self) -> None:
        """Choose another page from the list of all."""

        async def picked(topic: str | None) -> None:
            if topic is not None:
                await self.open_page(topic)

        pages = [(page.topic, page.title) for page in guide_pages()]
        self.app.push_screen(Pick("Pages of the guide", pages, self._topic), picked)


def _anchor(section: str) -> str:
    """Return the name of a heading in a link, as Markdown's readers have it."""
    return re.sub(r"[^\w\s-]", "", section.lower()).replace(" ", "-")
