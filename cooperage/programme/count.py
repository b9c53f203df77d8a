"""The book against a physical count: the difference vessel by vessel, and the entries that would close it."""

from collections.abc import Mapping
from dataclasses import dataclass

from cooperage.book import Cellar, acts
from cooperage.book.places import GAP_CAUSES, Outside
from cooperage.errors import BadInput

ALLOWANCE = 0.03
"""Share of what was on hand that may be missing before a claim is needed: 27 CFR 24.266, as of 2006; a reference to be
checked with one's authority."""


class NotAGapCause(BadInput):
    """A name that missing litres cannot be written to."""

    def __init__(self, cause: str) -> None:
        self.cause = cause
        super().__init__(f"a difference cannot go to '{cause}'; choose from {', '.join(GAP_CAUSES)}")


@dataclass(frozen=True, slots=True)
class Difference:
    """One vessel: what the book says and what was counted [ml]; missing litres are positive."""

    vessel: str
    book_ml: int
    counted_ml: int

    @property
    def missing_ml(self) -> int:
        """What the count lacks [ml]; negative where there is more than the book says."""
        return self.book_ml - self.counted_ml


@dataclass(frozen=True, slots=True)
class Count:
    """A count against the book, in walking order, and vessels that hold something but were not counted."""

    rows: tuple[Difference, ...]
    not_counted: tuple[str, ...]
    allowed_ml: int

    @property
    def missing_ml(self) -> int:
        """What is missing in all [ml], gains set against losses."""
        return sum(row.missing_ml for row in self.rows)

    @property
    def is_within_allowance(self) -> bool:
        """Say whether what is missing lies within the configured allowance."""
        return self.missing_ml <= self.allowed_ml


def compare(
    cellar: Cellar, counted: Mapping[str, int], allowance: float = ALLOWANCE, base_ml: int | None = None
) -> Count:
    """Hold a count {tag: ml} against the book; raises NoSuchVessel.

    The allowance is a share of `base_ml`, what was on hand at the start and received since; left out, it is what the
    book has in the vessels counted.
    """
    found = {cellar[tag].tag: ml for tag, ml in counted.items()}
    ordered = cellar.in_walking_order()
    rows = tuple(Difference(s.tag, s.ml, found[s.tag]) for s in ordered if s.tag in found)
    left = tuple(s.tag for s in ordered if s.tag not in found and s.ml > 0)
    base = sum(row.book_ml for row in rows) if base_ml is None else base_ml
    return Count(rows, left, round(allowance * base))


def gauges(count: Count, cause: str = Outside.GAUGING.value, hand: str = "", note: str = "count") -> list[acts.Gauge]:
    """Return the gauge entries that bring the book to the count, the gap named; raises NotAGapCause."""
    if cause not in GAP_CAUSES:
        raise NotAGapCause(cause)
    return [
        acts.Gauge(vessel=row.vessel, volume=row.counted_ml, cause=cause, hand=hand, note=note)
        for row in count.rows
        if row.missing_ml
    ]
