"""The cellar book: what hands did and instruments read, and everything that is reckoned from it."""

from cooperage.book.book import Book, utc_now
from cooperage.book.cellar import Cellar, Figure, Standing
from cooperage.book.declared.acts import KINDS, Act
from cooperage.book.store.registry import Barrel, Lot, Upkeep, Vessel
from cooperage.book.writing.write import Writing, Written

__all__ = [
    "KINDS",
    "Act",
    "Barrel",
    "Book",
    "Cellar",
    "Figure",
    "Lot",
    "Standing",
    "Upkeep",
    "Vessel",
    "Writing",
    "Written",
    "utc_now",
]
