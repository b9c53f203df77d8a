"""How many digits a figure has in JSON: as many as its unit, which its key names, and never those of a float."""

from math import floor, log10
from typing import Any

_BY_ENDING = (
    ("_mg_l", 2),
    ("_g_l", 3),
    ("_per_l", 4),
    ("_l", 3),
    ("litres", 3),
    ("abv", 2),
    ("_mm", 1),
    ("celsius", 2),
    ("temperature", 2),
    ("humidity", 1),
    ("percent", 2),
    ("ph", 3),
    ("sg", 5),
    ("grams", 2),
    ("_g", 2),
    ("days", 1),
    ("fraction", 10),
)
_MOST = 12  # significant digits of anything else, which is more than any figure of a cellar has


def rounded(value: Any, key: str = "", *, to_the_unit: bool = True) -> Any:  # noqa: ANN401 - JSON is any of these
    """Return a JSON value with its figures rounded; a figure in a list has the key of the list."""
    if isinstance(value, dict):
        return {name: rounded(item, _key(name, key), to_the_unit=to_the_unit) for name, item in value.items()}
    if isinstance(value, list):
        return [rounded(item, key, to_the_unit=to_the_unit) for item in value]
    if isinstance(value, float):
        return _rounded(value, key if to_the_unit else "")
    return value


def _key(name: str, outer: str) -> str:
    """Return the key that names the unit: that of the figure itself, else of what it stands in, as litres by vessel."""
    return name if _digits(name) is not None else outer


def _digits(key: str) -> int | None:
    return next((digits for ending, digits in _BY_ENDING if key == ending.lstrip("_") or key.endswith(ending)), None)


def _rounded(value: float, key: str) -> float:
    if value == 0:
        return 0.0  # never -0.0
    digits = _digits(key)
    size = floor(log10(abs(value)))
    return round(value, _MOST - 1 - size if digits is None else digits)
