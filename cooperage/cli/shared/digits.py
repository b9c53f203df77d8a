"""How many digits a figure has in JSON: those that `units` gives its unit, which its key names, never a float's."""

from math import floor, log10
from typing import Any

from cooperage.units import Quantity, digits_kept

_MEASURED = {
    "_mg_l": Quantity.SULPHITE,
    "_g_l": Quantity.ACID,
    "_per_l": Quantity.MONEY,
    "_l": Quantity.VOLUME,
    "litres": Quantity.VOLUME,
    "abv": Quantity.STRENGTH,
    "_mm": Quantity.LENGTH,
    "celsius": Quantity.TEMPERATURE,
    "temperature": Quantity.TEMPERATURE,
    "_c": Quantity.TEMPERATURE,
    "humidity": Quantity.PERCENT,
    "percent": Quantity.PERCENT,
    "ph": Quantity.NUMBER,
    "ntu": Quantity.TURBIDITY,
    "sg": Quantity.GRAVITY,
    "grams": Quantity.MASS,
    "_g": Quantity.MASS,
}
_BY_ENDING = {ending: digits_kept(quantity) for ending, quantity in _MEASURED.items()} | {"days": 1, "fraction": 10}
_MOST = 12  # significant digits of anything else, which is more than any figure of a cellar has


def rounded(value: Any, key: str = "", *, to_the_unit: bool = True) -> Any:  # noqa: ANN401 - JSON is any of these
    """Return a JSON value with its figures rounded.

    A figure in a list has the key of the list; one in a row about a `property` has the unit of that.
    """
    if isinstance(value, dict):
        about = str(value.get("property") or key)
        return {name: rounded(item, _key(name, about), to_the_unit=to_the_unit) for name, item in value.items()}
    if isinstance(value, list):
        return [rounded(item, key, to_the_unit=to_the_unit) for item in value]
    if isinstance(value, float):
        return _rounded(value, key if to_the_unit else "")
    return value


def _key(name: str, outer: str) -> str:
    """Return the key that names the unit: that of the figure itself, else of what it stands in, as litres by vessel."""
    return name if _digits(name) is not None else outer


def _digits(key: str) -> int | None:
    return next(
        (digits for ending, digits in _BY_ENDING.items() if key == ending.lstrip("_") or key.endswith(ending)), None
    )


def _rounded(value: float, key: str) -> float:
    if value == 0:
        return 0.0  # never -0.0
    digits = _digits(key)
    size = floor(log10(abs(value)))
    return round(value, _MOST - 1 - size if digits is None else digits)


def four_digits(value: Any) -> Any:  # noqa: ANN401 - JSON is any of these
    """Return a JSON value with its figures to four digits, which is more than so few scores can show."""
    if isinstance(value, dict):
        return {name: four_digits(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [four_digits(item) for item in value]
    return float(f"{value:.4g}") if isinstance(value, float) else value
