"""How much may be missing: a share of what was on hand at the start of a time and received since.

The share is the cellar's own fact; its default and every verdict are references, to be checked with one's authority.
"""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book
from cooperage.book.declared.places import Outside
from cooperage.book.facts import CHECK, FACTS, USUAL, facts_of
from cooperage.book.log import flows
from cooperage.units import DEFAULT, Quantity, Span, Units, counted, local_day, show

ALLOWANCE = USUAL.allowance
"""The share until the cellar gives its own."""
_YEAR_DAYS, _LONGEST_DAYS = 365, 366
GIVE_SINCE = "Give --since within the last 12 months to compare."
"""The options that make the command line look back over a time that has an allowance."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """What was on hand and received [ml], and the share of it that may be missing in a year [1].

    `days` is the time looked at; left out, it is a year.
    """

    base_ml: int
    share: float = ALLOWANCE
    days: int = _YEAR_DAYS

    @property
    def allowed_ml(self) -> int:
        """What may be missing in a year [ml]."""
        return round(self.share * self.base_ml)

    @property
    def pace_ml(self) -> int:
        """The part of the year's allowance that falls to the days looked at [ml]."""
        return round(self.share * self.base_ml * min(1.0, self.days / _YEAR_DAYS))

    def holds(self, missing_ml: int) -> bool:
        """Return True if what is missing lies within the allowance of a year."""
        return missing_ml <= self.allowed_ml

    def words(self, missing_ml: int, units: Units = DEFAULT, shorter: str = GIVE_SINCE) -> str:
        """Return what is missing beside what is allowed, with its reference; a verdict only over a whole year.

        `shorter` is how to look back over less than a year, where the time was longer and so has no allowance.
        """
        missing, allowed, base, pace = (
            show(Quantity.VOLUME, ml, units) for ml in (missing_ml, self.allowed_ml, self.base_ml, self.pace_ml)
        )
        if self.days > _LONGEST_DAYS:
            return f"{missing}. The allowance covers one year. {shorter}"
        of_base = f"{show(Quantity.PERCENT, 100 * self.share, units)} of {base}"
        reference = f"({FACTS['loss_allowance'].reference}; {CHECK})"
        if not self.holds(missing_ml):
            return f"{missing}, MORE than the year's allowance of {allowed}, {of_base} {reference}"
        if self.days >= _YEAR_DAYS:
            return f"{missing}, within the year's allowance of {allowed}, {of_base} {reference}"
        return (
            f"{missing} of the year's allowance of {allowed} so far, {of_base}; "
            f"the share of {counted(self.days, 'day')} is {pace} {reference}"
        )


def on_hand_and_received(book: Book, span: Span) -> int:
    """Return what was on hand as a span began and was received in it [ml]; honey, water and spirit are not received."""
    with book.reading() as connection:
        before = {} if span.start is None else flows(connection, until=span.last_before)
        after = flows(connection, until=span.last)
    received = (Outside.RECEIVED.value, None)
    return sum(before.values()) + after.get(received, 0) - before.get(received, 0)


def allowance_over(book: Book, span: Span) -> Allowance:
    """Return the allowance that the cellar's own share gives over a span of time, from its start to its end or now."""
    return Allowance(on_hand_and_received(book, span), allowed_share(book), _days_of(span, book.now()))


def _days_of(span: Span, now: datetime) -> int:
    """Return how many days a span has: October 31; up to now where its end is still to come or was not given."""
    if span.start is None:
        return _LONGEST_DAYS + 1
    ended = now if span.end is None or span.end > now else span.end
    return max(1, (local_day(ended) - local_day(span.start)).days)


def allowed_share(book: Book) -> float:
    """Return the share that may be missing, as the cellar has it [1]."""
    with book.reading() as connection:
        return facts_of(connection).allowance
