"""A room's air, as means over some time."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Climate:
    """A room's air: temperature [°C] and relative humidity [%], as means over the time looked ahead."""

    celsius: float = 14.0
    humidity: float = 75.0


USUAL_CLIMATE = Climate()
"""The middle of what cellars keep, 10 to 16 °C and 65 to 85 % (common practice, no source)."""
