"""The pool: what a blend may draw on, as arrays.

`table.py` reads it from a pandas table or a CSV file, `from_cellar.py` makes it of a cellar.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cooperage.blending.stocks.doubt import Common
from cooperage.errors import BadInput

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

OWN_COLUMNS = ("stock", "litres", "min_litres")
ALWAYS_NUMBERS = ("litres", "min_litres", "cost_per_l", "price_per_l", "abv", "sugar_g_l")
CELLAR_CELSIUS = 15.0
"""How warm stocks are that are not known to be otherwise [°C] (common practice, no source)."""
UNCERTAINTY = "_u"
"""What follows a figure's name in the column of its standard uncertainty."""


class BadPool(BadInput):
    """A cell, column or line of the pool cannot be used; `line` (of the file, header first) and `column` place it."""

    def __init__(self, problem: str, line: int | None = None, column: str | None = None) -> None:
        self.line, self.column = line, column
        where = [f"line {line}"] if line is not None else []
        where += [f"column {column}"] if column is not None else []
        super().__init__(f"pool{', ' if where else ''}{', '.join(where)}: {problem}")


@dataclass(frozen=True)
class Stocks:
    """n stocks side by side: litres to draw, least litres of a draw, figures per litre (NaN: unknown) and text labels.

    `uncertainty` holds the standard uncertainty of some figures, in the figure's unit (NaN: not given), `common` the
    errors that stocks have in common, where there are any; `heel` the litres that stay behind in each stock besides
    those to draw; `celsius` their temperatures; `barred` why a stock is not drawn from at all, by its name; `ready` the
    chance that a barrel is ready [0 to 1], by its name (NaN: not known), where the pool knows of that.
    """

    names: NDArray[np.object_]
    litres: Floats
    min_litres: Floats
    figures: Mapping[str, Floats]
    labels: Mapping[str, NDArray[np.object_]]
    uncertainty: Mapping[str, Floats] = field(default_factory=dict)
    heel: Floats | float = 0.0
    common: Mapping[str, Common] = field(default_factory=dict)
    celsius: Floats | float = CELLAR_CELSIUS
    barred: Mapping[str, str] = field(default_factory=dict)
    ready: Mapping[str, float] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.names)

    def take(self, keep: Flags) -> "Stocks":
        """Return only the stocks flagged."""
        return Stocks(
            self.names[keep],
            self.litres[keep],
            self.min_litres[keep],
            {name: figure[keep] for name, figure in self.figures.items()},
            {name: label[keep] for name, label in self.labels.items()},
            {name: each[keep] for name, each in self.uncertainty.items()},
            self.heels[keep],
            {name: each.take(keep) for name, each in self.common.items()},
            self.temperatures[keep],
            self.barred,
            self.ready,
        )

    @property
    def heels(self) -> Floats:
        """Litres that stay behind in each stock."""
        return np.broadcast_to(np.asarray(self.heel, dtype=np.float64), len(self))

    @property
    def temperatures(self) -> Floats:
        """How warm each stock is [°C]."""
        return np.broadcast_to(np.asarray(self.celsius, dtype=np.float64), len(self))

    def joined(self, names: Sequence[str], litres: float | Floats, figures: Mapping[str, Floats]) -> "Stocks":
        """Return these stocks and some more, with so many litres; figures not given are unknown, those given exact."""
        count = len(names)
        unknown, unlabelled = np.full(count, np.nan), np.full(count, None, dtype=object)
        return Stocks(
            np.append(self.names, np.array(names, dtype=object)),
            np.append(self.litres, np.broadcast_to(litres, count)),
            np.append(self.min_litres, np.zeros(count)),
            {name: np.append(old, figures.get(name, unknown)) for name, old in self.figures.items()},
            {name: np.append(old, unlabelled) for name, old in self.labels.items()},
            {name: np.append(old, np.zeros(count)) for name, old in self.uncertainty.items()},
            np.append(self.heels, np.zeros(count)),
            {name: each.joined(count) for name, each in self.common.items()},
            np.append(self.temperatures, np.full(count, CELLAR_CELSIUS)),
            self.barred,
            self.ready,
        )


PoolSource: TypeAlias = "pd.DataFrame | Stocks | str | os.PathLike[str]"


def read_pool(source: PoolSource) -> Stocks:
    """Read stocks from a table or the path of a CSV file with columns stock, litres and any figures.

    A blank cell, `?` or `unknown` is an unknown figure. Litres may be `inf` for a stock without end (water). Stocks are
    returned as they are. Raises BadPool naming line and column.
    """
    if isinstance(source, Stocks):
        return source
    from cooperage.blending.stocks.table import read_table  # brings pandas, which a cellar's own pool does without

    return read_table(source)


def stocks_of_columns(
    names: NDArray[np.object_],
    numbers: Mapping[str, Floats],
    labels: Mapping[str, NDArray[np.object_]],
    line_of: Callable[[int], int] = lambda position: position + 2,
) -> Stocks:
    """Return the stocks of columns side by side; raises BadPool where a figure is out of its range.

    `numbers` holds the litres, figures and uncertainties by column; `line_of` returns the line of a stock's place.
    """
    for name, column in numbers.items():
        _check_range(name, column, line_of)
    least = np.nan_to_num(numbers.get("min_litres", np.zeros(len(names))))
    unsure = {_figure_of(name): column for name, column in numbers.items() if _figure_of(name) in numbers}
    figures = {
        name: column for name, column in numbers.items() if name not in OWN_COLUMNS and _figure_of(name) not in unsure
    }
    return Stocks(names, numbers["litres"], least, figures, labels, unsure)


def _figure_of(name: str) -> str:
    """Return the figure whose uncertainty a column holds; empty for any other column."""
    return name.removesuffix(UNCERTAINTY) if name.endswith(UNCERTAINTY) else ""


def _check_range(name: str, column: Floats, line_of: Callable[[int], int]) -> None:
    if name in ("litres", "min_litres") or name.endswith(("_g_l", "_mg_l", UNCERTAINTY)):
        _refuse(column < 0, column, name, "is below 0", line_of)
    if name == "abv":
        _refuse((column < 0) | (column > 100), column, name, "is no strength between 0 and 100 % vol", line_of)
    if name != "litres":
        _refuse(np.isinf(column), column, name, "is not a finite figure", line_of)


def _refuse(wrong: Flags, column: Floats, name: str, problem: str, line_of: Callable[[int], int]) -> None:
    if wrong.any():
        at = int(wrong.argmax())
        raise BadPool(f"{column[at]:g} {problem}", line_of(at), name)
