"""Honeys and batch sheets from what is typed, in the person's units."""

import re
from collections.abc import Iterable

from cooperage.errors import BadInput
from cooperage.programme.batches.sheet import HoneyUsed, Juice
from cooperage.units import DEFAULT, Quantity, Units, read, read_volume

_JUICE = re.compile(r"(?P<volume>.+?)\s+at\s+(?P<sugar>.+)")


def _parted(text: str, example: str) -> tuple[str, str]:
    name, equals, amount = (part.strip() for part in text.partition("="))
    if not equals or not name or not amount:
        raise BadInput(f"'{text}' is not understood; write it as '{example}'")
    return name, amount


_BARE = re.compile(r"[\d.,\s]+")


def honey_grams(text: str, units: Units = DEFAULT) -> int:
    """Return a mass of honey [g]; raises BadInput, for a bare number too: grams, kilograms and pounds are all usual."""
    if _BARE.fullmatch(text):
        raise BadInput(f"'{text}' of honey has no unit; write it as {text.strip()}kg or {text.strip()}lb")
    return round(read(Quantity.MASS, text, units))


def parse_honeys(texts: Iterable[str], units: Units = DEFAULT) -> tuple[HoneyUsed, ...]:
    """Return the honeys of texts such as `HB-1=150kg`; raises BadInput."""
    found = []
    for text in texts:
        code, amount = _parted(text, "HB-1=150 kg")
        found.append(HoneyUsed(code, honey_grams(amount, units)))
    return tuple(found)


def parse_juices(texts: Iterable[str], units: Units = DEFAULT) -> tuple[Juice, ...]:
    """Return the juices of texts such as `sour cherry=120 L at 14 Bx`; raises BadInput."""
    found = []
    for text in texts:
        name, amount = _parted(text, "sour cherry=120 L at 14 Bx")
        parts = _JUICE.fullmatch(amount)
        if parts is None:
            raise BadInput(f"'{text}' has no gravity; write it as '{name}={amount} at 14 Bx'")
        sg = float(read(Quantity.GRAVITY, parts["sugar"], units))
        found.append(Juice(name, read_volume(parts["volume"], units), sg))
    return tuple(found)


def moisture_of(
    moisture: str, refractive_index: str, celsius: str, units: Units = DEFAULT
) -> tuple[float | None, str | None]:
    """Return the moisture of a honey [g per 100 g] and how it was found, from what was typed; raises BadInput.

    A refractive index at a temperature (20 °C where none is given) is turned into moisture by Wedmore's formula.
    """
    if moisture and refractive_index:
        raise BadInput("the moisture and the refractive index were both given; give one of them")
    if moisture:
        return float(read(Quantity.PERCENT, moisture, units)), "as given"
    if not refractive_index:
        return None, None
    from cooperage.liquid import honey_moisture  # brings NumPy, so only when it is needed

    index = float(read(Quantity.NUMBER, refractive_index, units))
    degrees = float(read(Quantity.TEMPERATURE, celsius, units)) if celsius else 20.0
    return round(float(honey_moisture(index, degrees)), 2), f"refractive index {index:.4f} at {degrees:g} °C"
