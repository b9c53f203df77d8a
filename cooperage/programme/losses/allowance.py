"""How much may be missing: a share of what was on hand at the start of a time and received since.

The share is the cellar's own fact; its default is that of the US rules and counts only where the cellar works by them.
Every verdict is a reference, to be checked with one's authority.
"""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.declared.places import Outside
from cooperage.book.facts import CHECK, FACTS, USUAL, facts_of
from cooperage.book.log import flows
from cooperage.programme.rules.kept import USUAL as USUAL_RULES
from cooperage.programme.rules.kept import own_rules, profile_in_use
from cooperage.units import DEFAULT, Quantity, Span, Units, counted, local_day, show

ALLOWANCE = USUAL.allowance
"""The share until the cellar gives its own."""
_YEAR_DAYS, _LONGEST_DAYS = 365, 366
GIVE_SINCE = "Give --since within the last 12 months to compare."
"""The options that make the command line look back over a time that has an allowance."""


@dataclass(frozen=True, slots=True)
class AllowedShare:
    """The share that may be missing in a year [1], and the rules that the cellar works by.

    None is no allowance: the rules have none, and the cellar has given no share of its own.
    """

    share: float | None = ALLOWANCE
    rules: str = USUAL_RULES

    @property
    def reference(self) -> str:
        """Where the share is written, with what to do about it."""
        if self.share is None:
            return f"the {self.rules} rules that are known here have no allowance: ask your authority"
        if self.rules != USUAL_RULES:
            return "the cellar's own loss allowance; check it with your authority"
        return f"{FACTS['loss_allowance'].reference}; {CHECK}"


BY_DEFAULT = AllowedShare()
"""What may be missing where nothing is chosen: the share of the US rules."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """What was on hand and received [ml], and the share of it that may be missing in a year.

    `days` is the time looked at; left out, it is a year.
    """

    base_ml: int
    allowed: AllowedShare = BY_DEFAULT
    days: int = _YEAR_DAYS

    @property
    def allowed_ml(self) -> int | None:
        """What may be missing in a year [ml]; None where there is no allowance."""
        return None if self.allowed.share is None else round(self.allowed.share * self.base_ml)

    @property
    def pace_ml(self) -> int | None:
        """The part of the year's allowance that falls to the days looked at [ml]; None where there is none."""
        share = self.allowed.share
        return None if share is None else round(share * self.base_ml * min(1.0, self.days / _YEAR_DAYS))

    def holds(self, missing_ml: int) -> bool | None:
        """Return True if what is missing lies within the allowance of a year; None where there is no allowance."""
        return None if self.allowed_ml is None else missing_ml <= self.allowed_ml

    def words(self, missing_ml: int, units: Units = DEFAULT, shorter: str = GIVE_SINCE) -> str:
        """Return what is missing beside what is allowed, with its reference; a verdict only over a whole year.

        `shorter` is how to look back over less than a year, where the time was longer and so has no allowance.
        """
        missing = show(Quantity.VOLUME, missing_ml, units)
        if self.allowed.share is None:
            return f"{missing}; {self.allowed.reference}"
        if self.days > _LONGEST_DAYS:
            return f"{missing}. The allowance covers one year. {shorter}"
        allowed, base, pace = (
            show(Quantity.VOLUME, ml or 0, units) for ml in (self.allowed_ml, self.base_ml, self.pace_ml)
        )
        of_base = f"{show(Quantity.PERCENT, 100 * self.allowed.share, units)} of {base}"
        reference = f"({self.allowed.reference})"
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
    """Return the allowance of the cellar over a span of time, from its start to its end or now.

    The rules are those of the day on which the span began, or of today.
    """
    allowed = allowed_share(book, span.start)
    return Allowance(on_hand_and_received(book, span), allowed, _days_of(span, book.now()))


def _days_of(span: Span, now: datetime) -> int:
    """Return how many days a span has: October 31; up to now where its end is still to come or was not given."""
    if span.start is None:
        return _LONGEST_DAYS + 1
    ended = now if span.end is None or span.end > now else span.end
    return max(1, (local_day(ended) - local_day(span.start)).days)


def allowed_share(book: Book, at: datetime | None = None) -> AllowedShare:
    """Return the share that may be missing by the rules of a moment's day; of today, where it is left out."""
    with book.reading() as connection:
        return allowed_on(connection, local_day(at or book.now()))


def allowed_on(connection: Connection, day: date) -> AllowedShare:
    """Return the share that may be missing: of the US rules, or the cellar's own under any rules."""
    facts = facts_of(connection)
    rules = profile_in_use(own_rules(connection), day)[0]
    has_share = rules == USUAL_RULES or "loss_allowance" in facts.given
    return AllowedShare(facts.allowance if has_share else None, rules)
