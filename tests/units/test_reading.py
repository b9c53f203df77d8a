"""Text becomes quantities: every unit, number and difference that is understood, and what is refused."""

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given

from cooperage.errors import BadInput
from cooperage.units import DEFAULT, NotAQuantity, Quantity, Units, read, read_spread, read_volume, show_spread
from tests.units.choices import UNITS, US

REFERENCE = json.loads((Path(__file__).parents[1] / "reference" / "units_and_scales.json").read_text(encoding="utf-8"))

EXACT = REFERENCE["exact"]


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("1000 gal", 1000 * EXACT["us_gallon_L"]),
        ("1000 imp gal", 1000 * EXACT["imperial_gallon_L"]),
        ("1000 qt", 1000 * EXACT["us_quart_L"]),
        ("1000 fl oz", EXACT["us_fl_oz_mL"]),
        ("1000 imp fl oz", EXACT["imperial_fl_oz_mL"]),
    ],
)
def test_volumes_follow_the_published_definitions(text: str, litres: Any) -> None:
    """A thousand of each, to the millilitre: tests/reference/units_and_scales.json, "exact"."""
    assert read_volume(text) == round(1000 * Fraction(str(round(litres, 9))))


def test_fluid_ounces_divide_their_own_gallon() -> None:
    """128 US and 160 imperial fluid ounces: tests/reference/units_and_scales.json, "exact"."""
    assert read_volume(f"{EXACT['us_fl_oz_per_us_gallon'] * 1000} fl oz") == read_volume("1000 gal")
    assert read_volume(f"{EXACT['imperial_fl_oz_per_imperial_gallon'] * 1000} uk fl oz") == read_volume("1000 uk gal")


def test_a_us_gallon_is_231_cubic_inches() -> None:
    """Volume and length agree: tests/reference/units_and_scales.json, "us_gallon_in3"."""
    inch_cm = Fraction(str(EXACT["inch_cm"]))
    assert read_volume("1000000 gal") == round(1_000_000 * EXACT["us_gallon_in3"] * inch_cm**3)


@pytest.mark.parametrize(
    ("quantity", "text", "expected"),
    [
        (Quantity.MASS, "1 lb", 1000 * EXACT["lb_kg"]),
        (Quantity.MASS, "1 oz", EXACT["oz_avoirdupois_g"]),
        (Quantity.LENGTH, "1 in", 10 * EXACT["inch_cm"]),
        (Quantity.TEMPERATURE, "60 F", REFERENCE["temperature"]["60F_degC"]),
        (Quantity.TEMPERATURE, "68 F", REFERENCE["temperature"]["68F_degC"]),
    ],
)
def test_other_units_follow_the_published_definitions(quantity: Any, text: str, expected: Any) -> None:
    """Rows of tests/reference/units_and_scales.json; 60 °F is printed to ten decimals."""
    assert read(quantity, text) == pytest.approx(expected, rel=1e-12, abs=5e-11)


# Two of each in ml, by tests/reference/units_and_scales.json: 3785.411784 and 4546.09 ml for gallons,
# a quarter and an eighth of them for quarts and pints, 29.57 and 28.41 ml for fluid ounces.
TWO_OF_EACH = {
    2000: "l, L, litre, litres, liter, liters, Litres",
    2: "ml, mL, ML, mls, millilitres, milliliters",
    20: "cl, cL, centilitres, centiliters",
    200_000: "hl, hL, hectolitres, hectoliters",
    7571: "gal, gals, gal., gallon, gallons, us gal, U.S. gal., US gallons",
    9092: "imp gal, imp. gal., uk gal, UK gallons, imperial gallons",
    1893: "qt, qts, quart, quarts, us qt",
    2273: "imp qt, uk quarts, imperial quarts",
    946: "pt, pts, pint, pints, us pt",
    1137: "imp pt, uk pints, imperial pints",
    59: "fl oz, fl. oz., us fl oz, floz, fluid ounces",
    57: "imp fl oz, uk fl oz, imperial fluid ounces",
    1500: "bottle, bottles",
    18_000: "case, cases",
}


@pytest.mark.parametrize(
    ("unit", "millilitres"), [(unit, ml) for ml, units in TWO_OF_EACH.items() for unit in units.split(", ")]
)
def test_every_unit_of_volume_is_understood(unit: Any, millilitres: Any) -> None:
    """In either case, with or without stops, spaces and a plural; a bottle holds 750 ml, a case twelve."""
    assert read_volume(f"2 {unit}") == millilitres
    assert read_volume(f"2{unit.replace(' ', '').upper()}") == millilitres


@pytest.mark.parametrize("text", ["3 x 500 ml", "3x500ml", "3 X 0.5", "3 × 0,5 L", "3 * 50 cl"])
def test_volumes_may_be_multiplied_out(text: str) -> None:
    """So many samples of so much."""
    assert read_volume(text) == 1500


SPELLED = {
    (Quantity.GRAVITY, 1.022): "1.022; 1,022; 1022; 1.022 SG; 1022 sg",
    (Quantity.GRAVITY, 0.998): "0.998; .998; 998; 998 sg",
    (
        Quantity.STRENGTH,
        13.5,
    ): "13.5; 13.5%; 13.5 % vol; 13.5 vol%; 13.5 % ABV; 13.5 abv; 27 proof; 27° US proof",
    (Quantity.SUGAR, 60): "60; 60 g/L; 60 g/L; 6 g/100ml; 6 g/100 mL; 60000 mg/L; 60000 ppm; 6000 g/hL",
    (Quantity.ACID, 6.2): "6.2; 6,2 g/L; 0.62 g/100ml; 6200 mg/L; 620 g/hL",
    (Quantity.SULPHITE, 28): "28; 28 mg/L; 28 mg/L; 28 ppm; 2.8 g/hL; 0.028 g/L; 0.0028 g/100ml",
    (Quantity.GAS, 0.9): "0.9; 0.9 g/L; 900 mg/L; 900 ppm; 90 g/hL",
    (Quantity.TURBIDITY, 0.8): "0.8; 0.8 NTU; 0,8 ntu; 0.8 FNU",
    (Quantity.MASS, 500): "500; 500 g; 500 grams; 0.5 kg; 500000 mg; 2 x 250 g",
    (Quantity.MASS, 453.59237): "1 lb; 1 pound; 16 oz; 16 ounces",
    (Quantity.TEMPERATURE, 20): "20; 20 C; 20°C; 20 celsius; 68F; 68 °F; 68 ° Fahrenheit",
    (Quantity.TEMPERATURE, -5): "-5; −5 °C; 23 F",  # (23 - 32) / 1.8
    (Quantity.LENGTH, 50.8): """50.8; 50.8 mm; 5.08 cm; 2 in; 2 inch; 2 inches; 2"; 2″; 2''""",
    (Quantity.PERCENT, 12.5): "12.5; 12,5 %; 12.5%",
    (Quantity.MONEY, 1234.5): "1,234.50; 1234.5",
    (Quantity.NUMBER, 3.45): "3.45",
    (Quantity.DAYS, 14): "14; 14 days; 14 d; 2 weeks; 2 w",
}


@pytest.mark.parametrize(
    ("quantity", "text", "expected"),
    [(quantity, text, value) for (quantity, value), texts in SPELLED.items() for text in texts.split("; ")],
)
def test_every_other_unit_is_understood(quantity: Any, text: Any, expected: Any) -> None:
    """Equal amounts typed in different units are the same figure inside."""
    assert read(quantity, text) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize("text", ["7.9 Bx", "7.9bx", "7.9 Brix", "7.9 °Bx", "7.9 P", "7,9 Plato", "7.9°P"])
def test_brix_and_plato_are_the_sucrose_scale(text: str) -> None:
    """NBS Circular C440, table 114, prints 1.03139 for 7.9, in air, which adds 4e-5 to true densities."""
    assert read(Quantity.GRAVITY, text) == pytest.approx(1.03139, abs=6e-5)


def test_counts_are_whole() -> None:
    """Twelve is a count, twelve and a half is not."""
    assert read(Quantity.COUNT, "12") == 12
    with pytest.raises(NotAQuantity, match=r"'12\.5' is not a count; type a whole number such as 12"):
        read(Quantity.COUNT, "12.5")


@pytest.mark.parametrize(
    ("text", "millilitres"),
    [
        *(
            ("1,8 L", 1800),
            ("1,234 L", 1234),
            ("1.234 L", 1234),
            (".5", 500),
            (",5", 500),
            ("5.", 5000),
            ("0", 0),
        ),
        *(("1.234,5", 1_234_500), ("1,234.5", 1_234_500), ("1,234,567.5", 1_234_567_500)),
    ],
)
def test_a_single_mark_is_decimal_and_the_last_of_two(text: Any, millilitres: Any) -> None:
    """Decimal commas and points are both understood, whatever the person's own mark."""
    assert read_volume(text) == millilitres
    assert read_volume(text, Units(decimal=",")) == millilitres


@pytest.mark.parametrize(("text", "millilitres"), [("0.0005", 0), ("0.0015", 2), ("0.0025", 2), ("0.00250001", 3)])
def test_volumes_round_half_to_even(text: str, millilitres: int) -> None:
    """No float stands between the text and the millilitre, so halves are halves."""
    assert read_volume(text) == millilitres


def test_a_bare_number_is_in_the_persons_unit() -> None:
    """Gallons for one who works in gallons, until another unit is typed."""
    assert read_volume("1", US) == 3785
    assert read_volume("1 L", US) == 1000
    assert read(Quantity.TEMPERATURE, "68", US) == pytest.approx(20.0)
    assert read(Quantity.GRAVITY, "22", US) == read(Quantity.GRAVITY, "22 Bx")


@pytest.mark.parametrize("text", ["1.022", "1,022", "1022", "1022 sg"])
def test_an_unmistakable_specific_gravity_is_never_taken_as_brix(text: str) -> None:
    """A refractometer reads tenths of a degree, so three decimals around one are specific gravity."""
    assert read(Quantity.GRAVITY, text, US) == 1.022


def test_a_brix_near_one_is_still_brix() -> None:
    """One or two decimals, or a typed unit, leave it in Brix."""
    assert read(Quantity.GRAVITY, "1.0", US) == read(Quantity.GRAVITY, "1.000 Bx", US)


NONSENSE = (
    "",
    " ",
    "?",
    "nan",
    "inf",
    "1e3",
    "-300000",
    "1 furlong",
    "l",
    "1.2.3",
    "1 2",
    "--1",
    "1..2",
    "١",
    "3 x",
    "x 3",
    "3 x 3 x 3",
    "0x10",
    "1\n2",
    "12,34,5.6",
    "1 L 2",
    "1,2.3",
    ".",
    "+",
    "1 us",
    "1 imp",
    "1 %%",
)


@pytest.mark.parametrize("quantity", Quantity)
@pytest.mark.parametrize(
    "text",
    [*NONSENSE, "9" * 30, "9" * 9999],
)
def test_nonsense_is_refused_in_one_line(quantity: Any, text: Any) -> None:
    """Whatever is typed, the answer is one short line that quotes it and shows an example."""
    with pytest.raises(NotAQuantity) as refused:
        read(quantity, text)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 160
    assert "such as" in str(refused.value)
    assert (refused.value.quantity, refused.value.text) == (quantity, text)


@pytest.mark.parametrize("quantity", [q for q in Quantity if q is not Quantity.TEMPERATURE])
def test_only_temperatures_lie_below_zero(quantity: Any) -> None:
    """A negative amount is a slip, and no gravity reads minus thirty on any scale."""
    with pytest.raises(NotAQuantity):
        read(quantity, "-30")


@pytest.mark.parametrize(
    ("quantity", "text", "units", "line"),
    [
        (
            Quantity.VOLUME,
            "1.8 lt",
            DEFAULT,
            "'1.8 lt' is not a volume; type litres such as 1.8, or a unit: 1800 mL, 0.5 gal",
        ),
        (
            Quantity.VOLUME,
            "some",
            Units(volume="gal", decimal=","),
            "'some' is not a volume; type US gallons such as 0,5, or a unit: 1,8 L, 1800 mL",
        ),
        (
            Quantity.GRAVITY,
            "22",
            DEFAULT,
            "'22' is not a gravity; type specific gravity such as 1.022, or a unit: 22 Bx, 22 P",
        ),
        (Quantity.NUMBER, "−3", DEFAULT, "'−3' is under zero; type a plain number such as 3.45"),
        (Quantity.MONEY, "dear", DEFAULT, "'dear' is not a sum of money; type a plain number such as 12.50"),
    ],
)
def test_the_refusal_speaks_the_persons_units(quantity: Any, text: str, units: Any, line: str) -> None:
    """It says what was typed, what is wanted, and gives examples in their unit and with their mark."""
    with pytest.raises(BadInput) as refused:
        read(quantity, text, units)
    assert str(refused.value) == line


@pytest.mark.slow
@pytest.mark.parametrize("quantity", Quantity)
@given(units=UNITS)
def test_the_examples_in_a_refusal_are_themselves_understood(quantity: Any, units: Any) -> None:
    """Whoever copies an example from the error line is not refused again."""
    with pytest.raises(NotAQuantity) as refused:
        read(quantity, "nonsense", units)
    usual, _, others = str(refused.value).partition("such as ")[2].partition(", or a unit: ")
    for example in [usual, *filter(None, others.split(", "))]:
        assert read(quantity, example, units) > 0


@pytest.mark.parametrize(
    ("quantity", "typed", "at", "units", "spread", "shown"),
    [
        (Quantity.TEMPERATURE, "0.9", 18.0, Units(temperature="f"), 0.5, "0.9 °F"),
        (Quantity.TEMPERATURE, "0.5 c", 18.0, Units(temperature="f"), 0.5, "0.9 °F"),
        (Quantity.GRAVITY, "0.0007", 1.022, DEFAULT, 0.0007, "0.0007"),
        (Quantity.NUMBER, "0.04", 3.4, DEFAULT, 0.04, "0.04"),
        (Quantity.SULPHITE, "3", 24.0, DEFAULT, 3.0, "3.0 mg/L"),
    ],
)
def test_a_give_or_take_is_a_difference(
    quantity: Any, typed: str, at: float, units: Any, spread: float, shown: str
) -> None:
    """0.9 °F is half a degree Celsius, not one of 17 below zero; a gravity is known to less than the lowest gravity."""
    assert read_spread(quantity, typed, at, units) == pytest.approx(spread)
    assert show_spread(quantity, spread, at, units) == shown


@pytest.mark.parametrize("text", ["", "about 1", "0.5 L", "2 x 3"])
def test_what_is_no_give_or_take_is_refused(text: str) -> None:
    """As any other quantity is."""
    with pytest.raises(NotAQuantity):
        read_spread(Quantity.TEMPERATURE, text, 18.0)


def test_a_spread_beside_another_has_its_digits() -> None:
    """A bias of gravity far below its error would have more digits than the error itself."""
    alone = show_spread(Quantity.GRAVITY, 0.000124, 1.02)
    beside = show_spread(Quantity.GRAVITY, 0.000124, 1.02, like=0.0006)
    assert len(beside.split()[0]) == len(show_spread(Quantity.GRAVITY, 0.0006, 1.02).split()[0]) < len(alone.split()[0])
