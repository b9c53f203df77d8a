"""What can be read on a vessel: each property declared once.

The form, the CSV column, the report and the help read these declarations; the replay reads how each
property behaves when liquids meet.
"""

import re
from dataclasses import dataclass
from enum import Enum

from cooperage.book.declared.spelling import folded, spellings_of
from cooperage.errors import BadInput, choose_from
from cooperage.units import Quantity


class WhenMixed(Enum):
    """What happens to a property when two liquids meet."""

    MIXES = "averages by volume, because it is an amount in a volume"
    CARRIED = "stays with the larger part until it is read again; never averaged"
    READ_ONLY = "belongs to the vessel at the moment of reading"


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a reading may lie from what was calculated, or read last, before it is asked back.

    `rise` and `fall` are distances in the property's unit; `fall_a_day` is what it may fall besides with every day
    since it was read. Fermentation moves it up or down (`ferments` is 1 or -1), which in a tank explains any distance.
    Generous, so that a change that can be is not asked about (common practice, no source). Outside of the `odd` shares
    of the lowest and the highest of both, a reading is looked at more closely: beside what is expected of it now.
    """

    rise: float
    fall: float
    fall_a_day: float = 0.0
    ferments: int = 0
    odd: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Property:
    """One thing an instrument reads: its unit, what is possible, what is usual, and how sure a reading is.

    `possible` and `usual` are (lowest, highest) in the canonical unit of `quantity`; `uncertainty` is one
    standard deviation of an ordinary reading in that unit (common practice, no source). `synonyms` are other names
    that people and laboratories type for it.
    """

    name: str
    label: str
    quantity: Quantity
    possible: tuple[float, float]
    usual: tuple[float, float]
    uncertainty: float
    flow: WhenMixed = WhenMixed.MIXES
    far: Tolerance | None = None
    synonyms: tuple[str, ...] = ()
    short: str = ""

    @property
    def called(self) -> str:
        """Its name in a line with little room: the trade's own letters where it has some."""
        return self.short or self.label


class UnknownProperty(BadInput):
    """A name that is no property of the book."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"'{name}' cannot be measured here{choose_from(name, PROPERTIES)}")


_ODD = (0.5, 1.5)
_GRAVITY_UNITS = ("brix", "plato")
"""Names of gravity that are units as well: a bare number after one is in that unit."""

# Entry ranges after common practice in cellars (no source); they catch a slipped decimal, not a fault.
PROPERTIES: dict[str, Property] = {
    declared.name: declared
    for declared in (
        Property(
            "abv",
            "strength",
            Quantity.STRENGTH,
            (0, 96),
            (3, 25),
            0.15,
            far=Tolerance(1.5, 1.5, ferments=1),
            synonyms=("strength", "alcohol"),
        ),
        Property(
            "sugar_g_l",
            "sugar",
            Quantity.SUGAR,
            (0, 1200),
            (0, 250),
            2.0,
            far=Tolerance(25.0, 25.0, ferments=-1),
            synonyms=("sugar", "residual sugar", "rs"),
        ),
        Property(
            "ta_g_l",
            "titratable acidity",
            Quantity.ACID,
            (0, 30),
            (2, 12),
            0.2,
            far=Tolerance(1.5, 1.5),
            synonyms=("titratable acidity", "ta"),
            short="TA",
        ),
        Property(
            "va_g_l",
            "volatile acidity",
            Quantity.ACID,
            (0, 5),
            (0, 1.2),
            0.04,
            far=Tolerance(0.35, 0.25, odd=_ODD),
            synonyms=("volatile acidity", "va"),
            short="VA",
        ),
        Property(
            "free_so2_mg_l",
            "free SO2",
            Quantity.SULPHITE,
            (0, 500),
            (0, 80),
            3.0,
            far=Tolerance(20.0, 15.0, fall_a_day=0.5, odd=_ODD),
            synonyms=("free so2", "free", "fso2", "so2"),
        ),
        Property(
            "total_so2_mg_l",
            "total SO2",
            Quantity.SULPHITE,
            (0, 1000),
            (0, 200),
            8.0,
            far=Tolerance(40.0, 40.0, fall_a_day=0.5, odd=_ODD),
            synonyms=("total so2", "total", "tso2"),
        ),
        Property("ph", "pH", Quantity.NUMBER, (2.0, 5.0), (2.9, 4.0), 0.04, WhenMixed.CARRIED, Tolerance(0.3, 0.3)),
        Property(
            "sg",
            "gravity",
            Quantity.GRAVITY,
            (0.970, 1.200),
            (0.980, 1.120),
            0.0007,
            WhenMixed.READ_ONLY,
            Tolerance(0.008, 0.008, ferments=-1),
            synonyms=("gravity", "specific gravity", *_GRAVITY_UNITS),
        ),
        Property(
            "temperature_c",
            "temperature",
            Quantity.TEMPERATURE,
            (-10, 60),
            (2, 28),
            0.5,
            WhenMixed.READ_ONLY,
            synonyms=("temperature", "temp"),
        ),
        Property(
            "co2_g_l",
            "dissolved CO2",
            Quantity.GAS,
            (0, 15),
            (0, 3),
            0.1,
            WhenMixed.READ_ONLY,
            synonyms=("co2", "dissolved co2", "carbon dioxide"),
            short="CO2",
        ),
        Property(
            "turbidity_ntu",
            "turbidity",
            Quantity.TURBIDITY,
            (0, 10_000),
            (0, 1000),
            0.2,
            WhenMixed.READ_ONLY,
            synonyms=("turbidity", "clarity", "ntu"),
        ),
        Property(
            "heat_haze_ntu",
            "haze of a heat test",
            Quantity.TURBIDITY,
            (0, 10_000),
            (0, 100),
            0.3,
            WhenMixed.READ_ONLY,
            synonyms=("heat haze", "heat test", "haze"),
            short="heat haze",
        ),
        Property(
            "headspace_mm",
            "headspace",
            Quantity.LENGTH,
            (0, 3000),
            (0, 400),
            2.0,
            WhenMixed.READ_ONLY,
            synonyms=("headspace", "dip"),
        ),
    )
}

PROPERTY_SPELLINGS = spellings_of({name: declared.synonyms for name, declared in PROPERTIES.items()})
"""Each spelling of a property, and the name that it means."""

MIXING: tuple[str, ...] = tuple(p.name for p in PROPERTIES.values() if p.flow is not WhenMixed.READ_ONLY)
"""The properties that travel with the liquid, in the order in which states keep them."""

SOLVABLE: tuple[str, ...] = tuple(p.name for p in PROPERTIES.values() if p.flow is WhenMixed.MIXES)
"""The properties that a blend may be asked to meet."""


def property_named(name: str) -> Property:
    """Find a property by its name or a synonym; raises UnknownProperty."""
    try:
        return PROPERTIES[PROPERTY_SPELLINGS[folded(name)]]
    except KeyError:
        raise UnknownProperty(name) from None


def canonical_property(name: str) -> str:
    """Return the property's own name for a synonym of it; as it is where none is meant."""
    return PROPERTY_SPELLINGS.get(folded(name), name)


def with_named_unit(name: str, value: str) -> str:
    """Return a typed value with the unit that its property's synonym names: 22 of "brix" is "22 brix"."""
    unit = folded(name)
    return f"{value} {unit}" if unit in _GRAVITY_UNITS and not re.search(r"[^\d\s.,+−-]", value) else value
