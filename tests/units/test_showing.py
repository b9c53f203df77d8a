"""Quantities become text in the unit that was chosen, and read back as what they were."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.units import (
    CHOICES,
    DEFAULT,
    Quantity,
    Units,
    UnknownChoice,
    read,
    read_volume,
    show,
    show_at_length,
    show_band,
    show_exact,
)
from tests.units.choices import UNITS, US

VOLUMES_ML = st.integers(min_value=0, max_value=10**9)

SENSIBLE = {
    Quantity.GRAVITY: (0.96, 1.44),
    Quantity.STRENGTH: (0.0, 99.9),
    Quantity.TEMPERATURE: (-20.0, 100.0),
}


@pytest.mark.parametrize(
    ("quantity", "value", "units", "text"),
    [
        (Quantity.VOLUME, 1800, DEFAULT, "1.8 L"),
        (Quantity.VOLUME, 1850, DEFAULT, "1.8 L"),  # half to even
        (Quantity.VOLUME, -120, DEFAULT, "-0.1 L"),
        (Quantity.VOLUME, 0, DEFAULT, "0.0 L"),
        (Quantity.VOLUME, 50, DEFAULT, "0.05 L"),  # what is there is not shown as nothing
        (Quantity.VOLUME, -4, DEFAULT, "-0.004 L"),
        (Quantity.VOLUME, 3, US, "0.001 gal"),
        (Quantity.MASS, -0.02, DEFAULT, "0.0 g"),  # never minus zero
        (Quantity.VOLUME, 1_234_500, Units(decimal=","), "1234,5 L"),
        (Quantity.VOLUME, 223_339, US, "59.00 gal"),  # 59 × 3785.411784 = 223339.3
        (Quantity.VOLUME, 4546, Units(volume="imp gal"), "1.00 imp gal"),
        (Quantity.GRAVITY, 1.0224, DEFAULT, "1.022"),
        (Quantity.STRENGTH, 13.52, DEFAULT, "13.5 % vol"),
        (Quantity.SUGAR, 60, DEFAULT, "60.0 g/L"),
        (Quantity.ACID, 6.2, DEFAULT, "6.20 g/L"),
        (Quantity.SULPHITE, 28.04, DEFAULT, "28.0 mg/L"),
        (Quantity.MASS, 12.5, DEFAULT, "12.5 g"),
        (Quantity.TEMPERATURE, 20, US, "68.0 °F"),
        (Quantity.TEMPERATURE, 20, DEFAULT, "20.0 °C"),
        (Quantity.LENGTH, 45.4, DEFAULT, "45 mm"),
        (Quantity.MONEY, 12.5, DEFAULT, "12.50"),
        (Quantity.NUMBER, 3.456, DEFAULT, "3.46"),
        (Quantity.COUNT, 12, DEFAULT, "12"),
        (Quantity.PERCENT, 12.5, DEFAULT, "12.5 %"),
    ],
)
def test_quantities_are_shown_in_the_persons_unit(quantity: Any, value: float, units: Any, text: str) -> None:
    """With the digits declared for the unit, and without the unit when a column heading holds it."""
    assert show(quantity, value, units) == text
    assert text.startswith(show(quantity, value, units, with_unit=False))


def test_a_reading_may_declare_its_own_digits() -> None:
    """Molecular sulphite needs two decimals, free sulphite none."""
    assert show(Quantity.SULPHITE, 0.824, digits=2) == "0.82 mg/L"
    assert show(Quantity.SULPHITE, 28.2, digits=0) == "28 mg/L"


@pytest.mark.parametrize("quantity", Quantity)
@pytest.mark.parametrize("unknown", [None, math.nan])
def test_unknown_is_shown_as_unknown(quantity: Any, unknown: Any) -> None:
    """Never as zero, and never with a unit."""
    assert show(quantity, unknown) == "?"
    assert show_exact(None) == "?"


@pytest.mark.parametrize("shower", [lambda ml: show(Quantity.VOLUME, ml), show_exact])
def test_a_float_is_no_volume(shower: Any) -> None:
    """Floats stop at the door, even a round one."""
    with pytest.raises(TypeError, match="whole millilitres"):
        shower(1800.0)


def test_a_gravity_off_the_brix_scale_is_shown_as_specific_gravity() -> None:
    """Neutral spirit has no Brix; it is shown with its scale and reads back."""
    text = show(Quantity.GRAVITY, 0.805, US)
    assert text == "0.805 SG"
    assert read(Quantity.GRAVITY, text, US) == 0.805


def test_numbers_from_arrays_are_shown_too() -> None:
    """A whole number out of an array is a volume, and its other numbers are quantities."""
    assert show(Quantity.VOLUME, np.int64(1800)) == "1.8 L"  # type: ignore[arg-type] # no int, as an array gives it
    assert show(Quantity.STRENGTH, np.float32(13.5)) == "13.5 % vol"  # type: ignore[arg-type] # no float, likewise


@given(volume=VOLUMES_ML, units=UNITS, with_unit=st.booleans())
def test_a_volume_shown_exactly_reads_back_the_same(volume: Any, units: Any, with_unit: bool) -> None:
    """To the millilitre, in every unit and with either mark."""
    assert read_volume(show_exact(volume, units, with_unit=with_unit), units) == volume


@given(volume=VOLUMES_ML, units=UNITS)
def test_an_exact_volume_never_has_fewer_digits(volume: Any, units: Any) -> None:
    """A round volume looks the same either way; `show_exact` only adds."""
    ordinary, exact = show(Quantity.VOLUME, volume, units), show_exact(volume, units)
    assert len(exact) >= len(ordinary)
    assert exact == ordinary or read_volume(ordinary, units) != volume


@pytest.mark.parametrize("quantity", [q for q in Quantity if q is not Quantity.COUNT])
@given(share=st.floats(0, 1), units=UNITS, with_unit=st.booleans())
def test_what_is_shown_reads_back_within_half_a_last_digit(
    quantity: Any, share: float, units: Any, with_unit: bool
) -> None:
    """For all quantities and units: showing loses no more than the rounding."""
    low, high = SENSIBLE.get(quantity, (0.0, 1e6))
    value = low + share * (high - low)
    canonical = round(value) if quantity is Quantity.VOLUME else value
    text = show(quantity, canonical, units, with_unit=with_unit)
    # Show both with many digits, so that they are compared in the unit they were rounded in.
    fine = [
        float(show(quantity, v, units, with_unit=False, digits=9).replace(",", "."))
        for v in (canonical, read(quantity, text, units))
    ]
    decimals = len(show(quantity, canonical, units, with_unit=False).replace(",", ".").partition(".")[2])
    one_ml = {"L": 0.001, "gal": 0.0003, "imp gal": 0.0003}[units.volume] if quantity is Quantity.VOLUME else 0
    assert abs(fine[0] - fine[1]) <= 0.5 * 10**-decimals + one_ml / 2 + 1e-6


def test_every_choice_can_be_chosen() -> None:
    """Each unit offered in the settings is accepted, shown, and read back."""
    for key, choices in CHOICES.items():
        for choice in choices:
            assert getattr(Units(**{key: choice}), key) == choice


@pytest.mark.parametrize("key", list(CHOICES))
def test_an_unknown_choice_is_refused(key: Any) -> None:
    """The line names the setting and lists what there is."""
    with pytest.raises(UnknownChoice, match=f"{key} cannot be 'pins'; choose from ") as refused:
        Units(**{key: "pins"})
    assert refused.value.choices == CHOICES[key]


def test_a_little_is_shown_as_a_little() -> None:
    """50 ml are 0.05 L; what is large keeps its usual digits, and so does a gravity or a temperature near its zero."""
    assert [show_at_length(Quantity.VOLUME, ml) for ml in (50, 1830, 0)] == ["0.05 L", "1.8 L", "0.0 L"]
    assert show_at_length(Quantity.ACID, 0.004) == "0.004 g/L"
    assert show_at_length(Quantity.TEMPERATURE, 0.04) == "0.0 °C"
    assert show_at_length(Quantity.VOLUME, None) == "?"


@pytest.mark.parametrize(
    ("quantity", "band", "shown"),
    [
        (Quantity.ACID, (0.99, 0.95, 1.03), "±0.04"),
        (Quantity.SULPHITE, (43.0, 10.7, 108.4), "11–108"),
        (Quantity.SULPHITE, (2.0, 0.0, 6.0), "0–6.0"),
        (Quantity.GRAVITY, (1.02, 1.0185, 1.0215), "±0.002"),
        (Quantity.TEMPERATURE, (12.0, 11.0, 13.0), "±1.0"),
        (Quantity.SULPHITE, (20.0, 20.0, 20.0), "±0.0"),
    ],
)
def test_a_band_is_even_or_from_one_end_to_the_other(
    quantity: Quantity, band: tuple[float, float, float], shown: str
) -> None:
    """Even about the value it is one figure; lopsided, both ends, in whole numbers where they go beyond ten."""
    assert show_band(quantity, *band) == shown


def test_a_band_is_a_difference_in_the_persons_unit() -> None:
    """One degree Celsius on either side is 1.8 °F; a band that its unit's digits would hide has more."""
    assert show_band(Quantity.TEMPERATURE, 12.0, 11.0, 13.0, Units(temperature="f")) == "±1.8"
    assert show_band(Quantity.NUMBER, 3.4, 3.398, 3.402) == "±0.002"
