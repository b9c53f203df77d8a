"""The cheapest way to give each lot its barrels: exact, with what each pair gives up.

Without side rules it is the linear assignment of SciPy (Crouse (2016), IEEE Trans. Aerosp. Electron. Syst. 52,
1679-1696); where all barrels of a lot are to lie in one room, a mixed-integer programme solved by HiGHS.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput, Refused

if TYPE_CHECKING:
    from scipy.sparse import coo_array

Floats = NDArray[np.float64]


class NotCosts(BadInput):
    """Costs that are no table of numbers with a row for each part."""

    def __init__(self, shape: tuple[int, ...]) -> None:
        self.shape = shape
        super().__init__(
            f"costs of shape {shape} are no table; give one row for each lot, and a column for each barrel"
        )


class NoWay(Refused):
    """No barrels are left that all parts of the lots may go into."""

    def __init__(self, parts: int, barrels: int) -> None:
        self.parts, self.barrels = parts, barrels
        super().__init__(
            f"{parts} barrels are wanted and {barrels} empty ones are there; too few of them suit. Leave a lot out, or "
            "name fewer litres"
        )


@dataclass(frozen=True, slots=True)
class Assigned:
    """Which column each row was given, and the sum of their costs.

    `gives_up` is what each row's pair costs above the cheapest for that row alone; `if_not` is how much the sum rises
    if that pair is not allowed: infinite where there is no other way, None where a side rule makes it slow to ask.
    """

    columns: tuple[int, ...]
    total: float
    gives_up: tuple[float, ...]
    if_not: tuple[float | None, ...]


def assign(costs: ArrayLike, lots: Sequence[str] | None = None, rooms: Sequence[str | None] | None = None) -> Assigned:
    """Give each row a column of its own so that the costs sum to the least.

    Parameters
    ----------
    costs : array, shape (rows, columns)
        [litres], infinite where a pair is not allowed
    lots : sequence of str, length rows, optional
        [name], the lot that each row is a part of; with `rooms`, all parts of a lot go into one room
    rooms : sequence of str, length columns, optional
        [name], where each column lies; None belongs to every room

    Returns
    -------
    Assigned: a column for each row, the total [litres], what each pair gives up [litres]

    Raises
    ------
    NotCosts
        They are no table, or not a number.
    NoWay
        There are too few columns that are allowed.

    """
    table = np.asarray(costs, dtype=np.float64)
    if table.ndim != 2 or np.isnan(table).any() or (table == -np.inf).any():
        raise NotCosts(table.shape)
    if not len(table):
        return Assigned((), 0.0, (), ())
    one_room = lots is not None and rooms is not None
    columns = _in_one_room(table, lots or (), rooms or ()) if one_room else _anywhere(table)
    if columns is None:
        raise NoWay(*table.shape)
    rows = np.arange(len(table))
    total = float(table[rows, columns].sum())
    gives_up = table[rows, columns] - table.min(axis=1)
    if_not = tuple(
        None if one_room else _without(table, int(row), int(column), total)
        for row, column in zip(rows, columns, strict=True)
    )
    return Assigned(tuple(int(each) for each in columns), total, tuple(map(float, gives_up)), if_not)


def _without(table: Floats, row: int, column: int, total: float) -> float:
    """Return how much the total rises if one pair is not allowed."""
    other = table.copy()
    other[row, column] = np.inf
    found = _anywhere(other)
    return np.inf if found is None else max(0.0, float(other[np.arange(len(other)), found].sum()) - total)


def _anywhere(table: Floats) -> NDArray[np.intp] | None:
    from scipy.optimize import linear_sum_assignment

    if len(table) > table.shape[1]:
        return None
    try:
        return np.asarray(linear_sum_assignment(table)[1])
    except ValueError:  # SciPy's word for a table whose pairs that are allowed are too few
        return None


def _in_one_room(table: Floats, lots: Sequence[str], rooms: Sequence[str | None]) -> NDArray[np.intp] | None:
    """Solve it with all parts of a lot in one room: a pair may be chosen only in the room that its lot has.

    The unknowns are every pair of part and barrel, then every pair of lot and room.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    parts, barrels = table.shape
    named, places = sorted(set(lots)), sorted({each for each in rooms if each is not None})
    of_lot = np.array([named.index(each) for each in lots])
    in_room = np.array([-1 if each is None else places.index(each) for each in rooms])
    row, column = np.divmod(np.arange(table.size), barrels)
    whole = table.size + len(named) * len(places)
    chosen_rooms = np.arange(table.size, whole)
    pairs = np.arange(table.size)
    allowed = np.isfinite(table).ravel()
    solved = milp(
        np.concatenate([np.where(allowed, table.ravel(), 0.0), np.zeros(len(chosen_rooms))]),
        integrality=np.ones(whole, dtype=np.int64),
        bounds=Bounds(np.zeros(whole), np.concatenate([allowed.astype(float), np.ones(len(chosen_rooms))])),
        constraints=[
            LinearConstraint(_ones(row, pairs, (parts, whole)), 1, 1),
            LinearConstraint(_ones(column, pairs, (barrels, whole)), 0, 1),
            LinearConstraint(_ties(of_lot, in_room[column], row, len(places), whole), -np.inf, 0),
            LinearConstraint(
                _ones((chosen_rooms - table.size) // max(1, len(places)), chosen_rooms, (len(named), whole)), 0, 1
            ),
        ],
        options={"mip_rel_gap": 0.0},
    )
    if solved.x is None:
        return None
    return np.asarray(np.argmax(solved.x[: table.size].reshape(parts, barrels), axis=1))


def _ones(rows: NDArray[np.intp], columns: NDArray[np.intp], shape: tuple[int, int]) -> "coo_array":
    """Return a sparse matrix with ones in these places."""
    from scipy.sparse import coo_array

    return coo_array((np.ones(len(rows)), (rows, columns)), shape=shape)


def _ties(
    of_lot: NDArray[np.intp], room: NDArray[np.intp], row: NDArray[np.intp], places: int, whole: int
) -> "coo_array":
    """Return a tie for each part and room: the barrel that it is given there needs the room to be its lot's."""
    from scipy.sparse import coo_array

    each = np.flatnonzero(room >= 0)
    part, place = np.divmod(np.arange(len(of_lot) * places), max(1, places))
    signs = np.concatenate([np.ones(len(each)), -np.ones(len(part))])
    rows = np.concatenate([row[each] * places + room[each], np.arange(len(part))])
    columns = np.concatenate([each, len(row) + of_lot[part] * places + place])
    return coo_array((signs, (rows, columns)), shape=(len(part), whole))
