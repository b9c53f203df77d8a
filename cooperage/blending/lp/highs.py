"""The thin call: a programme in arrays goes to HiGHS through SciPy, and comes back with one of five endings."""

import math
import time
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, linprog, milp

from cooperage.blending.lp.silenced_stdout import silenced_stdout
from cooperage.blending.stocks.pool import Flags, Floats
from cooperage.errors import CooperageError

REDUCED_COST_TOLERANCE = 1e-9
ALL_NODES = 2**31 - 1  # as HiGHS has it
_NODES_REACHED = "solution limit reached"  # words of HiGHS; SciPy has no code for it


class SolverFailedError(CooperageError):
    """HiGHS could neither solve the programme nor give a reason: a matter of figures many sizes apart."""


class Ending(StrEnum):
    """The ways a solve can end; they are never confused."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"
    NO_PLAN = "no_plan"


@dataclass(frozen=True, slots=True)
class Program:
    """Minimise cost . z with a_ub z <= b_ub, a_eq z = b_eq, lower <= z <= upper, and whole z where `integer`."""

    cost: Floats
    a_ub: sparse.csr_array
    b_ub: Floats
    a_eq: sparse.csr_array
    b_eq: Floats
    lower: Floats
    upper: Floats
    integer: Flags


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a solve ended, with the plan `z` if there is one, its relative gap, and what each row's bound is worth.

    `prices_ub` and `prices_eq` are d(objective)/d(b); for an integer programme they hold with its integers fixed.
    """

    ending: Ending
    z: Floats | None = None
    gap: float | None = None
    prices_ub: Floats | None = None
    prices_eq: Floats | None = None


@dataclass(frozen=True, slots=True)
class TimeBudget:
    """The time a whole solve may take, shared by every call it makes."""

    seconds: float = math.inf
    started: float = field(default_factory=time.monotonic)

    def left(self) -> float:
        """Return the seconds left, never below 0."""
        return max(0.0, self.seconds - (time.monotonic() - self.started))

    @property
    def out(self) -> bool:
        """Return True if the time is up."""
        return self.left() == 0.0


def run(program: Program, clock: TimeBudget, likely: Floats | None = None, nodes: int = ALL_NODES) -> Outcome:
    """Solve a programme within what is left of the clock.

    `likely` is a plan near the answer, if one is known: a linear programme is then first solved on the columns that
    plan uses, and its row prices prove whether any other column could improve it. `nodes` is how many branches an
    integer programme may look into; unlike time it ends every run of it at the same plan.
    """
    if clock.out:
        return Outcome(Ending.NO_PLAN)
    if program.integer.any():
        return _run_integer(program, clock, nodes)
    narrow = None if likely is None else _run_narrow(program, clock, likely)
    return narrow or _run_linear(program, clock)


def _run_linear(program: Program, clock: TimeBudget) -> Outcome:
    result = linprog(  # type: ignore[call-overload]  # the stubs know bounds only as a list of pairs, which is slow
        program.cost,
        A_ub=program.a_ub,
        b_ub=program.b_ub,
        A_eq=program.a_eq,
        b_eq=program.b_eq,
        bounds=np.column_stack([program.lower, program.upper]),
        options={"time_limit": clock.left()},
    )
    ending = _ending(result, program, clock)
    if ending is not Ending.OPTIMAL:
        # A simplex stopped on its way has no plan that can be relied on.
        return Outcome(Ending.NO_PLAN if ending is Ending.FEASIBLE else ending)
    return Outcome(ending, result.x, 0.0, result.ineqlin.marginals, result.eqlin.marginals)


def _run_narrow(program: Program, clock: TimeBudget, likely: Floats) -> Outcome | None:
    """Move only the columns a plan has between their bounds; None when that is not proved best for all of them."""
    free = (likely > program.lower) & (likely < program.upper)
    held = np.where(likely >= program.upper, program.upper, program.lower)
    held[free] = 0.0
    if not free.any() or not np.isfinite(held).all():
        return None
    small = Program(
        program.cost[free],
        program.a_ub[:, free],
        program.b_ub - program.a_ub @ held,
        program.a_eq[:, free],
        program.b_eq - program.a_eq @ held,
        program.lower[free],
        program.upper[free],
        program.integer[free],
    )
    outcome = _run_linear(small, clock)
    if outcome.z is None or not _proved(program, outcome, held > program.lower, free):
        return None
    held[free] = outcome.z
    return replace(outcome, z=held)


def _proved(program: Program, outcome: Outcome, full: Flags, free: Flags) -> bool:
    """Return True if no nonbasic column has an improving reduced cost (the simplex optimality test)."""
    assert outcome.prices_ub is not None
    assert outcome.prices_eq is not None
    reduced = program.cost - outcome.prices_ub @ program.a_ub - outcome.prices_eq @ program.a_eq
    worse = np.where(full, reduced, -reduced)
    return bool((worse[~free] <= REDUCED_COST_TOLERANCE * max(1.0, np.abs(program.cost).max())).all())


def _run_integer(program: Program, clock: TimeBudget, nodes: int) -> Outcome:
    rows = [
        LinearConstraint(matrix, low, high)
        for matrix, low, high in (
            (program.a_ub, -np.inf, program.b_ub),
            (program.a_eq, program.b_eq, program.b_eq),
        )
        if matrix.shape[0]
    ]
    with silenced_stdout():
        result = milp(
            program.cost,
            integrality=program.integer.astype(int),
            bounds=Bounds(program.lower, program.upper),
            constraints=rows,
            options={"mip_rel_gap": 0.0, "time_limit": clock.left(), "node_limit": nodes},
        )
    ending = _ending(result, program, clock)
    if result.x is None or ending not in (Ending.OPTIMAL, Ending.FEASIBLE):
        return Outcome(ending)
    return _settle(program, ending, result)


def _settle(program: Program, ending: Ending, result: OptimizeResult) -> Outcome:
    """Fix the integers and solve once more: exact litres instead of nearly whole barrels, and prices for the rows."""
    whole = np.where(program.integer, np.rint(result.x), 0.0)
    fixed = Program(
        program.cost,
        program.a_ub,
        program.b_ub,
        program.a_eq,
        program.b_eq,
        np.where(program.integer, whole, program.lower),
        np.where(program.integer, whole, program.upper),
        np.zeros_like(program.integer),
    )
    gap = None if result.mip_gap is None else float(result.mip_gap)
    exact = _run_linear(fixed, TimeBudget())
    if exact.z is None:
        return Outcome(ending, result.x, gap)
    return Outcome(ending, exact.z, gap, exact.prices_ub, exact.prices_eq)


def _ending(result: OptimizeResult, program: Program, clock: TimeBudget) -> Ending:
    """Name the ending by what SciPy returned; on a time limit its code is the same with a plan and without."""
    match result.status:
        case 0:
            return Ending.OPTIMAL
        case status if status == 1 or _NODES_REACHED in result.message.lower():
            return Ending.NO_PLAN if result.x is None else Ending.FEASIBLE
        case 2:
            return Ending.INFEASIBLE
        case 3:
            return Ending.UNBOUNDED
    if "unbounded" in result.message.lower() and program.cost.any():
        return _either(program, clock)
    raise SolverFailedError(
        f"the solver gave up ({result.message}); look for figures of very different size in the pool"
    )


def _either(program: Program, clock: TimeBudget) -> Ending:
    """Decide 'unbounded or infeasible' by asking for any plan at all."""
    parts = (program.a_ub, program.b_ub, program.a_eq, program.b_eq, program.lower, program.upper, program.integer)
    found = run(Program(np.zeros_like(program.cost), *parts), clock).ending
    return Ending.UNBOUNDED if found is Ending.OPTIMAL else found
