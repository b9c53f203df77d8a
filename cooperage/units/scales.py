"""The units of each quantity, declared once: reading, showing, the wording of errors and the settings follow.

Each quantity has one canonical unit (see `Quantity`). Factors: NIST Handbook 44, appendix C; UK Units of Measurement
Regulations 1995. All are exact by definition.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from cooperage import liquid


class Quantity(StrEnum):
    """What a number measures; the canonical unit stands in brackets."""

    VOLUME = "volume"  # [ml, a whole number]
    GRAVITY = "gravity"  # [specific gravity 20/20 °C]
    STRENGTH = "strength"  # [% vol at 20 °C]
    SUGAR = "sugar"  # [g/L]
    ACID = "acid"  # [g/L]
    SULPHITE = "sulphite"  # [mg/L]
    GAS = "gas"  # dissolved [g/L]
    TURBIDITY = "turbidity"  # [NTU]
    MASS = "mass"  # [g]
    TEMPERATURE = "temperature"  # [°C]
    LENGTH = "length"  # [mm]
    MONEY = "money"  # [the user's currency]
    NUMBER = "number"  # [1]
    COUNT = "count"  # [1, a whole number]
    PERCENT = "percent"  # [%]
    DAYS = "days"  # [days]


@dataclass(frozen=True, slots=True)
class Unit:
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
        """Return a number of this unit in the canonical one."""
        return self.factor * number + self.zero

    def from_canonical(self, value: Fraction) -> Fraction:
        """Return a canonical value as a number of this unit; raises OutOfRange beyond its scale."""
        return (value - self.zero) / self.factor

    def written(self, number: str) -> str:
        """Return a number with the unit behind it."""
        return f"{number} {self.name if self.label is None else self.label}".rstrip()


class _SpecificGravity(Unit):
    """Specific gravity, which is also said in thousandths: 1022 is 1.022."""

    def to_canonical(self, number: Fraction) -> Fraction:
        return number / 1000 if number > 100 else number


class _Days(Unit):
    """Days as they are said: "1 day", "7 days"."""

    def written(self, number: str) -> str:
        return f"{number} {self.name}" + ("" if number == "1" else "s")


class _SugarByMass(Unit):
    """Grams of sugar in 100 g of solution of the same gravity; Brix and Plato agree within what is shown."""

    def to_canonical(self, number: Fraction) -> Fraction:
        return Fraction(float(liquid.sg_from_brix(float(number))))

    def from_canonical(self, value: Fraction) -> Fraction:
        return Fraction(float(liquid.brix_from_sg(float(value))))


@dataclass(frozen=True, slots=True)
class QuantityScale:
    """All units of one quantity, the usual one first, and the canonical values that can be meant at all."""

    noun: str
    units: tuple[Unit, ...]
    lowest: float = 0
    highest: float = 1e12  # a thousand million litres; beyond it is a slip of the finger
    whole: bool = False

    def accepts(self, value: Fraction) -> bool:
        """Return True if a canonical value can be meant."""
        return self.lowest <= value <= self.highest and (value.denominator == 1 or not self.whole)

    def find(self, spelled: str) -> Unit | None:
        """Find a unit by one of its spellings, in the singular or the plural."""
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
    Unit("L", "l litre liter", 1000, called="litres", example="1.8", digits=1),
    Unit("mL", "ml millilitre milliliter", example="1800"),
    Unit("gal", "gal gallon", US_GALLON_ML, called="US gallons", example="0.5", digits=2),
    Unit("imp gal", "impgal impgallon", IMPERIAL_GALLON_ML, called="imp gallons", example="0.4", digits=2),
    Unit("cl", "cl centilitre centiliter", 10),
    Unit("hl", "hl hectolitre hectoliter", 100_000),
    Unit("qt", "qt quart", US_GALLON_ML / 4),
    Unit("pt", "pt pint", US_GALLON_ML / 8),
    Unit("fl oz", "floz fluidounce", US_GALLON_ML / 128),
    Unit("imp qt", "impqt impquart", IMPERIAL_GALLON_ML / 4),
    Unit("imp pt", "imppt imppint", IMPERIAL_GALLON_ML / 8),
    Unit("imp fl oz", "impfloz impfluidounce", IMPERIAL_GALLON_ML / 160),
    Unit("bottle", "bottle", BOTTLE_ML),
    Unit("case", "case", 12 * BOTTLE_ML),
)
GRAVITIES = (
    _SpecificGravity("sg", "sg", label="", called="specific gravity", example="1.022", digits=3),
    _SugarByMass("brix", "bx brix", label="Bx", called="degrees Brix", example="22", digits=1),
    _SugarByMass("plato", "p plato", label="P", called="degrees Plato", example="22", digits=1),
)
_STRENGTHS = (
    Unit("% vol", "% %vol vol% %abv abv", called="% by volume", example="13.5", digits=1),
    Unit("proof", "proof", Fraction(1, 2), example="27"),
)
_MASSES = (
    Unit("g", "g gram gramme", called="grams", example="12.5", digits=1),
    Unit("kg", "kg kilogram kilogramme", 1000, example="0.5"),
    Unit("mg", "mg milligram milligramme", Fraction(1, 1000)),
    Unit("oz", "oz ounce", POUND_G / 16, example="0.4"),
    Unit("lb", "lb pound", POUND_G),
)
_C_PER_F = Fraction(5, 9)
_TEMPERATURES = (
    Unit("c", "c celsius", label="°C", called="degrees Celsius", example="18", digits=1),
    Unit("f", "f fahrenheit", _C_PER_F, -32 * _C_PER_F, "°F", "degrees Fahrenheit", example="64", digits=1),
)
_LENGTHS = (
    Unit("mm", "mm millimetre millimeter", called="millimetres", example="45", digits=0),
    Unit("cm", "cm centimetre centimeter", 10, example="4.5"),
    Unit("in", "in inch inches \" ″ ''", INCH_MM, example="1.75"),
)
_TURBIDITIES = (Unit("NTU", "ntu fnu", called="NTU", example="0.8", digits=2),)
_DAYS = (
    _Days("day", "d day", called="days", example="7", digits=0),
    Unit("week", "w wk week", 7),
)
_MG_PER_L = {"g/L": 1000, "g/100ml": 10_000, "mg/L": 1, "ppm": 1, "g/hL": 10}


def _concentration(noun: str, usual: str, example: str, digits: int) -> QuantityScale:
    """Return the scale of a mass concentration, canonical in its usual unit; ppm is taken as mg/L."""
    factor = {name: Fraction(mg_l, _MG_PER_L[usual]) for name, mg_l in _MG_PER_L.items()}
    others = (Unit(name, name.casefold(), factor[name]) for name in factor if name != usual)
    return QuantityScale(noun, (Unit(usual, usual.casefold(), called=usual, example=example, digits=digits), *others))


def _plain(noun: str, called: str, example: str, digits: int, sign: str = "") -> QuantityScale:
    """Return the scale of a number that has no other unit than its sign, such as %."""
    return QuantityScale(noun, (Unit(sign, sign, called=called, example=example, digits=digits),))


SCALES: Mapping[Quantity, QuantityScale] = {
    Quantity.VOLUME: QuantityScale("a volume", _VOLUMES),
    Quantity.GRAVITY: QuantityScale("a gravity", GRAVITIES, lowest=0.7, highest=1.6),
    Quantity.STRENGTH: QuantityScale("a strength", _STRENGTHS, highest=100),
    Quantity.SUGAR: _concentration("an amount of sugar", "g/L", "60", 1),
    Quantity.ACID: _concentration("an amount of acid", "g/L", "6.2", 2),
    Quantity.SULPHITE: _concentration("an amount of sulphite", "mg/L", "28", 1),
    Quantity.GAS: _concentration("an amount of dissolved gas", "g/L", "0.9", 2),
    Quantity.TURBIDITY: QuantityScale("a turbidity", _TURBIDITIES),
    Quantity.MASS: QuantityScale("a mass", _MASSES),
    Quantity.TEMPERATURE: QuantityScale("a temperature", _TEMPERATURES, lowest=-273.15),
    Quantity.LENGTH: QuantityScale("a length", _LENGTHS),
    Quantity.MONEY: _plain("a sum of money", "a plain number", "12.50", 2),
    Quantity.NUMBER: _plain("a number", "a plain number", "3.45", 2),
    Quantity.COUNT: replace(_plain("a count", "a whole number", "12", 0), whole=True),
    Quantity.PERCENT: _plain("a percentage", "per cent", "12.5", 1, sign="%"),
    Quantity.DAYS: QuantityScale("a number of days", _DAYS),
}

_CHOSEN = (Quantity.VOLUME, Quantity.GRAVITY, Quantity.TEMPERATURE)
_MAY_BE_SHOWN = {q.value: tuple(u.name for u in SCALES[q].units if u.digits is not None) for q in _CHOSEN}
CHOICES: Mapping[str, tuple[str, ...]] = MappingProxyType({**_MAY_BE_SHOWN, "decimal": (".", ",")})
