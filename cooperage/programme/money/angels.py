"""What the angels cost: the litres that wood and air took in a span of time, and what that mead had cost then."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from cooperage.errors import BadInput, choose_from
from cooperage.programme.money.ledger import AngelsTake
from cooperage.programme.money.value import CellarValue
from cooperage.units import Span, show_month


@dataclass(frozen=True, slots=True)
class AngelsRow:
    """What was taken of one group [ml], what that had cost [cents], and how much of it is of unknown cost [ml]."""

    what: str
    ml: int
    cents: int
    unknown_ml: int

    def more(self, took: AngelsTake) -> "AngelsRow":
        """Return it with more."""
        return AngelsRow(
            self.what,
            self.ml + took.ml,
            self.cents + (took.cents or 0),
            self.unknown_ml + (took.ml if took.cents is None else 0),
        )


ANGELS_BY: dict[str, Callable[[AngelsTake], str]] = {
    "month": lambda took: show_month(datetime.fromtimestamp(took.at, UTC)),
    "room": lambda took: took.room or "no room",
    "wood": lambda took: (took.vessel.barrel.wood if took.vessel.barrel else None) or "unknown wood",
    "barrel": lambda took: took.vessel.tag,
}
"""By what it can be added up."""


class UnknownAngelsBy(BadInput):
    """A way of adding up what the angels took that there is not."""

    def __init__(self, by: str) -> None:
        self.by = by
        super().__init__(f"what the angels took is not added up by '{by}'{choose_from(by, ANGELS_BY)}")


def angels_by(value: CellarValue, by: str, span: Span) -> list[AngelsRow]:
    """Add up what wood and air took in a span, the largest first (months in order); raises UnknownAngelsBy."""
    if by not in ANGELS_BY:
        raise UnknownAngelsBy(by)
    rows: dict[str, AngelsRow] = {}
    for took in _within(value.ledger.angels, span):
        what = ANGELS_BY[by](took)
        rows[what] = rows.get(what, AngelsRow(what, 0, 0, 0)).more(took)
    return sorted(rows.values(), key=lambda row: row.what if by == "month" else (-row.cents, -row.ml, row.what))


def _within(found: Iterable[AngelsTake], span: Span) -> Iterable[AngelsTake]:
    start = None if span.start is None else span.start.timestamp()
    end = None if span.end is None else span.end.timestamp()
    return (each for each in found if (start is None or each.at >= start) and (end is None or each.at < end))


def in_all(rows: Iterable[AngelsRow]) -> AngelsRow:
    """Add rows up."""
    rows = list(rows)
    sums = (sum(each) for each in zip(*((row.ml, row.cents, row.unknown_ml) for row in rows), strict=True))
    return AngelsRow("in all", *sums) if rows else AngelsRow("in all", 0, 0, 0)
