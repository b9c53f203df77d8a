"""The losses of a time at one look: by one grouping, by cause, by month beside what is usual, worst barrels first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar
from cooperage.programme.ahead.usual import UsualLoss, usual_bands
from cooperage.programme.losses.allowance import allowance_over
from cooperage.programme.losses.ledger import LossRow, loss_rates, losses_by_each, total_ml
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.losses.stays import Stays, stays
from cooperage.programme.signs.sign import ODD_LOSS
from cooperage.units import Span, Units

OF_LOSSES = frozenset({"leak", ODD_LOSS, "dip", "litres", "partial", "bung"})
"""Kinds of signs that may be why a barrel lost more than usual."""


@dataclass(frozen=True, slots=True)
class Basis:
    """The stays and loss rates that losses are grouped and compared by; the same for every grouping and period."""

    spent: Stays
    rates: Mapping[str, LossRate]


@dataclass(frozen=True, slots=True)
class MonthLost:
    """What barrels lost in a month to wood and air [ml], and what is usual, None where nothing is known of that.

    `month` is written "2026-10".
    """

    month: str
    ml: int
    usual: UsualLoss | None


@dataclass(frozen=True, slots=True)
class LossesSeen:
    """Losses of a time: rows of one grouping, causes the largest first, months oldest first, the allowance as text.

    `usual` is what is usual by the grouping. `basis` is what the next look may begin from.
    """

    by: str
    rows: Sequence[LossRow]
    causes: Sequence[LossRow]
    months: Sequence[MonthLost]
    usual: Mapping[str, UsualLoss]
    allowance: str
    basis: Basis

    @property
    def total_ml(self) -> int:
        """Everything that was lost [ml]."""
        return total_ml(self.rows)


def losses_seen(
    book: Book, cellar: Cellar, by: str, began: datetime | None, units: Units, basis: Basis | None, shorter: str
) -> LossesSeen:
    """Sum losses up to now by one grouping, by cause and by month; barrels that lost most beyond the usual come first.

    `basis` is what was read before, if it was; `shorter` is how a time of a year or less is chosen, for which alone
    there is an allowance.
    """
    basis = basis or Basis(stays(book, cellar.at), loss_rates(book, cellar))
    found = losses_by_each(book, (by, "cause", "month"), since=began, spent=basis.spent)
    usual_months = usual_bands(cellar, basis.spent, basis.rates, "month", began)
    usual = usual_months if by == "month" else usual_bands(cellar, basis.spent, basis.rates, by, began)
    rows = found[by]
    months = [MonthLost(row.what, row.taken_ml, usual_months.get(row.what)) for row in found["month"]]
    allowance = allowance_over(book, Span(began)).words(total_ml(rows), units, shorter)
    ordered = worst_first(rows, usual) if by == "barrel" else rows
    return LossesSeen(by, ordered, found["cause"], months, usual, allowance, basis)


def over_usual(row: LossRow, usual: Mapping[str, UsualLoss]) -> int | None:
    """Return how much more than usual wood and air took [ml], less than nothing where it was less; None if unknown."""
    return None if row.what not in usual else row.taken_ml - usual[row.what].ml


def is_beyond(row: LossRow, usual: Mapping[str, UsualLoss]) -> bool:
    """Return True if wood and air took more than the band of the usual holds."""
    return row.what in usual and row.taken_ml > usual[row.what].high


def worst_first(rows: Sequence[LossRow], usual: Mapping[str, UsualLoss]) -> list[LossRow]:
    """Order rows by how much more than usual they lost; those of which nothing is usual stand last, as they were."""
    known = [row for row in rows if row.what in usual]
    return [*sorted(known, key=lambda row: -(over_usual(row, usual) or 0)), *(r for r in rows if r.what not in usual)]
