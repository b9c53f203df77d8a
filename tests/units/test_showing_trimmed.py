"""Figures on a line that tells what was done: as exact as any screen, without zeros that say nothing."""

import pytest

from cooperage.units import Quantity, Units, show_trimmed


@pytest.mark.parametrize(
    ("quantity", "value", "units", "shown"),
    [
        (Quantity.SULPHITE, 24.0, Units(), "24 mg/L"),
        (Quantity.SULPHITE, 24.5, Units(), "24.5 mg/L"),
        (Quantity.VOLUME, 500, Units(), "0.5 L"),
        (Quantity.VOLUME, 50, Units(), "0.05 L"),
        (Quantity.VOLUME, 50, Units(volume="gal"), "0.013 gal"),
        (Quantity.VOLUME, 100_000, Units(), "100 L"),
        (Quantity.VOLUME, None, Units(), "?"),
    ],
)
def test_closing_zeros_are_left_out(quantity: Quantity, value: float | None, units: Units, shown: str) -> None:
    """Worked by hand: 50 ml are 0.0132 US gallons, told to a fiftieth."""
    assert show_trimmed(quantity, value, units) == shown
