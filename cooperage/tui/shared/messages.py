"""Messages that screens receive."""

from dataclasses import dataclass

from textual.message import Message

from cooperage.book import Cellar


@dataclass
class BookChanged(Message):
    """The book was written, here or elsewhere, and `cellar` is its state now."""

    cellar: Cellar
