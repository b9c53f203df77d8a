"""The pages of the guide, in the order a newcomer would read them.

A page is a file of Markdown in this folder: its title, a sentence on what it is about, then sections. What it shows of
the command line is run by the tests, and every key it names is one of the program's.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cooperage.errors import BadInput, choose_from

FOLDER = Path(__file__).parent

TOPICS = (
    "first-day",
    "morning",
    "walk",
    "paper",
    "barrels",
    "wood",
    "figures",
    "sulphite",
    "panel",
    "ready",
    "compare",
    "blend",
    "trials",
    "rules",
    "lots",
    "bottling",
    "money",
    "recall",
    "book",
    "reports",
    "period",
    "units",
    "laptops",
    "notebook",
    "trouble",
)
"""Every page, by the name of its file."""


class NoSuchTopic(BadInput):
    """A page was asked for that the guide does not have."""

    def __init__(self, asked: str) -> None:
        super().__init__(f"the guide has no page '{asked}'{choose_from(asked, TOPICS)}")


@dataclass(frozen=True, slots=True)
class GuidePage:
    """One page: its topic, its title, the sentence under it, and its Markdown."""

    topic: str
    title: str
    about: str
    text: str

    @property
    def file(self) -> Path:
        """Where it lies; links to other pages are relative to it."""
        return FOLDER / f"{self.topic}.md"

    @property
    def shown(self) -> str:
        """Its Markdown as it is read: an ellipsis where the examples leave open what comes out."""
        return self.text.replace("[..]", "…")

    @property
    def sections(self) -> tuple[str, ...]:
        """The headings of its sections."""
        return tuple(re.findall(r"^## (.+)$", self.text, re.MULTILINE))


def guide_page(asked: str) -> GuidePage:
    """Return the page of a topic, in any case, spaces or hyphens between its words; raises NoSuchTopic."""
    topic = "-".join(asked.casefold().split())
    if topic not in TOPICS:
        raise NoSuchTopic(asked)
    text = (FOLDER / f"{topic}.md").read_text(encoding="utf-8")
    title, about = text.split("\n\n", 2)[:2]
    return GuidePage(topic, title.removeprefix("# "), " ".join(about.split()), text)


def guide_pages() -> Iterator[GuidePage]:
    """Yield every page in order."""
    return map(guide_page, TOPICS)
