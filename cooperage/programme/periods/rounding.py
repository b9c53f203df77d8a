"""Figures that add up as printed: in the unit of a return, rounded as that asks, over lines and adjoining spans.

A figure of a span is printed as the difference of the rounded running totals since the book began. Rounding then hangs
on the two moments alone: what one span is printed too high the next is printed too low, and any number of adjoining
spans add up to the figure that is printed of all of them. What rounding leaves between the lines and the rounded stocks
has a line of its own, which chains in the same way.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from types import MappingProxyType

from cooperage.errors import BadInput, choose_from
from cooperage.units import DEFAULT, Quantity, Units

StepsOf = Callable[[int], int]
"""Returns a volume [ml] as it is printed, in steps of the last digit."""


@dataclass(frozen=True, slots=True)
class Flow:
    """What went by between two moments [ml], and what is printed for it [steps of the last digit shown].

    Without litres it is what rounding left, which only paper needs. `printed` is its text where it is not printed in
    the person's unit.
    """

    ml: int
    steps: int
    printed: str | None = None

    @classmethod
    def between(cls, before_ml: int, after_ml: int, steps_of: StepsOf) -> "Flow":
        """Return the flow from one running total to another."""
        return cls(after_ml - before_ml, steps_of(after_ml) - steps_of(before_ml))

    @property
    def is_rounding(self) -> bool:
        """Return True if it is there only to let the printed lines add up."""
        return not self.ml and bool(self.steps)


def half_up(number: Fraction) -> int:
    """Return the nearest whole number; a half goes up."""
    return floor(number + Fraction(1, 2))


@dataclass(frozen=True, slots=True)
class ReturnUnit:
    """A unit in which returns are filed: `per_litre` of it make a litre, and `digits` decimals are printed.

    What is rounded goes to the nearest, a half upward.
    """

    name: str
    label: str
    per_litre: Fraction
    digits: int
    rule: str

    def steps(self, ml: int) -> int:
        """Return a volume [ml] in steps of the last digit."""
        return half_up(Fraction(ml, 1000) * self.per_litre * 10**self.digits)

    def text(self, steps: int) -> str:
        """Return so many steps as they are filed: "264.2", with a point whatever the person's decimal mark."""
        figures = str(abs(steps)).zfill(self.digits + 1)
        whole, decimals = figures[: len(figures) - self.digits], figures[len(figures) - self.digits :]
        return ("-" if steps < 0 else "") + (f"{whole}.{decimals}" if decimals else whole)

    def steps_of_text(self, text: str) -> int:
        """Return the steps of a figure as `text` writes it; raises ValueError."""
        return int(Fraction(text) * 10**self.digits)

    def show(self, steps: int, units: Units = DEFAULT, *, with_unit: bool = False) -> str:
        """Return so many steps with the person's decimal mark."""
        number = self.text(steps).replace(".", units.decimal)
        return f"{number} {self.label}" if with_unit else number


RETURN_UNITS: Mapping[str, ReturnUnit] = MappingProxyType(
    {
        unit.name: unit
        for unit in (
            ReturnUnit("L", "L", Fraction(1), 1, "litres to 0.1, half up (common practice, no source)"),
            ReturnUnit(
                "gal",
                "US gal",
                Fraction(26417, 100_000),
                1,
                "wine gallons to 0.1, 0.05 up (26 USC 5041(d); 27 CFR 24.270(b)), by the legal factor (27 CFR 24.300)",
            ),
        )
    }
)
"""The units of returns by name; the rules as texts of 2008 to 2024 have them."""


class NotAReturnUnit(BadInput):
    """A unit that no figures are filed in."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"figures are not filed in '{name}'{choose_from(name, RETURN_UNITS)}")


def return_unit(name: str | None, units: Units = DEFAULT) -> ReturnUnit:
    """Return the unit of a name in any case, or the one that goes with the person's; raises NotAReturnUnit."""
    if name is None:
        return RETURN_UNITS["gal" if units.usual(Quantity.VOLUME).name == "gal" else "L"]
    found = {each.casefold(): unit for each, unit in RETURN_UNITS.items()}.get(name.strip().casefold())
    if found is None:
        raise NotAReturnUnit(name)
    return found


def gallons(ml: int) -> Fraction:
    """Return a volume [ml] in wine gallons by the legal factor, unrounded."""
    return Fraction(ml, 1000) * RETURN_UNITS["gal"].per_litre


def proof_steps(wine_gallons: Fraction, abv: float) -> int:
    """Return tenths of a proof gallon in wine gallons of spirit of a strength [% vol].

    Wine gallons x strength x 2 / 100, to 0.1, under 0.05 dropped (27 CFR 30.64, as of 2019).
    """
    return half_up(wine_gallons * Fraction(str(abv)) * 2 / 100 * 10)
