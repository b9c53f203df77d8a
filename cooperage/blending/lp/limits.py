"""What the brief asks, limit by limit: each is one side of one thing, and becomes one row of the programme."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from cooperage.blending.brief.brief import Bound, Brief
from cooperage.blending.lp.columns import Columns, RowOf
from cooperage.blending.stocks.pool import Flags, Floats, Stocks

Side = Literal["min", "max", "exact"]
Kind = Literal["litres", "property", "sure", "share", "must", "count"]

TOKEN_DRAW_L = 1.0  # the least a flow meter is trusted with (common practice, no source)
TOKEN_SHARE = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Limit:
    """A quantity of the plan kept at, under or over a value; `subject` is the property, share or stock it is about."""

    kind: Kind
    subject: str
    side: Side
    value: float
    quantity: RowOf

    @property
    def name(self) -> str:
        """What answers call it: the property, or the rule and whom it is about."""
        return f"{self.kind} {self.subject}" if self.kind in ("share", "must") else self.subject

    def row(self) -> tuple[Floats, float]:
        """Return coefficients and bound, read as coefficients . z <= bound (= bound when exact)."""
        sign = -1.0 if self.side == "min" else 1.0
        bound = 0.0 if self.quantity.base is not None else self.value
        return sign * self.quantity.less(self.value), sign * bound

    def excess(self, got: float) -> float:
        """Return by how much a value lies on the wrong side, in the limit's own unit; 0 or less when it is met."""
        over = got - self.value
        return {"min": -over, "max": over, "exact": abs(over)}[self.side]

    def relaxed(self, hair: float) -> tuple["Limit", ...]:
        """Return the limit with its value given way by a hair: two sides for an exact one."""
        low = replace(self, side="min", value=self.value - hair)
        high = replace(self, side="max", value=self.value + hair)
        return {"min": (low,), "max": (high,), "exact": (low, high)}[self.side]


@dataclass(frozen=True, slots=True)
class Cut:
    """A limit that must hold by a margin: `per_litre` is the figure of each stock, worsened by its share in doubt."""

    property: str
    side: Side
    value: float
    per_litre: Floats


def limits_of(brief: Brief, columns: Columns, cuts: Sequence[Cut] = ()) -> tuple[Limit, ...]:
    """Return every limit of a brief that has been checked against the stocks."""
    return (
        *sides("litres", "litres", brief.litres, columns.figure("litres")),
        *(side for name, span in brief.limits.items() for side in _property(name, span, columns)),
        *(_sure(cut, columns) for cut in cuts),
        *(side for key, span in brief.share.items() for side in _share(key, span, columns)),
        *(_must(name, brief, columns) for name in brief.draws.must),
        *_counts(brief, columns),
    )


def _property(name: str, span: Bound, columns: Columns) -> Iterator[Limit]:
    return sides("property", name, span, columns.figure(name))


def _sure(cut: Cut, columns: Columns) -> Limit:
    quantity = RowOf(columns.over_draws(cut.per_litre), columns.figure(cut.property).base)
    return Limit("sure", cut.property, cut.side, cut.value, quantity)


def _share(key: str, span: Bound, columns: Columns) -> Iterator[Limit]:
    members = columns.over_draws(members_of(key, columns.stocks).astype(np.float64))
    return sides("share", key, span, RowOf(members, columns.poured))


def sides(kind: Kind, subject: str, span: Bound, quantity: RowOf) -> Iterator[Limit]:
    """Yield the limits that a span sets: one exact one, or one for each end that is not open."""
    if span.low == span.high:
        yield Limit(kind, subject, "exact", span.low, quantity)
        return
    # Litres, shares and counts start at 0 anyway.
    if math.isfinite(span.low) and not (kind in ("litres", "share") and span.low == 0):
        yield Limit(kind, subject, "min", span.low, quantity)
    if math.isfinite(span.high):
        yield Limit(kind, subject, "max", span.high, quantity)


def _must(name: str, brief: Brief, columns: Columns) -> Limit:
    """Ask for a real draw: the stock's least draw, else a token one."""
    this = columns.stocks.names == name
    at = int(this.argmax())
    token = min(TOKEN_DRAW_L, TOKEN_SHARE * brief.litres.high, float(columns.stocks.litres[at]))
    value = float(columns.stocks.min_litres[at]) or token
    return Limit("must", name, "min", value, RowOf(columns.over_draws(this.astype(np.float64))))


def _counts(brief: Brief, columns: Columns) -> Iterator[Limit]:
    if brief.draws.max_stocks is not None:
        drawn_on = RowOf(columns.over_opened(np.ones(columns.draws)))
        yield Limit("count", "max_stocks", "max", float(brief.draws.max_stocks), drawn_on)
    if brief.draws.max_partly_full is not None and columns.drains:
        most = float(brief.draws.max_partly_full)
        yield Limit("count", "max_partly_full", "max", most, RowOf(columns.partly_full))


def members_of(key: str, stocks: Stocks) -> Flags:
    """Return the stocks a share is about: one by name, or all with a label, as in `group:new oak`."""
    column, colon, label = key.partition(":")
    if colon and column in stocks.labels:
        return np.asarray(stocks.labels[column] == label)
    return np.asarray(stocks.names == key)
