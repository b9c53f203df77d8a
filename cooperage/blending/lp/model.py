"""The builder: stocks, brief and volume factors become the arrays of a programme."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from cooperage.blending.brief.brief import BadBrief, Brief
from cooperage.blending.lp.aims import Aim, aims_of, ranks_of, target_of
from cooperage.blending.lp.columns import Columns
from cooperage.blending.lp.highs import Program
from cooperage.blending.lp.limits import Cut, Limit, limits_of
from cooperage.blending.stocks.dosing import doses_in
from cooperage.blending.stocks.part_full import can_be_partly_full, tiny_below
from cooperage.blending.stocks.pool import Flags, Floats, Stocks

MOST_LOST = 1.05  # litres poured per litre of blend at most: ethanol and water lose 3.7 % at the worst (OIML R22)

Row: TypeAlias = tuple[Floats, float]
Places: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True)
class Model:
    """One brief over n stocks: what each column is, the limits and aims over them, and the rows that tie them."""

    brief: Brief
    columns: Columns
    limits: tuple[Limit, ...]
    aims: tuple[Aim, ...]
    ties: sparse.csr_array
    ties_bound: Floats
    lower: Floats
    upper: Floats
    integer: Flags

    def program(self, cost: Floats, limits: Sequence[Limit], held: Iterable[Row] = ()) -> Program:
        """Return the programme that lowers `cost` under some limits and some rows held from higher ranks."""
        loose = [limit.row() for limit in limits if limit.side != "exact"] + list(held)
        exact = [limit.row() for limit in limits if limit.side == "exact"]
        rows, bounds = _stack(loose, self.columns.count)
        rows_eq, bounds_eq = _stack(exact, self.columns.count)
        if self.ties.shape[0]:
            rows, bounds = sparse.vstack([rows, self.ties], format="csr"), np.append(bounds, self.ties_bound)
        return Program(cost, rows, bounds, rows_eq, bounds_eq, self.lower, self.upper, self.integer)


def build(brief: Brief, stocks: Stocks, factors: Floats, cuts: Sequence[Cut] = ()) -> Model:
    """Return the model of a brief that has been checked against these stocks."""
    columns = _columns(brief, stocks, factors)
    rows, bounds = _ties(brief, columns)
    upper, integer = _bounds(brief, columns)
    return Model(
        brief,
        columns,
        limits_of(brief, columns, cuts),
        aims_of(brief, columns),
        rows,
        bounds,
        np.zeros_like(upper),
        upper,
        integer,
    )


def is_counted(brief: Brief, stocks: Stocks) -> bool:
    """Return True if stocks are counted, by a rule or by an objective."""
    draws = brief.draws
    is_ruled = any(most is not None for most in (draws.max_stocks, draws.max_partly_full))
    return (
        is_ruled
        or draws.part_full == "avoid"
        or any(rank.kind in ("fewest_stocks", "least_leftover") for rank in ranks_of(brief, stocks))
    )


def _columns(brief: Brief, stocks: Stocks, factors: Floats) -> Columns:
    ranks, draws = ranks_of(brief, stocks), brief.draws
    whole = np.full(len(stocks), draws.whole) & ~doses_in(brief, stocks)
    none, avoids = whole & ~whole, draws.part_full == "avoid"
    are_counted = draws.max_partly_full is not None or avoids
    drained = can_be_partly_full(brief, stocks) & ~whole if are_counted else none
    opened = np.full(len(stocks), True) if is_counted(brief, stocks) else (stocks.min_litres > 0) | drained
    distances = sum(rank.kind == "nearest" for rank in ranks)
    return Columns(stocks, factors, whole, opened, drained, drained if avoids else none, distances)


def _reach(brief: Brief, stocks: Stocks) -> Floats:
    """Return the most that can be drawn of each stock: what it holds, or without end all that the blend could take."""
    reach: Floats = np.where(np.isinf(stocks.litres), MOST_LOST * brief.litres.high, stocks.litres)
    return reach


def _bounds(brief: Brief, columns: Columns) -> tuple[Floats, Flags]:
    """Return the upper bounds of the columns, and which of them are whole numbers."""
    draws = np.where(columns.whole, 1.0, _reach(brief, columns.stocks))
    zero_or_one = columns.switches + columns.drains + columns.tinies
    upper = np.concatenate([draws, np.ones(zero_or_one), np.full(columns.distances, np.inf)])
    integer = np.concatenate(
        [columns.whole, np.ones(zero_or_one, dtype=np.bool_), np.zeros(columns.distances, dtype=np.bool_)]
    )
    return upper, integer


def _ties(brief: Brief, columns: Columns) -> tuple[sparse.csr_array, Floats]:
    """Return the rows that tie draws to switches and figures to their distances."""
    near, near_bounds = _stack(list(_distance_rows(brief, columns)), columns.count)
    if not columns.switches:
        return near, near_bounds
    switches = sparse.vstack([_switch_rows(brief, columns), _tiny_rows(columns)], format="csr")
    return sparse.vstack([near, switches], format="csr"), np.append(near_bounds, np.zeros(switches.shape[0]))


def _switch_rows(brief: Brief, columns: Columns) -> sparse.csr_array:
    """Tie x <= reach * y for every switch, least draw * y <= x where a stock has one, and litres * drained <= x."""
    stocks = np.flatnonzero(columns.switched)
    switches = columns.draws + np.arange(len(stocks))
    reach = _reach(brief, columns.stocks)[stocks]
    if not np.isfinite(reach).all():
        raise BadBrief("litres", "needs a max when stocks without end are counted")
    least = columns.stocks.min_litres[stocks]
    some = least > 0
    drained = np.flatnonzero(columns.drained)
    drains = columns.draws + columns.switches + np.arange(len(drained))
    rows: sparse.csr_array = sparse.vstack(
        [
            _pairs(stocks, np.ones(len(stocks)), switches, -reach, columns.count),
            _pairs(stocks[some], -np.ones(int(some.sum())), switches[some], least[some], columns.count),
            _pairs(drained, -np.ones(len(drained)), drains, columns.stocks.litres[drained], columns.count),
        ],
        format="csr",
    )
    return rows


def _tiny_rows(columns: Columns) -> sparse.csr_array:
    """Keep a draw that leaves its barrel part full above what is tiny, or mark it as tiny."""
    at = np.flatnonzero(columns.tiny)
    rows = sparse.lil_array((len(at), columns.count))
    switch = columns.draws + np.cumsum(columns.switched) - 1
    drain = columns.draws + columns.switches + np.cumsum(columns.drained) - 1
    least, each = tiny_below(columns.stocks)[at], np.arange(len(at))
    rows[each, at] = -1.0
    rows[each, switch[at]] = least
    rows[each, drain[at]] = -least
    rows[each, columns.draws + columns.switches + columns.drains + each] = -least
    return sparse.csr_array(rows)


def _pairs(left: Places, left_by: Floats, right: Places, right_by: Floats, columns: int) -> sparse.csr_array:
    """Return one row for each pair of columns."""
    rows = np.arange(len(left))
    entries = np.concatenate([left_by, right_by])
    where = (np.concatenate([rows, rows]), np.concatenate([left, right]))
    return sparse.csr_array((entries, where), shape=(len(left), columns))


def _distance_rows(brief: Brief, columns: Columns) -> Iterable[Row]:
    """Keep each distance at or above the figure's miss of its target, on either side."""
    nearest = [rank for rank in ranks_of(brief, columns.stocks) if rank.kind == "nearest"]
    for number, rank in enumerate(nearest):
        target = target_of(rank, brief)
        quantity = columns.figure(str(rank.property))
        bound = target if quantity.base is None else 0.0
        for sign in (1.0, -1.0):
            yield sign * quantity.less(target) - columns.distance(number), sign * bound


def _stack(rows: Sequence[Row], columns: int) -> tuple[sparse.csr_array, Floats]:
    """Return rows as one sparse matrix and their bounds, also when there are none."""
    if not rows:
        return sparse.csr_array((0, columns)), np.zeros(0)
    matrix = np.vstack([row for row, _ in rows])
    bounds = np.array([bound for _, bound in rows])
    return sparse.csr_array(matrix), bounds
