"""Quantities become text, rounded to the digits that their unit declares."""

from fractions import Fraction
from math import floor, isfinite, log10
from numbers import Integral

from cooperage.errors import OutOfRange
from cooperage.units.chosen import DEFAULT, Units
from cooperage.units.scales import SCALES, Quantity, Unit


def show(
    quantity: Quantity,
    value: float | None,
    units: Units = DEFAULT,
    *,
    with_unit: bool = True,
    digits: int | None = None,
) -> str:
    """Return a canonical value as text in the user's unit, rounded half to even to its declared digits.

    `digits` overrides the declaration, for a reading that declares its own. None and NaN are unknown and
    shown as "?", never as zero. A volume that is there is not shown as none either: 40 ml
    are "0.04 L". A gravity beyond the Brix scale is shown as "0.790 SG".

    Raises: TypeError for a float volume, a slip of the program: volumes are whole millilitres.
    """
    exact, unit = _exact(quantity, value), units.usual(quantity)
    if exact is None:
        return "?"
    try:
        in_unit = unit.from_canonical(exact)
    except OutOfRange:
        return f"{_figures(exact, 3, units)} SG"
    if digits is None:
        is_lost = quantity is Quantity.VOLUME and in_unit and not round(in_unit, unit.digits or 0)
        digits = _first_figure(in_unit) if is_lost else unit.digits or 0
    number = _figures(in_unit, digits, units)
    return unit.written(number) if with_unit else number


def show_signed(value: float | None, units: Units = DEFAULT, *, digits: int = 1) -> str:
    """Return a difference of plain numbers with its sign: "+0.4", "-1.2"; "–" where it is unknown or endless."""
    if value is None or not isfinite(value):
        return "–"
    text = show(Quantity.NUMBER, value, units, digits=digits)
    return f"+{text}" if value > 0 else text


_MOST_DIGITS = 4


def show_short(
    quantity: Quantity,
    value: float | None,
    units: Units = DEFAULT,
    *,
    with_unit: bool = True,
    digits: int | None = None,
) -> str:
    """Return a value as `show` does with no more digits than it needs: a limit of 77 g/L is "77 g/L", not "77.0 g/L".

    What a few digits more than the declared ones do not give exactly is rounded to those declared, or to its first
    figure where that would be nothing.
    """
    exact, unit = _exact(quantity, value), units.usual(quantity)
    declared = unit.digits or 0 if digits is None else digits
    try:
        number = Fraction(0) if exact is None else unit.from_canonical(exact)
    except OutOfRange:
        return show(quantity, value, units, with_unit=with_unit)
    close = Fraction(1, 10**9) * max(Fraction(1), abs(number))
    exactly = (few for few in range(min(_MOST_DIGITS, declared + 2) + 1) if abs(number - round(number, few)) < close)
    text = next(exactly, max(declared, _first_figure(number)))
    return show(quantity, value, units, with_unit=with_unit, digits=text)


def _first_figure(number: Fraction) -> int:
    """Return the digits it takes to show more than nothing, four at most."""
    return next((few for few in range(_MOST_DIGITS) if round(number, few)), _MOST_DIGITS)


def show_worth(value: float, figures: int, units: Units = DEFAULT, *, digits: int = 0) -> str:
    """Return a plain number to so many figures, `digits` decimals at least and four at most, without closing zeros."""
    if value and abs(value) < 0.5 * 10**-_MOST_DIGITS:
        return f"less than 0{units.decimal}0001"
    size = floor(log10(abs(value))) if value else 0
    shown = _figures(Fraction(value), max(digits, min(_MOST_DIGITS, max(0, figures - 1 - size))), units)
    return shown.rstrip("0").rstrip(units.decimal) if units.decimal in shown else shown


def unit_written(quantity: Quantity, units: Units = DEFAULT) -> str:
    """Return a quantity's unit as it stands behind a figure: "g/L"; of a gravity "SG", "" for a plain number."""
    unit = units.usual(quantity)
    return unit.written("").strip() or unit.name.upper()


_KEPT = {Quantity.VOLUME: 3, Quantity.GRAVITY: 5, Quantity.MONEY: 4}  # a volume to the millilitre


def digits_kept(quantity: Quantity) -> int:
    """Return how many decimals a script is given of a figure in the usual unit: one more than is shown, or `_KEPT`."""
    return _KEPT.get(quantity, (DEFAULT.usual(quantity).digits or 0) + 1)


def volume_unit(units: Units = DEFAULT) -> tuple[str, float]:
    """Return what a price is given by, "litre" or the name of another unit, and how many litres it has."""
    unit = units.usual(Quantity.VOLUME)
    return "litre" if unit.factor == 1000 else unit.name, float(unit.factor) / 1000


def steps_shown(millilitres: int, units: Units = DEFAULT) -> int:
    """Return a volume as it is shown, in steps of the last digit shown: 1.84 L is 18 steps of 0.1 L."""
    unit = units.usual(Quantity.VOLUME)
    return round(unit.from_canonical(Fraction(millilitres)) * int(10 ** (unit.digits or 0)))


def show_steps(steps: int, units: Units = DEFAULT) -> str:
    """Return so many steps of the last digit shown as a volume."""
    unit = units.usual(Quantity.VOLUME)
    digits = unit.digits or 0
    return unit.written(_figures(Fraction(steps, 10**digits), digits, units))


def show_at_length(quantity: Quantity, value: float | None, units: Units = DEFAULT) -> str:
    """Return a value as `show` does, with more digits where those declared would lose over a fiftieth of it.

    So 50 ml is "0.05 L", neither "0.0 L" nor "0.1 L". On a scale whose zero is not nothing (a gravity, a temperature)
    the declared digits are enough.
    """
    exact, unit = _exact(quantity, value), units.usual(quantity)
    if exact is None or quantity in (Quantity.GRAVITY, Quantity.TEMPERATURE):
        return show(quantity, value, units)
    in_unit = unit.from_canonical(exact)
    return show(quantity, value, units, digits=_digits_of(in_unit, unit))


def show_trimmed(quantity: Quantity, value: float | None, units: Units = DEFAULT) -> str:
    """Return a value as `show_at_length` does, without closing zeros: "24 mg/L", "0.5 L"."""
    exact, unit = _exact(quantity, value), units.usual(quantity)
    if exact is None:
        return show(quantity, value, units)
    in_unit = unit.from_canonical(exact)
    digits = _digits_of(in_unit, unit)
    needed = next(few for few in range(digits + 1) if round(in_unit, few) == round(in_unit, digits))
    return show(quantity, value, units, digits=needed)


def show_spread(
    quantity: Quantity, spread: float, at: float, units: Units = DEFAULT, *, like: float | None = None
) -> str:
    """Return how far a value `at` may be off: a difference in the user's unit, so 0.5 °C is "0.9 °F".

    It has the digits it needs, or those of another spread that it is to stand beside (`like`).
    """
    unit, in_unit = _apart(quantity, spread, at, units)
    of = in_unit if like is None else _apart(quantity, like, at, units)[1]
    return unit.written(_figures(in_unit, _digits_of(of, unit), units))


def _apart(quantity: Quantity, spread: float, at: float, units: Units) -> tuple[Unit, Fraction]:
    """Return a difference and its unit: the user's, or the first of its scale where that does not reach so far."""
    unit, middle, far = units.usual(quantity), Fraction(at), Fraction(at) + Fraction(spread)
    try:
        return unit, abs(unit.from_canonical(far) - unit.from_canonical(middle))
    except OutOfRange:
        return SCALES[quantity].units[0], abs(Fraction(spread))


def show_band(
    quantity: Quantity,
    value: float,
    low: float,
    high: float,
    units: Units = DEFAULT,
    *,
    digits: int | None = None,
) -> str:
    """Return the band about a value in the user's unit, without it: "±0.04", or "11–108" where it is lopsided.

    Digits are those of the value, more where nothing would be left of the band. The ends of a lopsided band that goes
    beyond ten are whole numbers, and nothing is "0".
    """
    unit = units.usual(quantity)
    try:
        least, middle, most = sorted(unit.from_canonical(Fraction(each)) for each in (low, value, high))
    except OutOfRange:
        return ""
    declared = unit.digits or 0 if digits is None else digits
    below, above, reach = middle - least, most - middle, (most - least) / 2
    if abs(above - below) <= _LOPSIDED * max(above, below):
        is_lost = reach and not round(reach, declared)
        return f"±{_figures(reach, _first_figure(reach) if is_lost else declared, units)}"
    few = 0 if most >= _WHOLE_FROM else declared
    return f"{_figures(least, few if round(least, few) else 0, units)}–{_figures(most, few, units)}"


_LOPSIDED = Fraction(1, 4)
"""A band whose sides differ by no more than this share of the longer is told as even."""
_WHOLE_FROM = 10

_MOST_MORE_DIGITS = 3


def _digits_of(in_unit: Fraction, unit: Unit) -> int:
    """Return how many decimals a number of a unit needs so that no more than a fiftieth of it is lost."""
    usual = unit.digits or 0
    enough = (
        d for d in range(usual, usual + _MOST_MORE_DIGITS) if 50 * abs(round(in_unit, d) - in_unit) <= abs(in_unit)
    )
    return next(enough, usual + _MOST_MORE_DIGITS)


def show_exact(millilitres: int | None, units: Units = DEFAULT, *, with_unit: bool = True) -> str:
    """Return a volume as `show` does, with as many digits as it takes to read back the same millilitres."""
    exact, unit = _exact(Quantity.VOLUME, millilitres), units.usual(Quantity.VOLUME)
    digits = unit.digits or 0
    while exact is not None and round(unit.to_canonical(round(unit.from_canonical(exact), digits))) != exact:
        digits += 1
    return show(Quantity.VOLUME, millilitres, units, with_unit=with_unit, digits=digits)


def _exact(quantity: Quantity, value: float | None) -> Fraction | None:
    """Return the value without any rounding, or None when it is unknown."""
    if value is None or not isfinite(value):
        return None
    if quantity is not Quantity.VOLUME:
        return Fraction(float(value))
    if not isinstance(value, Integral):
        raise TypeError(f"a volume is whole millilitres, not {value!r}")
    return Fraction(int(value))


def _figures(number: Fraction, digits: int, units: Units) -> str:
    """Return the number rounded half to even; by whole numbers, since a float would round a second time."""
    last_places = round(number * 10**digits)
    figures = str(abs(last_places)).zfill(digits + 1)
    point = len(figures) - digits
    decimals = units.decimal + figures[point:] if digits else ""
    return ("-" if last_places < 0 else "") + figures[:point] + decimals


def counted(count: int, singular: str, many: str = "") -> str:
    """Return a count with its noun: "1 glass", "2 glasses"; `many` is left out where an s is enough."""
    return f"{count} {singular if count == 1 else many or singular + 's'}"
