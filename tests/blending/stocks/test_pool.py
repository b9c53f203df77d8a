"""Reading a pool, and what is said when one cannot be read."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from cooperage.blending.stocks.pool import BadPool, read_pool
from cooperage.errors import BadInput


def written(path: Path, text: str) -> Path:
    file = path / "POOL.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_csv(tmp_path: Path) -> None:
    """Figures, unknowns, labels and least draws are read from a CSV file."""
    text = "stock, litres, abv, va_g_l, min_litres, group\nB-1,200,13.5,,20,new oak\n\nwater,inf,0,?,,\n"
    stocks = read_pool(written(tmp_path, text))
    assert list(stocks.names) == ["B-1", "water"]
    assert list(stocks.litres) == [200, np.inf]
    assert list(stocks.min_litres) == [20, 0]
    assert set(stocks.figures) == {"abv", "va_g_l"}
    assert np.isnan(stocks.figures["va_g_l"]).all()
    assert stocks.labels["group"][0] == "new oak"


def test_table_reads_as_its_csv(tmp_path: Path, cellar: pd.DataFrame) -> None:
    """A table and the CSV file written from it are the same pool."""
    cellar.to_csv(tmp_path / "POOL.csv", index=False)
    each, two = read_pool(cellar), read_pool(tmp_path / "POOL.csv")
    assert list(each.names) == list(two.names)
    for name, figure in each.figures.items():
        assert list(figure) == list(two.figures[name])


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("stock,abv\nB-1,13\n", None, None, "there is no column 'litres'; the columns are stock, abv"),
        ("stock,litres,abv,abv\nB-1,1,13,14\n", None, None, "the column 'abv' occurs twice"),
        ("stock,litres\nB-1,200\n,100\n", 3, "stock", "has no name"),
        ("stock,litres\nB-1,200\nB-2,1\nB-1,100\n", 4, "stock", "'B-1' stands there twice"),
        ("stock,litres\nB-1,200\n\nB-2,some\n", 4, "litres", "'some' is not a number"),
        ("stock,litres,oak\nB-1,200,3\nB-2,200,mild\n", 3, "oak", "'mild' is not a number"),
        ("stock,litres\nB-1,-3\n", 2, "litres", "-3 is below 0"),
        ("stock,litres,abv\nB-1,3,135\n", 2, "abv", "135 is no strength between 0 and 100 % vol"),
        ("stock,litres,va_g_l\nB-1,3,-0.1\n", 2, "va_g_l", "-0.1 is below 0"),
        ("stock,litres,oak\nB-1,3,inf\n", 2, "oak", "inf is not a finite figure"),
        ("stock,litres,wood\nB-1,3,oak\nB-2,3,o\x07k\n", 3, "wood", "control"),
        ("stock,litres,w\x07od\nB-1,3,oak\n", 1, "w\\x07od", "control"),
    ],
)
def test_faults_are_named(tmp_path: Path, text: str, line: int | None, column: str | None, says: str) -> None:
    """What is wrong with a pool is said in one line with the line of the file and the column."""
    with pytest.raises(BadPool) as fault:
        read_pool(written(tmp_path, text))
    assert (fault.value.line, fault.value.column) == (line, column)
    assert says in str(fault.value)


@pytest.mark.parametrize("text", ["", "stock,litres\nB-1,200,13\nB-2,1,2,3\n"])
def test_file_that_is_no_table(tmp_path: Path, text: str) -> None:
    """A file that is not a table is bad input, in one line."""
    with pytest.raises(BadInput) as fault:
        read_pool(written(tmp_path, text))
    assert "\n" not in str(fault.value)


def test_file_that_is_not_there(tmp_path: Path) -> None:
    """A missing file is bad input."""
    with pytest.raises(BadInput, match="cannot be read"):
        read_pool(tmp_path / "nowhere.csv")


def test_text_columns_are_labels() -> None:
    """A column without a number in it is a label, so that shares can be asked of wood or lot."""
    stocks = read_pool(pd.DataFrame({"stock": ["a", "b"], "litres": [1, 2], "wood": ["acacia", None]}))
    assert "wood" not in stocks.figures
    assert stocks.labels["wood"][0] == "acacia"
