"""Sentences with quantities in them: text as it is kept and written to files, and put into the person's units."""

from dataclasses import dataclass
from typing import Protocol

from cooperage.blending.brief.figures import show_figure
from cooperage.units import DEFAULT, Quantity, Units, show_short, show_worth, volume_unit


class Part(Protocol):
    """A quantity in a sentence."""

    def show(self, units: Units) -> str:
        """Format it in these units."""
        ...


class QuantityText(str):
    """A sentence in canonical units that remembers its quantities; `in_units` writes it in other units.

    It is pickled and kept as any text is, so an answer may come from another process or go into a file.
    """

    parts: tuple["str | Part", ...]

    def __new__(cls, *parts: "str | Part") -> "QuantityText":
        """Put a sentence together from texts, quantities and sentences."""
        flat: list[str | Part] = []
        for part in parts:
            flat.extend(part.parts if isinstance(part, QuantityText) else (part,))
        made = super().__new__(cls, _joined(flat, DEFAULT))
        made.parts = tuple(flat)
        return made

    def __getnewargs__(self) -> tuple["str | Part", ...]:  # type: ignore[override]  # str's own is its text
        """Return what it is made from again."""
        return self.parts

    def in_units(self, units: Units) -> str:
        """Format the sentence in these units."""
        return _joined(self.parts, units)


def _joined(parts: "list[str | Part] | tuple[str | Part, ...]", units: Units) -> str:
    return "".join(part if isinstance(part, str) else part.show(units) for part in parts)


def in_units(words: str, units: Units) -> str:
    """Format a sentence in the person's units; without quantities it is unchanged."""
    return words.in_units(units) if isinstance(words, QuantityText) else words


@dataclass(frozen=True, slots=True)
class FigureText:
    """A figure of a blend with its unit: what a limit asks, what a blend comes to."""

    name: str
    value: float
    with_unit: bool = True

    def show(self, units: Units) -> str:
        """Format it with no more digits than it needs."""
        return show_figure(self.name, self.value, units, with_unit=self.with_unit, short=True)


@dataclass(frozen=True, slots=True)
class AmountText:
    """A plain quantity."""

    quantity: Quantity
    value: float

    def show(self, units: Units) -> str:
        """Format it with no more digits than it needs."""
        return show_short(self.quantity, self.value, units)


@dataclass(frozen=True, slots=True)
class DeviationText:
    """One standard deviation of a figure, in the unit of the figure before it."""

    value: float

    def show(self, units: Units) -> str:
        """Format two figures of it."""
        return show_worth(self.value, 2, units)


@dataclass(frozen=True, slots=True)
class VolumeStepText:
    """So many of the person's own unit of volume, where one litre is meant."""

    count: float

    def show(self, units: Units) -> str:
        """Format it: "1 litre", "1 gal"."""
        return f"{show_worth(self.count, 3, units)} {volume_unit(units)[0]}"


@dataclass(frozen=True, slots=True)
class WorthText:
    """What one step is worth: money, or `name`, a figure of the blend.

    `by_step`: the step is one of volume, and so another in other units. `by_litre`: it is for each litre of blend.
    """

    value: float
    name: str = ""
    by_step: bool = False
    by_litre: bool = False
    figures: int = 3

    def show(self, units: Units) -> str:
        """Format it for the person's own step and unit of volume."""
        word, litres = volume_unit(units)
        value = self.value * (litres if self.by_step else 1.0) * (litres if self.by_litre else 1.0)
        if self.name:
            return show_figure(self.name, value, units, short=True)
        number = show_worth(value, self.figures, units, digits=2 if self.by_step and not self.by_litre else 0)
        return f"{number} per {word}" if self.by_litre else number
