"""What can be read on a vessel: each property declared once.

The form, the CSV column, the report and the help read these declarations; the reckoner reads how each
property behaves when liquids meet.
"""

from dataclasses import dataclass
from enum import Enum

from cooperage.errors import BadInput
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
    Generous, so that a change that can be is not asked about (common practice, no source).
    """

    rise: float
    fall: float
    fall_a_day: float = 0.0
    ferments: int = 0


@dataclass(frozen=True, slots=True)
class Property:
    """One thing an instrument reads: its unit, what is possible, what is usual, and how sure a reading is.

    `possible` and `usual` are (lowest, highest) in the canonical unit of `quantity`; `uncertainty` is one
    standard deviation of an ordinary reading in that unit (common practice, no source).
    """

    name: str
    label: str
    quantity: Quantity
    possible: tuple[float, float]
    usual: tuple[float, float]
    uncertainty: float
    flow: WhenMixed = WhenMixed.MIXES
    far: Tolerance | None = None


class UnknownProperty(BadInput):
    """A name that is no property of the book."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"'{name}' is not something that can be read; choose from {', '.join(PROPERTIES)}")


_FAR_SG = Tolerance(0.008, 0.008, ferments=-1)

# Entry ranges after common practice in cellars (no source); they catch a slipped decimal, not a fault.
PROPERTIES: dict[str, Property] = {
    declared.name: declared
    for declared in (
        Property("abv", "strength", Quantity.STRENGTH, (0, 96), (3, 25), 0.15, far=Tolerance(1.5, 1.5, ferments=1)),
        Property(
            "sugar_g_l", "sugar", Quantity.SUGAR, (0, 1200), (0, 250), 2.0, far=Tolerance(25.0, 25.0, ferments=-1)
        ),
        Property("ta_g_l", "titratable acidity", Quantity.ACID, (0, 30), (2, 12), 0.2, far=Tolerance(1.5, 1.5)),
        Property("va_g_l", "volatile acidity", Quantity.ACID, (0, 5), (0, 1.2), 0.04, far=Tolerance(0.35, 0.25)),
        Property(
            "free_so2_mg_l",
            "free SO2",
            Quantity.SULPHITE,
            (0, 500),
            (0, 80),
            3.0,
            far=Tolerance(20.0, 15.0, fall_a_day=0.5),
        ),
        Property(
            "total_so2_mg_l",
            "total SO2",
            Quantity.SULPHITE,
            (0, 1000),
            (0, 200),
            8.0,
            far=Tolerance(40.0, 40.0, fall_a_day=0.5),
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
        ),
        Property("temperature_c", "temperature", Quantity.TEMPERATURE, (-10, 60), (2, 28), 0.5, WhenMixed.READ_ONLY),
        Property("headspace_mm", "headspace", Quantity.LENGTH, (0, 3000), (0, 400), 2.0, WhenMixed.READ_ONLY),
    )
}

MIXING: tuple[str, ...] = tuple(p.name for p in PROPERTIES.values() if p.flow is not WhenMixed.READ_ONLY)
"""The properties that travel with the liquid, in the order the reckoner keeps them."""

SOLVABLE: tuple[str, ...] = tuple(p.name for p in PROPERTIES.values() if p.flow is WhenMixed.MIXES)
"""The properties that a blend may be asked to meet."""


def property_named(name: str) -> Property:
    """Find a declared property, or raise UnknownProperty."""
    try:
        return PROPERTIES[name]
    except KeyError:
        raise UnknownProperty(name) from None
