"""What went by in a span of time, with figures that add up as printed, over lines and over adjoining spans.

How they do is in `cooperage.programme.periods.rounding`. Stocks are rounded as they are; what rounding leaves between
them and the lines has a line of its own, which chains in the same way.
"""

from collections import defaultdict
from dataclasses import dataclass
from functools import partial

from sqlalchemy import Connection

from cooperage.book.declared.places import OUTSIDE, Outside
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.log import Flows, flows, losses
from cooperage.programme.periods.rounding import Flow
from cooperage.units import Span, Units, show_month, steps_shown

ADDS_UP = (
    "Lines are differences of rounded running totals, so that those of adjoining periods add up; `cooperage losses` "
    "rounds\neach period by itself and may differ in the last digit."
)
"""Printed at the foot of a report whose printed figures chain."""


@dataclass(frozen=True, slots=True)
class Operations:
    """What the vessels held at both ends of a span [ml], and what came in (above zero) and went out of them, by line.

    The lines add up to the stock at the end, to the millilitre and as printed.
    """

    start_ml: int
    lines: tuple[tuple[str, Flow], ...]
    end_ml: int


def operations(connection: Connection, span: Span, units: Units) -> Operations:
    """Read what came in, went out and was lost in a span."""
    began: Flows = {} if span.start is None else flows(connection, until=span.last_before)
    ended = flows(connection, until=span.last)
    shown = partial(steps_shown, units=units)
    found = {line: Flow.between(began.get(line, 0), ended[line], shown) for line in sorted(ended, key=_place_of_line)}
    start, end = sum(began.values()), sum(ended.values())
    left = Flow.between(start, end, shown).steps - sum(flow.steps for flow in found.values())
    lines = [(flow_label(*line), flow) for line, flow in found.items() if flow.ml]
    return Operations(start, (*lines, *([("rounding", Flow(0, left))] if left else [])), end)


def _place_of_line(line: tuple[str, str | None]) -> tuple[int, int]:
    """Put lines in the order of the outside places; what was received first, then each substance that was added."""
    place, substance = line
    return list(Outside).index(Outside(place)), 0 if substance is None else 1 + list(SUBSTANCES).index(substance)


def flow_label(place: str, substance: str | None) -> str:
    """Return how a line of flows is called: what was added by its substance, everything else by its outside place."""
    return OUTSIDE[Outside(place)].label if substance is None else f"{substance} added"


def losses_by_month(connection: Connection, span: Span, units: Units) -> dict[tuple[str, str], Flow]:
    """Sum what was lost in a span by (local month, cause); a gain is below zero.

    The running totals are those of each cause.
    """
    totals: dict[str, int] = defaultdict(int)
    began: dict[tuple[str, str], int] = {}
    ended: dict[tuple[str, str], int] = {}
    for at, _, place, ml in losses(connection, until=span.last):
        if not OUTSIDE[Outside(place)].is_loss:
            continue
        if span.start is None or at >= span.start:
            began.setdefault((show_month(at), place), totals[place])
            ended[show_month(at), place] = totals[place] + ml
        totals[place] += ml
    shown = partial(steps_shown, units=units)
    return {line: Flow.between(began[line], ended[line], shown) for line in sorted(began)}
