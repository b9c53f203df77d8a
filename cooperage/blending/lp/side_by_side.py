"""Several models as one programme: their arrays side by side, the rows that tie them, each one's part of a plan."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy import sparse

from cooperage.blending.lp.highs import Outcome, Program
from cooperage.blending.lp.model import Model, Row
from cooperage.blending.lp.ranks import Plan, prices_of
from cooperage.blending.stocks.pool import Floats, Stocks


def shared_rows(models: Sequence[Model], stocks: Stocks) -> tuple[sparse.csr_array, Floats]:
    """Return rows for each stock: all briefs draw no more of it than there is, and each leaves its own heel.

    Those that leave most are poured first: the draws of all that leave at least so much keep to what is there less
    that heel. Where all heels are alike that is one row; what one brief alone may draw is a bound of its own already.
    """
    first = np.cumsum([0, *(model.columns.count for model in models)])
    drawers: dict[str, list[tuple[float, int, float]]] = {}
    for model, start in zip(models, first[:-1], strict=True):
        own = model.columns
        for at, name in enumerate(own.stocks.names):
            there = float(own.stocks.litres[at])
            drawers.setdefault(str(name), []).append((there, int(start) + at, float(own.measure[at])))
    bounds: list[float] = []
    rows, columns, entries = [], [], []
    for name in stocks.names:
        each = sorted(drawers.get(str(name), []))
        for last in range(1, len(each)):
            there = each[last][0]
            is_last_of_its_heel = last + 1 == len(each) or each[last + 1][0] > there
            if is_last_of_its_heel and math.isfinite(there):
                rows += [len(bounds)] * (last + 1)
                columns += [column for _, column, _ in each[: last + 1]]
                entries += [measure for _, _, measure in each[: last + 1]]
                bounds.append(there)
    matrix = sparse.csr_array((entries, (rows, columns)), shape=(len(bounds), int(first[-1])))
    return matrix, np.array(bounds)


def side_by_side(
    models: Sequence[Model], cost: Floats, shared: tuple[sparse.csr_array, Floats], held: Sequence[Row]
) -> Program:
    """Return one programme of all models, the rows they share, and those held from higher ranks."""
    programs = [model.program(np.zeros(model.columns.count), model.limits) for model in models]
    kept = sparse.csr_array(np.array([row for row, _ in held]).reshape(len(held), len(cost)))
    bounds = [program.b_ub for program in programs]
    return Program(
        cost,
        sparse.vstack([sparse.block_diag([program.a_ub for program in programs]), shared[0], kept], format="csr"),
        np.concatenate([*bounds, shared[1], [bound for _, bound in held]]),
        sparse.csr_array(sparse.block_diag([program.a_eq for program in programs])),
        np.concatenate([program.b_eq for program in programs]),
        np.concatenate([program.lower for program in programs]),
        np.concatenate([program.upper for program in programs]),
        np.concatenate([program.integer for program in programs]),
    )


def split_outcome(
    models: Sequence[Model], weights: Sequence[float], outcome: Outcome, *, has_prices: bool
) -> list[Plan]:
    """Return each model's own part of an outcome; prices are in the model's own objective."""
    plans, at, loose, exact = [], 0, 0, 0
    for model, weight in zip(models, weights, strict=True):
        z = None if outcome.z is None else outcome.z[at : at + model.columns.count]
        equal = sum(limit.side == "exact" for limit in model.limits)
        own = _slice(outcome, loose, exact, equal)
        prices = prices_of(model, own) if has_prices else None
        plans.append(Plan(outcome.ending, z, outcome.gap, None if prices is None else prices / weight))
        at += model.columns.count
        loose += len(model.limits) - equal + model.ties.shape[0]
        exact += equal
    return plans


def _slice(outcome: Outcome, loose: int, exact: int, equal: int) -> Outcome:
    if outcome.prices_ub is None or outcome.prices_eq is None:
        return outcome
    return replace(outcome, prices_ub=outcome.prices_ub[loose:], prices_eq=outcome.prices_eq[exact : exact + equal])
