"""The pool: what a blend may draw on, as arrays, read from a pandas table or a CSV file.

Columns: `stock`, `litres`, then figures by name (`abv`, `sugar_g_l`, `cost_per_l`, ...), `min_litres` (the least of a
draw), a figure's name with `_u` for its standard uncertainty (`abv_u`), and labels (text: `group`, `wood`).
"""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cooperage.errors import BadInput
from cooperage.infile import at_home, read_at_most
from cooperage.plaintext import refuse_controls, visible

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_MOST = 20_000_000  # bytes; a hundred thousand stocks
OWN_COLUMNS = ("stock", "litres", "min_litres")
ALWAYS_NUMBERS = ("litres", "min_litres", "cost_per_l", "price_per_l", "abv", "sugar_g_l")
UNKNOWN = ("", "unknown", "?")
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

    `uncertainty` holds the standard uncertainty of some figures, in the figure's unit (NaN: not given); `heel` the
    litres that stay behind in each stock besides those to draw.
    """

    names: NDArray[np.object_]
    litres: Floats
    min_litres: Floats
    figures: Mapping[str, Floats]
    labels: Mapping[str, NDArray[np.object_]]
    uncertainty: Mapping[str, Floats] = field(default_factory=dict)
    heel: Floats | float = 0.0

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
        )

    @property
    def heels(self) -> Floats:
        """Litres that stay behind in each stock."""
        return np.broadcast_to(np.asarray(self.heel, dtype=np.float64), len(self))

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
        )


def read_pool(source: pd.DataFrame | str | os.PathLike[str]) -> Stocks:
    """Read stocks from a table or the path of a CSV file with columns stock, litres and any figures.

    A blank cell, `?` or `unknown` is an unknown figure. Litres may be `inf` for a stock without end (water). Raises
    BadPool naming line and column.
    """
    if not isinstance(source, pd.DataFrame | str | os.PathLike):
        raise BadInput(f"a pool is a pandas table or the path of a CSV file, not {type(source).__name__}")
    table = source if isinstance(source, pd.DataFrame) else _load(Path(source))
    _check_columns(table)
    names = _names(table["stock"])
    numeric = [name for name in table.columns if name != "stock" and _holds_numbers(table[name], str(name))]
    figures = {str(name): _numbers(table[name], str(name)) for name in numeric}
    _check_ranges(figures, table["stock"])
    least = np.nan_to_num(figures.get("min_litres", np.zeros(len(names))))
    texts = [name for name in table.columns if name != "stock" and name not in numeric]
    labels = {str(name): table[name].to_numpy(dtype=object) for name in texts}
    unsure = {_figure_of(name): figure for name, figure in figures.items() if _figure_of(name) in figures}
    properties = {
        name: figure for name, figure in figures.items() if name not in OWN_COLUMNS and _figure_of(name) not in unsure
    }
    return Stocks(names, figures["litres"], least, properties, labels, unsure)


def _figure_of(name: str) -> str:
    """Return the figure whose uncertainty a column holds; empty for any other column."""
    return name.removesuffix(UNCERTAINTY) if name.endswith(UNCERTAINTY) else ""


def _load(path: Path) -> pd.DataFrame:
    reading: dict[str, Any] = {
        "encoding": "utf-8-sig",
        "skipinitialspace": True,
        "skip_blank_lines": False,
        "keep_default_na": False,
        "na_values": list(UNKNOWN),
    }
    try:
        raw = read_at_most(at_home(path), _MOST)
        header = pd.read_csv(BytesIO(raw), header=None, nrows=1, dtype=str, **reading)
        table = pd.read_csv(BytesIO(raw), dtype={"stock": str, "group": str}, index_col=False, **reading)
    except OSError as error:
        raise BadInput(f"the pool {path} cannot be read: {error.strerror}") from error
    except ValueError as error:  # pandas' parser errors, and bytes that are not UTF-8
        raise BadInput(f"the pool {path} is not a CSV table: {' '.join(str(error).split())}") from error
    table.columns = pd.Index([str(name).strip() for name in header.iloc[0]])
    _refuse_hidden(table)
    written: pd.DataFrame = table.dropna(how="all")
    return written


def _check_columns(table: pd.DataFrame) -> None:
    for needed in ("stock", "litres"):
        if needed not in table.columns:
            raise BadPool(f"there is no column {needed!r}; the columns are {', '.join(map(str, table.columns))}")
    if table.columns.has_duplicates:
        raise BadPool(f"the column {table.columns[table.columns.duplicated()][0]!r} occurs twice")


def _refuse_hidden(table: pd.DataFrame) -> None:
    """Refuse names that a terminal would not show as they were typed; the cellar's own stocks bear what they bear."""
    for place, name in enumerate(table.columns):
        for at, cell in enumerate([name, *table.iloc[:, place].tolist()]):
            if isinstance(cell, str):
                try:
                    refuse_controls(cell, "this")
                except BadInput as error:
                    raise BadPool(str(error), at + 1, visible(str(name))) from error


def _line(table: pd.Series, position: int) -> int:
    """Return the line in the file: the index counts data lines from 0 and the header is line 1."""
    label = table.index[position]
    return int(label if isinstance(label, int | np.integer) else position) + 2


def _names(column: pd.Series) -> NDArray[np.object_]:
    blank = column.isna().to_numpy()
    if blank.any():
        raise BadPool("the stock has no name", _line(column, int(blank.argmax())), "stock")
    names = [str(name).strip() for name in column.to_numpy(dtype=object).tolist()]
    if len(set(names)) < len(names):
        twice = next(at for at, name in enumerate(names) if name in names[:at])
        raise BadPool(f"the stock {names[twice]!r} stands there twice", _line(column, twice), "stock")
    return np.array(names, dtype=object)


def _holds_numbers(column: pd.Series, name: str) -> bool:
    """Separate figures from labels: a column with no number in it, and no name that promises one, is text."""
    if pd.api.types.is_numeric_dtype(column) or name in ALWAYS_NUMBERS:
        return True
    return name != "group" and bool(pd.to_numeric(column, errors="coerce").notna().any())


def _numbers(column: pd.Series, name: str) -> Floats:
    if pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column):
        return column.to_numpy(dtype=np.float64, na_value=np.nan)
    numbers = pd.to_numeric(column, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    blank = column.isna() | column.astype(str).str.strip().isin(UNKNOWN)
    wrong = np.isnan(numbers) & ~blank.to_numpy()
    if wrong.any():
        at = int(wrong.argmax())
        raise BadPool(
            f"{column.iloc[at]!r} is not a number; leave the cell blank if it is unknown", _line(column, at), name
        )
    return numbers


def _check_ranges(figures: Mapping[str, Floats], stock: pd.Series) -> None:
    for name, figure in figures.items():
        if name in ("litres", "min_litres") or name.endswith(("_g_l", "_mg_l", UNCERTAINTY)):
            _refuse(figure < 0, figure, name, "is below 0", stock)
        if name == "abv":
            _refuse((figure < 0) | (figure > 100), figure, name, "is no strength between 0 and 100 % vol", stock)
        if name != "litres":
            _refuse(np.isinf(figure), figure, name, "is not a finite figure", stock)


def _refuse(wrong: Flags, figure: Floats, name: str, problem: str, stock: pd.Series) -> None:
    if wrong.any():
        at = int(wrong.argmax())
        raise BadPool(f"{figure[at]:g} {problem}", _line(stock, at), name)
