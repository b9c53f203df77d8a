"""The cellar book: what hands did and instruments read, and everything calculated from it."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.book.book import Book as Book
    from cooperage.book.book import utc_now as utc_now
    from cooperage.book.cellar import Cellar as Cellar
    from cooperage.book.cellar import Figure as Figure
    from cooperage.book.cellar import Standing as Standing
    from cooperage.book.declared.acts import KINDS as KINDS
    from cooperage.book.declared.acts import Act as Act
    from cooperage.book.store.registry import Barrel as Barrel
    from cooperage.book.store.registry import Lot as Lot
    from cooperage.book.store.registry import Upkeep as Upkeep
    from cooperage.book.store.registry import Vessel as Vessel
    from cooperage.book.writing.write import Writing as Writing
    from cooperage.book.writing.write import Written as Written
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "book": ("Book", "utc_now"),
            "cellar": ("Cellar", "Figure", "Standing"),
            "declared.acts": ("KINDS", "Act"),
            "store.registry": ("Barrel", "Lot", "Upkeep", "Vessel"),
            "writing.write": ("Writing", "Written"),
        },
    )
