"""The one door where text becomes quantities and times, and where they become text again.

Inside the house each quantity has one canonical unit (see `Quantity`). Volumes are whole millilitres, exact;
what instruments read is float. A unit is declared once, in the tables below; reading, showing, the wording of
errors and the choices in the settings.

Factors: NIST Handbook 44, appendix C; UK Units of Measurement Regulations 1995. All are exact by definition.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import floor, isfinite, log10
from numbers import Integral
from types import MappingProxyType

from cooperage import liquid
from cooperage.errors import BadInput, OutOfRange, choose_from


class Quantity(StrEnum):
    """What a number measures; the canonical unit stands in brackets."""

    VOLUME = "volume"  # [ml, a whole number]
    GRAVITY = "gravity"  # [specific gravity 20/20 °C]
    STRENGTH = "strength"  # [% vol at 20 °C]
    SUGAR = "sugar"  # [g/L]
    ACID = "acid"  # [g/L]
    SULPHITE = "sulphite"  # [mg/L]
    MASS = "mass"  # [g]
    TEMPERATURE = "temperature"  # [°C]
    LENGTH = "length"  # [mm]
    MONEY = "money"  # [the user's currency]
    NUMBER = "number"  # [1]
    COUNT = "count"  # [1, a whole number]
    PERCENT = "percent"  # [%]


@dataclass(frozen=True, slots=True)
class _Unit:
    """One unit of one quantity: canonical value = one * number + zero.

    `spellings` are split at spaces and stand as `_key` leaves what was typed. `digits` are the decimals
    shown; a unit without them is understood, never shown. `called` and `example` word the errors.
    """

    name: str
    spellings: str
    factor: Fraction | int = 1
    zero: Fraction | int = 0
    label: str | None = None  # the name, unless it is given
    called: str = ""
    example: str = ""
    digits: int | None = None

    def to_canonical(self, number: Fraction) -> Fraction:
        return self.factor * number + self.zero

    def from_canonical(self, value: Fraction) -> Fraction:
        return (value - self.zero) / self.factor

    def written(self, number: str) -> str:
        return f"{number} {self.name if self.label is None else self.label}".rstrip()


class _SpecificGravity(_Unit):
    """Specific gravity, which is also said in thousandths: 1022 is 1.022."""

    def to_canonical(self, number: Fraction) -> Fraction:
        return number / 1000 if number > 100 else number


class _SugarByMass(_Unit):
    """Grams of sugar in 100 g of solution of the same gravity; Brix and Plato agree within what is shown."""

    def to_canonical(self, number: Fraction) -> Fraction:
        return Fraction(float(liquid.sg_from_brix(float(number))))

    def from_canonical(self, value: Fraction) -> Fraction:
        return Fraction(float(liquid.brix_from_sg(float(value))))


@dataclass(frozen=True, slots=True)
class _Scale:
    """All units of one quantity, the usual one first, and the canonical values that can be meant at all."""

    noun: str
    units: tuple[_Unit, ...]
    lowest: float = 0
    highest: float = 1e12  # a thousand million litres; beyond it is a slip of the finger
    whole: bool = False

    def accepts(self, value: Fraction) -> bool:
        return self.lowest <= value <= self.highest and (value.denominator == 1 or not self.whole)

    def find(self, spelled: str) -> _Unit | None:
        key = _key(spelled)
        known = {key, key.removesuffix("s")}
        return next((unit for unit in self.units if known.intersection(unit.spellings.split())), None)


def _key(spelled: str) -> str:
    """Return a unit as it is looked up: no case, spaces, stops or degree signs; "us" goes, "uk" is "imp"."""
    key = re.sub(r"[\s.°º]", "", spelled.casefold()).removeprefix("us")
    return re.sub(r"^(imperial|uk)", "imp", key)


US_GALLON_ML = Fraction("3785.411784")
IMPERIAL_GALLON_ML = Fraction("4546.09")
INCH_MM = Fraction("25.4")
POUND_G = Fraction("453.59237")
BOTTLE_ML = 750

_VOLUMES = (
    _Unit("L", "l litre liter", 1000, called="litres", example="1.8", digits=1),
    _Unit("ml", "ml millilitre milliliter", example="1800"),
    _Unit("gal", "gal gallon", US_GALLON_ML, called="US gallons", example="0.5", digits=2),
    _Unit("imp gal", "impgal impgallon", IMPERIAL_GALLON_ML, called="imp gallons", example="0.4", digits=2),
    _Unit("cl", "cl centilitre centiliter", 10),
    _Unit("hl", "hl hectolitre hectoliter", 100_000),
    _Unit("qt", "qt quart", US_GALLON_ML / 4),
    _Unit("pt", "pt pint", US_GALLON_ML / 8),
    _Unit("fl oz", "floz fluidounce", US_GALLON_ML / 128),
    _Unit("imp qt", "impqt impquart", IMPERIAL_GALLON_ML / 4),
    _Unit("imp pt", "imppt imppint", IMPERIAL_GALLON_ML / 8),
    _Unit("imp fl oz", "impfloz impfluidounce", IMPERIAL_GALLON_ML / 160),
    _Unit("bottle", "bottle", BOTTLE_ML),
    _Unit("case", "case", 12 * BOTTLE_ML),
)
_GRAVITIES = (
    _SpecificGravity("sg", "sg", label="", called="specific gravity", example="1.022", digits=3),
    _SugarByMass("brix", "bx brix", label="Bx", called="degrees Brix", example="22", digits=1),
    _SugarByMass("plato", "p plato", label="P", called="degrees Plato", example="22", digits=1),
)
_STRENGTHS = (
    _Unit("% vol", "% %vol vol% %abv abv", called="per cent by volume", example="13.5", digits=1),
    _Unit("proof", "proof", Fraction(1, 2), example="27"),
)
_MASSES = (
    _Unit("g", "g gram gramme", called="grams", example="12.5", digits=1),
    _Unit("kg", "kg kilogram kilogramme", 1000, example="0.5"),
    _Unit("mg", "mg milligram milligramme", Fraction(1, 1000)),
    _Unit("oz", "oz ounce", POUND_G / 16, example="0.4"),
    _Unit("lb", "lb pound", POUND_G),
)
_C_PER_F = Fraction(5, 9)
_TEMPERATURES = (
    _Unit("c", "c celsius", label="°C", called="degrees Celsius", example="18", digits=1),
    _Unit("f", "f fahrenheit", _C_PER_F, -32 * _C_PER_F, "°F", "degrees Fahrenheit", example="64", digits=1),
)
_LENGTHS = (
    _Unit("mm", "mm millimetre millimeter", called="millimetres", example="45", digits=0),
    _Unit("cm", "cm centimetre centimeter", 10, example="4.5"),
    _Unit("in", "in inch inches \" ″ ''", INCH_MM, example="1.75"),
)
_MG_PER_L = {"g/L": 1000, "g/100ml": 10_000, "mg/L": 1, "ppm": 1, "g/hL": 10}


def _concentration(noun: str, usual: str, example: str, digits: int) -> _Scale:
    """Return the scale of a mass concentration, canonical in its usual unit; ppm is taken as mg/L."""
    factor = {name: Fraction(mg_l, _MG_PER_L[usual]) for name, mg_l in _MG_PER_L.items()}
    others = (_Unit(name, name.casefold(), factor[name]) for name in factor if name != usual)
    return _Scale(noun, (_Unit(usual, usual.casefold(), called=usual, example=example, digits=digits), *others))


def _plain(noun: str, called: str, example: str, digits: int, sign: str = "") -> _Scale:
    """Return the scale of a number that has no other unit than its sign, such as %."""
    return _Scale(noun, (_Unit(sign, sign, called=called, example=example, digits=digits),))


_SCALES: Mapping[Quantity, _Scale] = {
    Quantity.VOLUME: _Scale("a volume", _VOLUMES),
    Quantity.GRAVITY: _Scale("a gravity", _GRAVITIES, lowest=0.7, highest=1.6),
    Quantity.STRENGTH: _Scale("a strength", _STRENGTHS, highest=100),
    Quantity.SUGAR: _concentration("an amount of sugar", "g/L", "60", 1),
    Quantity.ACID: _concentration("an amount of acid", "g/L", "6.2", 2),
    Quantity.SULPHITE: _concentration("an amount of sulphite", "mg/L", "28", 1),
    Quantity.MASS: _Scale("a mass", _MASSES),
    Quantity.TEMPERATURE: _Scale("a temperature", _TEMPERATURES, lowest=-273.15),
    Quantity.LENGTH: _Scale("a length", _LENGTHS),
    Quantity.MONEY: _plain("a sum of money", "a plain number", "12.50", 2),
    Quantity.NUMBER: _plain("a number", "a plain number", "3.45", 2),
    Quantity.COUNT: replace(_plain("a count", "a whole number", "12", 0), whole=True),
    Quantity.PERCENT: _plain("a percentage", "per cent", "12.5", 1, sign="%"),
}

_CHOSEN = (Quantity.VOLUME, Quantity.GRAVITY, Quantity.TEMPERATURE)
_MAY_BE_SHOWN = {q.value: tuple(u.name for u in _SCALES[q].units if u.digits is not None) for q in _CHOSEN}
CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType({**_MAY_BE_SHOWN, "decimal": (".", ",")})


class UnknownChoice(BadInput):
    """A unit or a decimal mark that cannot be chosen."""

    def __init__(self, key: str, chosen: object) -> None:
        self.key, self.chosen, self.choices = key, chosen, CHOICES[key]
        super().__init__(f"{key} cannot be '{chosen}'{choose_from(str(chosen), self.choices)}")


@dataclass(frozen=True, slots=True)
class Units:
    """The units in which a person types and reads; `CHOICES` lists what each may be, in capitals or not.

    Raises: UnknownChoice.
    """

    volume: str = "L"
    gravity: str = "sg"
    temperature: str = "c"
    decimal: str = "."

    def __post_init__(self) -> None:
        for field in fields(self):
            chosen = getattr(self, field.name)
            meant = [choice for choice in CHOICES[field.name] if choice.casefold() == str(chosen).casefold()]
            if not meant:
                raise UnknownChoice(field.name, chosen)
            object.__setattr__(self, field.name, meant[0])  # "l" for L, "F" for f

    def usual(self, quantity: Quantity) -> _Unit:
        """Return the unit in which a bare number of this quantity is meant and shown."""
        scale = _SCALES[quantity]
        chosen = getattr(self, quantity.value, scale.units[0].name)
        return next(unit for unit in scale.units if unit.name == chosen)


DEFAULT = Units()


class NotAQuantity(BadInput):
    """Text that is not the quantity it should be; the line gives what would be."""

    def __init__(self, quantity: Quantity, text: str, units: Units) -> None:
        self.quantity, self.text = quantity, text
        scale, usual = _SCALES[quantity], units.usual(quantity)
        others = [unit.written(unit.example) for unit in scale.units if unit.example and unit is not usual]
        hint = f"; type {usual.called} such as {usual.example}"
        if others:
            hint += f", or a unit: {', '.join(others[:2])}"
        hint = re.sub(r"(?<=[0-9])\.(?=[0-9])", units.decimal, hint)
        super().__init__(f"'{_one_line(text)}' is not {scale.noun}{hint}")


WHENS = ("2026-10-03", "2026-10-03 14:30", "today", "yesterday 14:30", "3 days ago")
"""Examples of dates and times that are understood, as messages and prompts show them."""


class NotATime(BadInput):
    """Text that is not a date or a time."""

    def __init__(self, text: str) -> None:
        self.text = text
        hint = f"type one such as {', '.join(WHENS[:-1])} or {WHENS[-1]}"
        super().__init__(f"'{_one_line(text)}' is not a date or time; {hint}")


def _one_line(text: str, longest: int = 40) -> str:
    line = " ".join(text.split())
    return line if len(line) <= longest else line[: longest - 1] + "…"


_AMOUNT = re.compile(r"(?:([1-9][0-9]{0,5})\s*[xX×*]\s*)?([+-]?)\s*([0-9.,]{1,30})\s*([^0-9.,].*)?")
_PLAIN_NUMBER = re.compile(r"[0-9]+[.,]?[0-9]*|[.,][0-9]+")
_GROUPED_NUMBER = re.compile(r"[0-9]{1,3}(,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(\.[0-9]{3})+,[0-9]+")
_UNMISTAKABLE_SG = re.compile(r"0?[.,]9[89][0-9]+|1[.,][01][0-9]{2,}|9[89][0-9]|1[01][0-9]{2}|1200")
_COUNTED = frozenset({Quantity.VOLUME, Quantity.MASS})


def read(quantity: Quantity, text: str, units: Units = DEFAULT) -> int | float:
    """Return what was typed in the quantity's canonical unit: an int for volumes and counts, else a float.

    A bare number is in the user's unit; any other unit may be typed after it, in either case, spaced or not.
    Volumes and masses may be counted: "3 x 500 ml". A single point or comma is always the decimal mark, so
    "1,234 L" is 1.234 litres; where both occur it is the last one: "1.234,5", "1,234.5". Volumes are exact,
    rounded half to even at the millilitre. A bare gravity that can only be specific gravity (1.022 or 1022)
    is taken as such whatever the unit. Proof is US proof, twice the % vol at 60 °F (27 CFR 30.11); what lies
    between that and 20 °C is not corrected.

    Raises: NotAQuantity.
    """
    value = _canonical(quantity, text.strip().replace("−", "-"), units)
    if value is None or not _SCALES[quantity].accepts(value):
        raise NotAQuantity(quantity, text, units)
    return round(value) if quantity in (Quantity.VOLUME, Quantity.COUNT) else float(value)


def read_volume(text: str, units: Units = DEFAULT) -> int:
    """Return a typed volume in whole millilitres, as `read` does. Raises: NotAQuantity."""
    return int(read(Quantity.VOLUME, text, units))


def read_spread(quantity: Quantity, text: str, at: float, units: Units = DEFAULT) -> float:
    """Return how far a value `at` (canonical) may be off, as typed: a difference, so "0.9" in °F is 0.5 °C.

    Raises: NotAQuantity.
    """
    amount = _AMOUNT.fullmatch(text.strip())
    number, spelled = (_number(amount[3]), amount[4] or "") if amount and not amount[1] else (None, "")
    unit = _SCALES[quantity].find(spelled) if spelled else units.usual(quantity)
    if number is None or unit is None:
        raise NotAQuantity(quantity, text, units)
    try:
        return float(abs(unit.to_canonical(unit.from_canonical(Fraction(at)) + number) - Fraction(at)))
    except OutOfRange as error:
        raise NotAQuantity(quantity, text, units) from error


def _canonical(quantity: Quantity, text: str, units: Units) -> Fraction | None:
    """Return the exact canonical value of the text, or None where it makes no sense."""
    amount = _AMOUNT.fullmatch(text)
    if not amount or (amount[1] and quantity not in _COUNTED):
        return None
    times, sign, digits, spelled = amount.groups("")
    number, unit = _number(digits), _unit_meant(quantity, digits, spelled, units)
    if number is None or unit is None:
        return None
    try:
        return int(times or 1) * unit.to_canonical(-number if sign == "-" else number)
    except OutOfRange:
        return None


def _unit_meant(quantity: Quantity, digits: str, spelled: str, units: Units) -> _Unit | None:
    if spelled:
        return _SCALES[quantity].find(spelled)
    if quantity is Quantity.GRAVITY and _UNMISTAKABLE_SG.fullmatch(digits):
        return _GRAVITIES[0]
    return units.usual(quantity)


def _number(digits: str) -> Fraction | None:
    """Return the exact number: a decimal point or comma, and perhaps the other mark between thousands."""
    if _GROUPED_NUMBER.fullmatch(digits):
        thousands = "," if digits.index(",") < digits.rindex(".") else "."
        digits = digits.replace(thousands, "")
    elif not _PLAIN_NUMBER.fullmatch(digits):
        return None
    return Fraction(Decimal(digits.replace(",", ".")))


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


def show_spread(quantity: Quantity, spread: float, at: float, units: Units = DEFAULT) -> str:
    """Return how far a value `at` may be off: a difference in the user's unit, so 0.5 °C is "0.9 °F"."""
    unit, middle, far = units.usual(quantity), Fraction(at), Fraction(at) + Fraction(spread)
    try:
        in_unit = abs(unit.from_canonical(far) - unit.from_canonical(middle))
    except OutOfRange:
        unit, in_unit = _SCALES[quantity].units[0], abs(Fraction(spread))
    return unit.written(_figures(in_unit, _digits_of(in_unit, unit), units))


_MOST_MORE_DIGITS = 3


def _digits_of(in_unit: Fraction, unit: _Unit) -> int:
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


_MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_NAMED_DATE = re.compile(r"([0-9]{1,2})\s+([A-Z]{3})[A-Z]*\.?\s+([0-9]{4})")
_PERIOD = re.compile(r"(THIS|LAST)\s+(MONTH|YEAR)")
_DATE = re.compile(r"[0-9W-]{7,10}")
_DAYS_AGO = re.compile(r"-\s*([0-9]{1,4})\s*D|([0-9]{1,4})\s*D(?:AYS?)?\s+AGO")
_CLOCK = re.compile(r"(.*\S)[\sT]+([0-9]{1,2}:[0-9]{2})")
_NAMED_DAYS = {"TODAY": 0, "YESTERDAY": 1}


def read_when(text: str, now: datetime) -> datetime:
    """Return the moment that was typed, in UTC; `now` is aware.

    Understood are "2026-10-03", "2026-10-03 14:30", "2026-10-03T14:30Z", "3 Oct 2026", "today", "yesterday", "-3d" and
    "3 days ago", each of these with a time after it. A time without a zone is local, in the system's time zone. A day
    without a time is its noon, but today's is never later than now.

    Raises: NotATime.
    """
    typed, today = text.strip().upper(), now.astimezone().date()
    try:
        day = _day(typed, today)
        moment = datetime.combine(day, time(12)) if day else _day_and_time(typed, today)
        moment = moment.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise NotATime(text) from error
    return min(moment, now.astimezone(UTC)) if day == today else moment


def _day_and_time(typed: str, today: date) -> datetime:
    """Return the moment meant by a day with a time after it, or by ISO 8601; raises ValueError."""
    parts = _CLOCK.fullmatch(typed)
    day = _day(parts[1], today) if parts else None
    if parts is None or day is None:
        return datetime.fromisoformat(typed)
    return datetime.combine(day, time.fromisoformat(parts[2].zfill(5)))


def _day(typed: str, today: date) -> date | None:
    """Return the day meant by text that names a day and no time; None for anything else."""
    if ago := _DAYS_AGO.fullmatch(typed):
        return today - timedelta(days=int(ago[1] or ago[2]))
    if typed in _NAMED_DAYS:
        return today - timedelta(days=_NAMED_DAYS[typed])
    if (named := _NAMED_DATE.fullmatch(typed)) and named[2] in _MONTHS:
        return date(int(named[3]), _MONTHS.index(named[2]) + 1, int(named[1]))
    return date.fromisoformat(typed) if _DATE.fullmatch(typed) else None


class EndsTooSoon(BadInput):
    """A span of time that ends no later than it begins."""

    def __init__(self, since: str, until: str) -> None:
        self.since, self.until = since, until
        super().__init__(f"'{_one_line(until)}' is not after '{_one_line(since)}'; a period ends after it begins")


_SMALLEST_STEP = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Span:
    """A span of time in UTC: `start` belongs to it, `end` no more; None is without end.

    Spans that adjoin therefore share no moment and leave none out. The book keeps moments to the microsecond: `last` is
    the last one inside and `last_before` the last one before.
    """

    start: datetime | None = None
    end: datetime | None = None

    @property
    def last(self) -> datetime | None:
        """The last moment of the span, for what includes the moment it looks up to."""
        return None if self.end is None else self.end - _SMALLEST_STEP

    @property
    def last_before(self) -> datetime | None:
        """The last moment before the span."""
        return None if self.start is None else self.start - _SMALLEST_STEP

    def seen_at(self, now: datetime) -> datetime | None:
        """Return the last moment of the span that has passed by now; None for now itself."""
        return None if self.last is None or self.last >= now else self.last


ALWAYS = Span()


def show_span(span: Span) -> str:
    """Return a span in local time: "2026-07-01 to 2026-07-15" for whole days, with the hour where a day is cut."""
    start = "" if span.start is None else _edge(span.start, show_day(span.start))
    end = "" if span.end is None else _edge(span.end, show_day(span.last))
    return f"{start} to {end}" if start and end else f"since {start}" if start else f"to {end}" if end else ""


def _edge(moment: datetime, day: str) -> str:
    return day if moment == midnight(_local(moment).date()) else show_when(moment)


def read_span(since: str | None, until: str | None, now: datetime) -> Span:
    """Return the span of time that was typed; either end may be left out.

    A day is from its local midnight to the next, so a span until a day holds all of it. A moment with its time bounds
    the span exactly: what happens then belongs to the span that begins there. Words are those of `read_when`, and
    "this month", "last month", "this year", "last year": since one of them is from its first day on, and all of it
    where no end is given; until one of them is to its last day.

    Raises: NotATime, EndsTooSoon.
    """
    start = None if since is None else _bound(since, now, days=0)
    if until is None and since is not None and _period(since, now) is not None:
        until = since
    end = None if until is None else _bound(until, now, days=1)
    if since is not None and until is not None and start is not None and end is not None and end <= start:
        raise EndsTooSoon(since, until)
    return Span(start, end)


def _bound(text: str, now: datetime, days: int) -> datetime:
    """Return the midnight at which a day begins, or so many days later; the moment itself where a time was typed."""
    if period := _period(text, now):
        return midnight(period[1] if days else period[0])
    try:
        day = _day(text.strip().upper(), now.astimezone().date())
        return read_when(text, now) if day is None else midnight(day + timedelta(days=days))
    except (ValueError, OverflowError) as error:
        raise NotATime(text) from error


def _period(text: str, now: datetime) -> tuple[date, date] | None:
    """Return the first day of a month or year that is named, and the first day after it; None for anything else."""
    named = _PERIOD.fullmatch(text.strip().upper())
    if named is None:
        return None
    first, back = now.astimezone().date().replace(day=1), named[1] == "LAST"
    if named[2] == "YEAR":
        year = first.year - back
        return date(year, 1, 1), date(year + 1, 1, 1)
    if back:
        first = (first - timedelta(days=1)).replace(day=1)
    return first, _first_of_next_month(first)


def _first_of_next_month(first: date) -> date:
    """Return the first day of the month after the one that begins on `first`; no month has more than 31 days."""
    return (first + timedelta(days=31)).replace(day=1)


def midnight(day: date) -> datetime:
    """Return the moment at which a local day begins, in UTC."""
    return datetime.combine(day, time()).astimezone(UTC)


def show_when(moment: datetime | None) -> str:
    """Return an aware moment as local "2026-10-03 14:30", or "?" when it is unknown."""
    return "?" if moment is None else _local(moment).isoformat(" ", "minutes")


def show_zone(moment: datetime) -> str:
    """Return the time zone in which moments are shown: "CET, UTC+1"."""
    local = moment.astimezone()
    minutes = round((local.utcoffset() or timedelta()).total_seconds() / 60)
    hours, rest = divmod(abs(minutes), 60)
    name = local.tzname() or ""
    away = f"UTC{'+' if minutes >= 0 else '-'}{hours}{f':{rest:02}' if rest else ''}" if minutes else "UTC"
    return away if name in ("", "UTC") or name[0] in "+-" else f"{name}, {away}"


def show_day(moment: datetime | None) -> str:
    """Return the local day of an aware moment as "2026-10-03", or "?" when it is unknown."""
    return "?" if moment is None else _local(moment).date().isoformat()


def local_day(moment: datetime) -> date:
    """Return the local day of an aware moment."""
    return _local(moment).date()


def show_ago(then: datetime, now: datetime) -> str:
    """Return how long ago something was, by the days of the calendar: "today", "1 day ago", "45 days ago"."""
    days = (local_day(now) - local_day(then)).days
    return "today" if days <= 0 else f"{counted(days, 'day')} ago"


def show_month(moment: datetime) -> str:
    """Return the local month of an aware moment as "2026-10"."""
    return show_day(moment)[:7]


def next_month(moment: datetime) -> datetime:
    """Return when the local month after that of a moment begins, in UTC."""
    return midnight(_first_of_next_month(_local(moment).date().replace(day=1)))


def _local(moment: datetime) -> datetime:
    """Return the wall-clock time. A moment without a zone is a slip of the program: its hour is a guess."""
    if moment.tzinfo is None:
        raise TypeError("a moment must know its time zone")
    return moment.astimezone().replace(tzinfo=None)
