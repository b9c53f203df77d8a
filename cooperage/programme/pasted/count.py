"""The book against a physical count: the difference vessel by vessel, and the entries that would close it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar, Standing, Written
from cooperage.book.declared import acts
from cooperage.book.declared.places import GAP_CAUSES, Outside
from cooperage.book.errors import Implausible
from cooperage.book.writing.gaps import could_have_lost
from cooperage.errors import BadInput, choose_from
from cooperage.programme.losses.allowance import BY_DEFAULT, Allowance, AllowedShare
from cooperage.programme.pasted.tally import EXAMPLE
from cooperage.programme.together import write_together

_GAIN_SHARE, _GAIN_ML = 0.02, 2000  # beyond which more than the book has is asked back (common practice, no source)


class NotAGapCause(BadInput):
    """A name that missing litres cannot be written to."""

    def __init__(self, cause: str) -> None:
        self.cause = cause
        super().__init__(f"a difference cannot go to '{cause}'{choose_from(cause, GAP_CAUSES)}")


class NothingCounted(BadInput):
    """A count without a single vessel."""

    def __init__(self) -> None:
        super().__init__(f"no vessel is counted; write lines such as '{EXAMPLE}'")


@dataclass(frozen=True, slots=True)
class Difference:
    """One vessel: what the book has and what was counted [ml]; missing litres are positive.

    It is odd where a sound vessel cannot have lost that much since it was last known full, or gained that much.
    """

    vessel: str
    book_ml: int
    counted_ml: int
    is_odd: bool = False

    @property
    def missing_ml(self) -> int:
        """What the count lacks [ml]; negative where there is more than the book has."""
        return self.book_ml - self.counted_ml


@dataclass(frozen=True, slots=True)
class Count:
    """A count against the book, in walking order, and vessels that hold something but were not counted."""

    rows: tuple[Difference, ...]
    not_counted: tuple[str, ...]
    allowance: Allowance

    @property
    def book_ml(self) -> int:
        """What the book has in the vessels counted [ml]."""
        return sum(row.book_ml for row in self.rows)

    @property
    def counted_ml(self) -> int:
        """What was counted in all [ml]."""
        return sum(row.counted_ml for row in self.rows)

    @property
    def missing_ml(self) -> int:
        """What is missing in all [ml], gains set against losses."""
        return self.book_ml - self.counted_ml

    @property
    def allowed_ml(self) -> int | None:
        """What may be missing [ml]; None where there is no allowance."""
        return self.allowance.allowed_ml

    @property
    def is_within_allowance(self) -> bool | None:
        """Return True if what is missing lies within the allowance; None where there is none."""
        return self.allowance.holds(self.missing_ml)


def compare(cellar: Cellar, counted: Mapping[str, int], allowance: Allowance | AllowedShare = BY_DEFAULT) -> Count:
    """Compare a count {tag: ml} with the book; raises NoSuchVessel.

    A share alone allows that part of what the book has in the vessels counted.
    """
    found = {cellar[tag].tag: ml for tag, ml in counted.items()}
    ordered = cellar.in_walking_order()
    rows = tuple(Difference(s.tag, s.ml, found[s.tag], _is_odd(s, found[s.tag])) for s in ordered if s.tag in found)
    left = tuple(s.tag for s in ordered if s.tag not in found and s.ml > 0)
    if not isinstance(allowance, Allowance):
        allowance = Allowance(sum(row.book_ml for row in rows), allowance)
    return Count(rows, left, allowance)


def _is_odd(standing: Standing, counted_ml: int) -> bool:
    missing, vessel = standing.ml - counted_ml, standing.vessel
    if missing > 0:
        return missing > could_have_lost(vessel, standing.state, standing.at)
    return -missing > max(_GAIN_SHARE * vessel.capacity_ml, _GAIN_ML)


def gauges(
    count: Count,
    cause: str = Outside.GAUGING.value,
    hand: str = "",
    note: str = "count",
    at: datetime | None = None,
) -> list[acts.Gauge]:
    """Return the gauge entries that bring the book to the count, the gap named; raises NotAGapCause."""
    if cause not in GAP_CAUSES:
        raise NotAGapCause(cause)
    return [
        acts.Gauge(vessel=row.vessel, volume=row.counted_ml, cause=cause, hand=hand, note=note, at=at)
        for row in count.rows
        if row.missing_ml
    ]


def write_count(book: Book, count: Count, wanted: list[acts.Gauge], *, sure: bool = False) -> list[Written]:
    """Write a count's gauges, all or none; raises NothingCounted, AskedTogether for odd differences, and refusals."""
    if not count.rows:
        raise NothingCounted
    doubts = [
        Implausible(
            f"{row.vessel} holds {{book}} in the book and {{counted}} was counted",
            book=row.book_ml,
            counted=row.counted_ml,
        )
        for row in count.rows
        if row.is_odd and row.missing_ml > 0  # what is found beyond the book, the book asks about itself
    ]
    return write_together(book, wanted, sure=sure, doubts=doubts)
