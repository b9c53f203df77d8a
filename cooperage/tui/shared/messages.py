"""Facts that screens are told."""

from dataclasses import dataclass

from textual.message import Message

from cooperage.book import Cellar


@dataclass
class BookChanged(Message):
    """The book was written, here or elsewhere, and this is how the cellar stands now."""

    cellar: Cellar
