"""Where a figure changes its words: exactly at each limit, and a step to either side of it."""

import pytest

from cooperage.units import (
    DEFAULT,
    NotAQuantity,
    Quantity,
    Units,
    read,
    show,
    show_at_length,
    show_short,
    show_spread,
    show_steps,
    show_worth,
    steps_shown,
    volume_unit,
)
from tests.units.choices import US

COMMA = Units(decimal=",")


@pytest.mark.parametrize(
    ("millilitres", "units", "text"),
    [
        (0, DEFAULT, "0.0 L"),
        (4, DEFAULT, "0.004 L"),
        (40, DEFAULT, "0.04 L"),
        (50, DEFAULT, "0.05 L"),  # half to even: one decimal would show none
        (51, DEFAULT, "0.1 L"),
        (400, DEFAULT, "0.4 L"),
        (1, US, "0.0003 gal"),
        (18, US, "0.005 gal"),  # 0.0048 gal: two decimals would show none
        (19, US, "0.01 gal"),  # 0.0050193 gal
        (400, US, "0.11 gal"),
        (1514, US, "0.40 gal"),
        (1893, US, "0.50 gal"),
    ],
)
def test_a_volume_has_more_digits_than_usual_only_where_it_would_look_like_none(
    millilitres: int, units: Units, text: str
) -> None:
    """A litre has one decimal and a gallon two (3785.411784 ml); only what they would lose is shown by its first."""
    assert show(Quantity.VOLUME, millilitres, units) == text


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        (Quantity.SUGAR, 77.0, "77 g/L"),
        (Quantity.SUGAR, 77.1, "77.1 g/L"),
        (Quantity.SUGAR, 77.123, "77.123 g/L"),  # two more than the declared one
        (Quantity.SUGAR, 77.1234, "77.1 g/L"),  # three more: rounded to the declared one
        (Quantity.SUGAR, 0.0123, "0.01 g/L"),  # which would be nothing here: to its first figure
        (Quantity.SUGAR, 0.0, "0 g/L"),
        (Quantity.ACID, 6.1234, "6.1234 g/L"),
        (Quantity.ACID, 6.12345, "6.12 g/L"),
        (Quantity.GRAVITY, 1.0234, "1.0234"),  # never more than four, though three are declared
        (Quantity.GRAVITY, 1.02345, "1.023"),
        (Quantity.VOLUME, 750, "0.75 L"),
        (Quantity.VOLUME, 1_234_567, "1234.567 L"),
        (Quantity.VOLUME, None, "?"),
    ],
)
def test_a_limit_is_shown_with_the_digits_it_needs_and_no_more(
    quantity: Quantity, value: float | None, text: str
) -> None:
    """Up to two decimals more than are declared, four at most; what these do not show exactly is rounded."""
    assert show_short(quantity, value) == text


@pytest.mark.parametrize(
    ("value", "figures", "digits", "text"),
    [
        (1234.5, 2, 0, "1234"),  # whole numbers are never cut
        (123.4, 2, 0, "123"),
        (12.345, 2, 0, "12"),
        (1.2345, 2, 0, "1.2"),
        (0.12345, 2, 0, "0.12"),
        (0.012345, 2, 0, "0.012"),
        (0.0012345, 2, 0, "0.0012"),
        (0.00012345, 2, 0, "0.0001"),  # four decimals at most
        (0.00005, 2, 0, "0.0001"),
        (0.00004, 2, 0, "less than 0.0001"),
        (-0.00004, 2, 0, "less than 0.0001"),
        (0.0, 2, 0, "0"),
        (9.99, 2, 0, "10"),
        (12.346, 4, 0, "12.35"),
        (12.346, 2, 2, "12.35"),  # at least the digits of the step
        (12.5, 3, 2, "12.5"),
        (-12.345, 3, 0, "-12.3"),
    ],
)
def test_a_worth_has_its_figures_and_no_closing_zeros(value: float, figures: int, digits: int, text: str) -> None:
    """Two figures of 12.345 are 12; four decimals at most, and the person's own mark."""
    assert show_worth(value, figures, digits=digits) == text
    assert show_worth(value, figures, COMMA, digits=digits) == text.replace(".", ",")


def test_a_worth_needs_no_decimals_unless_they_are_asked_for() -> None:
    """By itself it has its figures only: three of 123.4 are 123."""
    assert show_worth(123.4, 3) == "123"


@pytest.mark.parametrize(
    ("units", "name", "litres"),
    [(DEFAULT, "litre", 1.0), (US, "gal", 3.785411784), (Units(volume="imp gal"), "imp gal", 4.54609)],
)
def test_a_price_is_by_the_unit_of_the_volumes(units: Units, name: str, litres: float) -> None:
    """The litre by its whole name, a gallon by what is written after a volume (NIST Handbook 44, appendix C)."""
    assert volume_unit(units) == (name, litres)


@pytest.mark.parametrize(
    ("quantity", "value", "text"),
    [
        (Quantity.VOLUME, 51, "0.05 L"),  # 1 ml of 51 is less than a fiftieth
        (Quantity.VOLUME, 50, "0.05 L"),
        (Quantity.VOLUME, 49, "0.049 L"),  # 1 ml of 49 is more
        (Quantity.VOLUME, 1, "0.001 L"),
        (Quantity.LENGTH, 45, "45 mm"),
        (Quantity.LENGTH, 25.5, "26 mm"),  # half of 25.5 is less than a fiftieth of it, half of 24.5 is more
        (Quantity.LENGTH, 24.5, "24.5 mm"),
        (Quantity.ACID, 0.00004, "0.00004 g/L"),
        (Quantity.ACID, 0.000004, "0.00000 g/L"),  # three decimals more than usual, and no more
    ],
)
def test_no_more_than_a_fiftieth_of_a_value_is_lost_at_length(quantity: Quantity, value: float, text: str) -> None:
    """The declared digits, and up to three more where a fiftieth of the value would be lost."""
    assert show_at_length(quantity, value) == text


@pytest.mark.parametrize(
    ("quantity", "spread", "at", "units", "text"),
    [
        (Quantity.GRAVITY, 0.03, 1.0, US, "7.6 Bx"),  # SG 1.03017 is 7.6 Brix (NBS Circular C440)
        (Quantity.GRAVITY, 0.03, 1.0, DEFAULT, "0.030"),
        (Quantity.TEMPERATURE, 0.5, 18.0, US, "0.9 °F"),
        (Quantity.TEMPERATURE, 0.5, 0.0, DEFAULT, "0.5 °C"),
        (Quantity.ACID, 0.2, 6.0, US, "0.20 g/L"),
    ],
)
def test_a_give_or_take_is_shown_as_a_difference_upwards(
    quantity: Quantity, spread: float, at: float, units: Units, text: str
) -> None:
    """From the value to what lies above it, for a scale that is not even: below water there is no Brix."""
    assert show_spread(quantity, spread, at, units) == text


@pytest.mark.parametrize(
    ("millilitres", "units", "steps", "text"),
    [
        (1840, DEFAULT, 18, "1.8 L"),
        (1850, DEFAULT, 18, "1.8 L"),  # half to even
        (1851, DEFAULT, 19, "1.9 L"),
        (-1840, DEFAULT, -18, "-1.8 L"),
        (0, DEFAULT, 0, "0.0 L"),
        (3785, US, 100, "1.00 gal"),
        (1000, US, 26, "0.26 gal"),
        (4546, Units(volume="imp gal"), 100, "1.00 imp gal"),
    ],
)
def test_a_volume_in_steps_of_the_last_digit_shown(millilitres: int, units: Units, steps: int, text: str) -> None:
    """1.84 L are 18 steps of 0.1 L; a US gallon has 3.785411784 L and an imperial one 4.54609 L, in hundredths."""
    assert steps_shown(millilitres, units) == steps
    assert show_steps(steps, units) == text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(("0.7", 0.7), ("1.6", 1.6), ("700", 0.7), ("1600", 1.6)),
        *((text, None) for text in ("0.699", "1.601", "699", "1601", "101", "100 sg")),
    ],
)
def test_a_gravity_lies_between_its_limits_in_units_and_in_thousandths(text: str, value: float | None) -> None:
    """0.7 and 1.6 are taken as they are and as 700 and 1600, a step beyond either is refused."""
    if value is None:
        with pytest.raises(NotAQuantity):
            read(Quantity.GRAVITY, text)
    else:
        assert read(Quantity.GRAVITY, text) == value
