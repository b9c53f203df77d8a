"""The pool as a table: a pandas table or a CSV file with a line for each stock.

Columns: `stock`, `litres`, then figures by name (`abv`, `sugar_g_l`, `cost_per_l`, ...), `min_litres` (the least of a
draw), a figure's name with `_u` for its standard uncertainty (`abv_u`), and labels as text (`group`, `wood`, ...).
"""

import os
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cooperage.blending.stocks.pool import ALWAYS_NUMBERS, BadPool, Floats, Stocks, stocks_of_columns
from cooperage.errors import BadInput
from cooperage.infile import at_home, read_at_most
from cooperage.plaintext import refuse_controls, visible

_MOST = 20_000_000  # bytes; a hundred thousand stocks
UNKNOWN = ("", "unknown", "?")


def read_table(source: pd.DataFrame | str | os.PathLike[str]) -> Stocks:
    """Read stocks from a table or the path of a CSV file; raises BadPool naming line and column."""
    if not isinstance(source, pd.DataFrame | str | os.PathLike):
        raise BadInput(f"a pool is a pandas table or the path of a CSV file, not {type(source).__name__}")
    table = source if isinstance(source, pd.DataFrame) else _load(Path(source))
    _check_columns(table)
    stock = table["stock"]
    names = _names(stock)
    others = [name for name in table.columns if name != "stock"]
    numeric = [name for name in others if _holds_numbers(table[name], str(name))]
    numbers = {str(name): _numbers(table[name], str(name)) for name in numeric}
    labels = {str(name): table[name].to_numpy(dtype=object) for name in others if name not in numeric}
    return stocks_of_columns(names, numbers, labels, lambda position: _line(stock, position))


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
