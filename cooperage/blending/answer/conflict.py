"""Why a brief cannot be met: the limits that clash, the blend that comes nearest, and what dosing would close."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy import sparse

from cooperage.blending.answer.answer import Clash, MissingDose
from cooperage.blending.answer.words import limit_words, range_words
from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.figures import unit_of_limit
from cooperage.blending.brief.quantities import FigureText, QuantityText
from cooperage.blending.lp.columns import total
from cooperage.blending.lp.highs import Ending, Program, TimeBudget, run
from cooperage.blending.lp.limits import Limit
from cooperage.blending.lp.model import Model, Row
from cooperage.blending.lp.passes import in_passes
from cooperage.blending.lp.ranks import Plan
from cooperage.blending.stocks.pool import Flags, Floats, Stocks

LITRES_WEIGHT = 1000.0  # a nearest blend of the wrong size is no answer, unless barrels are whole
WHOLE_LITRES_WEIGHT = 3.0
NOTABLE = 0.1
TOKEN_L = 1.0
OPENED_AT = 0.5  # a stock is opened for this share of its least draw, drained from this share of what it holds

# 80 g of sugar in 100 g and 1.42 kg/L: honey at the moisture of grade A. Spirit is rectified, 96 % vol.
HONEY_SUGAR_G_L = 0.80 * 1420.0
DOSING = ("honey", "water", "spirit")
DOSING_ABV = (0.0, 0.0, 96.0)
DOSING_SUGAR_G_L = (HONEY_SUGAR_G_L, 0.0, 0.0)


def nearest(model: Model, clock: TimeBudget) -> Plan:
    """Return the plan of least weighted violation; its ending shows that it does not meet the brief."""
    tight = model.program(np.zeros(model.columns.count), model.limits)
    outcome = run(_elastic(model, tight), clock)
    if outcome.z is None:
        return Plan(Ending.INFEASIBLE)
    return Plan(Ending.INFEASIBLE, outcome.z[: model.columns.count])


def rounded(model: Model, clock: TimeBudget) -> Plan:
    """Return a plan near the brief without a search for it, for when the time is up.

    The programme of least weighted violation is solved in fractions of barrels and switches, these are rounded within
    the rules on draws, and the litres are solved once more. Nothing is proved of it.
    """
    tight = model.program(np.zeros(model.columns.count), model.limits)
    loose = replace(_elastic(model, tight), integer=np.zeros(0, dtype=np.bool_))
    outcome = run(loose, clock)
    if outcome.z is not None and model.integer.any():
        fixed = np.flatnonzero(model.integer)
        held = _rounded(model, outcome.z)[fixed]
        loose.lower[fixed] = loose.upper[fixed] = held
        outcome = run(loose, clock)
    return Plan(Ending.NO_PLAN, None if outcome.z is None else outcome.z[: model.columns.count])


def _rounded(model: Model, z: Floats) -> Floats:
    """Return a plan's whole numbers: barrels towards the litres of the fractions, the largest draws first."""
    columns, most = model.columns, model.brief.draws.max_stocks
    litres = columns.litres(z)
    least = np.minimum(columns.stocks.min_litres, columns.stocks.litres)
    opened = np.where(columns.whole, _whole(columns.whole, columns.stocks.litres, z[: columns.draws]), litres > 0)
    opened &= columns.whole | (litres >= OPENED_AT * least)
    if most is not None:
        opened &= np.argsort(np.argsort(-litres, kind="stable"), kind="stable") < most
    drained = litres >= OPENED_AT * columns.stocks.litres
    switches = [opened[columns.switched], (opened & drained)[columns.drained], np.zeros(columns.distances)]
    return np.concatenate([opened, *switches]).astype(float)


def _whole(whole: Flags, litres: Floats, share: Floats) -> Flags:
    """Take barrels, those of the largest shares first, while each brings their sum nearer to that of the shares."""
    taken, missing = np.zeros(len(whole), dtype=np.bool_), float((litres * share)[whole].sum())
    for place in sorted(np.flatnonzero(whole), key=lambda place: -share[place]):
        if abs(missing - litres[place]) < abs(missing):
            taken[place] = True
            missing -= float(litres[place])
    return taken


def _elastic(model: Model, tight: Program) -> Program:
    """Give each limit a slack (an exact one two) at a price."""
    loose = [limit for limit in model.limits if limit.side != "exact"]
    exact = [limit for limit in model.limits if limit.side == "exact"]
    rows, rows_eq, columns = len(tight.b_ub), len(tight.b_eq), len(tight.cost)
    give = sparse.eye_array(rows, len(loose), format="csr")
    both = sparse.hstack([sparse.eye_array(rows_eq), -sparse.eye_array(rows_eq)], format="csr")
    weights = [_weight(limit, model) for limit in [*loose, *exact, *exact]]
    slacks = len(weights)
    return Program(
        np.concatenate([np.zeros(columns), weights]),
        sparse.hstack([tight.a_ub, -give, sparse.csr_array((rows, 2 * rows_eq))], format="csr"),
        tight.b_ub,
        sparse.hstack([tight.a_eq, sparse.csr_array((rows_eq, len(loose))), both], format="csr"),
        tight.b_eq,
        np.concatenate([tight.lower, np.zeros(slacks)]),
        np.concatenate([tight.upper, np.full(slacks, np.inf)]),
        np.concatenate([tight.integer, np.zeros(slacks, dtype=np.bool_)]),
    )


def _weight(limit: Limit, model: Model) -> float:
    """Return the price of a miss: 1 for that of the stock that misses by most, or of a tenth of the limit's value."""
    size = float(np.abs(limit.row()[0]).max())
    if limit.quantity.base is not None:
        size = max(size, NOTABLE * abs(limit.value) * float(np.abs(limit.quantity.base).max()))
    size = size or 1.0
    if limit.kind in ("litres", "must"):
        return (WHOLE_LITRES_WEIGHT if model.columns.whole.any() else LITRES_WEIGHT) / size
    return LITRES_WEIGHT if limit.kind == "count" else 1.0 / size


def conflict(model: Model, clock: TimeBudget) -> tuple[Clash, ...]:
    """Return a set of limits that cannot all be met, none of which can be spared.

    Each limit in turn is dropped for good if the rest still clash (the deletion filter); of two orders the smaller
    set is given. Litres that are not asked for are still more than none, or the empty blend would meet everything.
    """
    found = min((_filtered(model, order, clock) for order in _orders(model.limits)), key=len)
    clashes = tuple(
        Clash(limit.name, limit.side, limit.value, _words(limit, model), unit_of_limit(limit.name)) for limit in found
    )
    return clashes + _integer_clash(model, found, clock)


def _orders(limits: tuple[Limit, ...]) -> tuple[list[Limit], ...]:
    return list(limits), list(reversed(limits))


def _filtered(model: Model, limits: list[Limit], clock: TimeBudget) -> list[Limit]:
    kept = list(limits)
    for limit in limits:
        rest = [other for other in kept if other is not limit]
        if _clash(model, rest, clock):
            kept = rest
    return [limit for limit in model.limits if limit in kept]


def _clash(model: Model, limits: Sequence[Limit], clock: TimeBudget, integer: bool = True) -> bool:
    """Return True if it is proved that these limits cannot all be met."""
    program = model.program(np.zeros(model.columns.count), limits, [_some_litres(model)])
    if not integer:
        program = replace(program, integer=np.zeros_like(program.integer))
    return run(program, clock).ending is Ending.INFEASIBLE


def _some_litres(model: Model) -> Row:
    there = total(model.columns.volume, np.where(np.isfinite(model.upper), model.upper, 1.0))
    return -model.columns.volume, -min(TOKEN_L, 0.01 * there, 0.01 * model.brief.litres.high)


def _integer_clash(model: Model, found: list[Limit], clock: TimeBudget) -> tuple[Clash, ...]:
    """Name the rule that makes draws all-or-nothing, where the limits would not clash without it."""
    if not model.integer.any() or _clash(model, found, clock, integer=False):
        return ()
    if model.columns.whole.any():
        return (Clash("whole", "exact", None, "every barrel drained or left alone"),)
    if model.columns.stocks.min_litres.any():
        return (Clash("min_litres", "min", None, "no draw smaller than a stock's least draw"),)
    return ()


def _words(limit: Limit, model: Model) -> str:
    stocks = model.columns.stocks
    if limit.kind == "litres" and limit.side != "max":
        return QuantityText(limit_words(limit), "; the stocks hold ", FigureText("litres", float(stocks.litres.sum())))
    if limit.kind == "property" and len(stocks):
        return QuantityText(limit_words(limit), range_words(limit, stocks.figures[limit.subject]))
    return limit_words(limit)


def dosing(brief: Brief, stocks: Stocks, clock: TimeBudget) -> tuple[MissingDose, ...]:
    """Return the least honey, water and spirit that would make the brief possible; empty if they cannot.

    They carry no acids, no sulphite and no score, so a limit on anything but strength, sugar and what is dissolved
    in g/L or mg/L leaves their effect unknown.
    """
    if brief.draws.whole or not np.isfinite(brief.litres.high) or not _dilutes(brief, stocks):
        return ()
    nothing = np.zeros(len(DOSING))
    figures = dict.fromkeys(brief.limits, nothing)
    figures |= {"abv": np.array(DOSING_ABV), "sugar_g_l": np.array(DOSING_SUGAR_G_L)}
    dosed = stocks.joined(DOSING, brief.litres.high, figures)
    settled = in_passes(replace(brief, objective=()), dosed, _least_dose, clock)
    if settled.plan.z is None:
        return ()
    doses = settled.model.columns.litres(settled.plan.z)[-len(DOSING) :]
    return tuple(MissingDose(name, float(dose)) for name, dose in zip(DOSING, doses, strict=True) if dose > 1e-6)


def _dilutes(brief: Brief, stocks: Stocks) -> bool:
    return {"abv", "sugar_g_l"} <= set(stocks.figures) and all(
        name == "abv" or name.endswith(("_g_l", "_mg_l")) for name in brief.limits
    )


def _least_dose(model: Model, clock: TimeBudget, likely: Floats | None) -> Plan:
    dose = np.zeros(model.columns.draws)
    dose[-len(DOSING) :] = 1.0
    outcome = run(model.program(model.columns.over_draws(dose), model.limits), clock, likely)
    return Plan(outcome.ending, outcome.z)
