"""What each figure of a blend is called, what it measures, and how it is written: declared once for every door.

Properties of the book are declared there; here stand those that only a blend has. Prices of a litre are given by the
person's own unit of volume.
"""

from dataclasses import dataclass

from cooperage.book.declared.properties import PROPERTIES
from cooperage.units import DEFAULT, Quantity, Units, show, show_short, volume_unit


@dataclass(frozen=True, slots=True)
class FigureSpec:
    """How a figure is written: its label on a field, its name in a line, its quantity and what follows the number."""

    label: str
    quantity: Quantity
    name: str = ""
    unit: str = ""
    digits: int | None = None
    by_volume: bool = False

    @property
    def called(self) -> str:
        """Its name in a line or a sentence."""
        return self.name or self.label


_OTHERS = {
    "litres": FigureSpec("litres", Quantity.VOLUME),
    "score": FigureSpec("score", Quantity.NUMBER, digits=1),
    "cost_per_l": FigureSpec("cost", Quantity.MONEY, by_volume=True),
    "price_per_l": FigureSpec("price", Quantity.MONEY, by_volume=True),
    "days_in_wood": FigureSpec("in wood", Quantity.NUMBER, "time in wood", "days", digits=0),
    "max_stocks": FigureSpec("stocks drawn on", Quantity.COUNT),
    "max_partly_full": FigureSpec("left partly full", Quantity.COUNT),
}
_SUFFIXES = {"_mg_l": "mg/L", "_g_l": "g/L"}


def figure_of(name: str) -> FigureSpec:
    """Return how a figure is written; a column that only a pool knows is called by its own name."""
    declared = PROPERTIES.get(name)
    if declared is not None:
        return FigureSpec(declared.label, declared.quantity, declared.short)
    if name in _OTHERS:
        return _OTHERS[name]
    suffix = next((suffix for suffix in _SUFFIXES if name.endswith(suffix)), "")
    return FigureSpec(name.removesuffix(suffix).replace("_", " "), Quantity.NUMBER, unit=_SUFFIXES.get(suffix, ""))


def figure_name(name: str) -> str:
    """Return how a figure of a blend is called in a line or a sentence."""
    return figure_of(name).called


def unit_words(name: str, units: Units = DEFAULT) -> str:
    """Return the unit in which a figure of a blend is shown."""
    figure = figure_of(name)
    if figure.by_volume:
        return f"{units.currency} a {volume_unit(units)[0]}".strip()
    return figure.unit or units.usual(figure.quantity).written("").strip()


def unit_of_limit(name: str) -> str:
    """Return the unit in which answers give the value of a limit, by the name they call it; "" for a plain number."""
    if name.startswith("share "):
        return "fraction"
    if name.startswith("must ") or name == "min_litres":
        return "L"
    return "per L" if figure_of(name).by_volume else unit_words(name)


def canonical_figure(name: str, value: float, units: Units = DEFAULT) -> float:
    """Return a figure as `show` takes it: litres in millilitres, what a litre costs by the person's unit."""
    figure = figure_of(name)
    if figure.quantity is Quantity.VOLUME:
        return round(1000 * value)
    return value * volume_unit(units)[1] if figure.by_volume else value


def show_figure(
    name: str, value: float | None, units: Units = DEFAULT, *, with_unit: bool = True, short: bool = False
) -> str:
    """Return a figure of a blend in the person's units; `value` is litres for volumes, "?" where it is unknown.

    `short` leaves out digits that mean nothing, and keeps those that a limit was given with.
    """
    figure = figure_of(name)
    if value is None:
        return "?"
    amount = canonical_figure(name, value, units)
    shower = show_short if short else show
    number = shower(figure.quantity, amount, units, with_unit=False, digits=figure.digits)
    return f"{number} {unit_words(name, units)}".rstrip() if with_unit else number


def format_chance(chance: float) -> str:
    """Format a chance as per cent, never 0 or 100."""
    known = f"{100 * chance:.1f}"
    return {"100.0": "over 99.9 %", "0.0": "under 0.1 %"}.get(known, f"{known} %")
