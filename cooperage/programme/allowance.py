"""How much may be missing: a share of what was on hand at the start of a time and received since.

The share is the cellar's own fact; its default and every verdict are references, to be checked with one's authority.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book import Book
from cooperage.book.facts import CHECK, FACTS, USUAL, facts_of
from cooperage.book.log import losses
from cooperage.book.places import Outside
from cooperage.units import DEFAULT, Quantity, Units, show

ALLOWANCE = USUAL.allowance
"""The share until the cellar gives its own."""
_A_YEAR = timedelta(days=366)


@dataclass(frozen=True, slots=True)
class Allowance:
    """What was on hand and received [ml], and the share of it that may be missing [1]."""

    base_ml: int
    share: float = ALLOWANCE

    @property
    def allowed_ml(self) -> int:
        """What may be missing [ml]."""
        return round(self.share * self.base_ml)

    def holds(self, missing_ml: int) -> bool:
        """Say whether what is missing lies within it."""
        return missing_ml <= self.allowed_ml

    def words(self, missing_ml: int, units: Units = DEFAULT) -> str:
        """Tell what is allowed and whether what is missing lies within it, with its reference."""
        allowed, base = (show(Quantity.VOLUME, ml, units) for ml in (self.allowed_ml, self.base_ml))
        share = show(Quantity.PERCENT, 100 * self.share, units)
        verdict = "within the allowance" if self.holds(missing_ml) else "MORE than the allowance"
        reference = f"{FACTS['loss_allowance'].reference}; {CHECK}"
        return f"{verdict} of {allowed}, {share} of {base} ({reference})"


def on_hand_and_received(book: Book, since: datetime | None, until: datetime | None = None) -> int:
    """Return what was on hand at a moment and received after it [ml]; without one, all that ever was received."""
    on_hand = 0 if since is None else sum(standing.ml for standing in book.cellar(since))
    with book.reading() as connection:
        moved = losses(connection, since=since, until=until)
    return on_hand - sum(ml for at, _, place, ml in moved if place == Outside.RECEIVED and at != since)


def allowance_words(
    book: Book, missing_ml: int, since: datetime | None, until: datetime | None = None, units: Units = DEFAULT
) -> str:
    """Hold what was lost in a time against the allowance by the cellar's own share; only a year or less has one."""
    if since is None or (until or book.now()) - since > _A_YEAR:
        return "the allowance is of one year; choose no longer time to see it"
    return Allowance(on_hand_and_received(book, since, until), allowed_share(book)).words(missing_ml, units)


def allowed_share(book: Book) -> float:
    """Return the share that may be missing, as the cellar has it [1]."""
    with book.reading() as connection:
        return facts_of(connection).allowance
