"""Text becomes quantities and times, and becomes text again."""

import json
import math
import re
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import cooperage
from cooperage.errors import BadInput
from cooperage.units import (
    CHOICES,
    DEFAULT,
    WHENS,
    NotAQuantity,
    NotATime,
    Quantity,
    Units,
    UnknownChoice,
    read,
    read_span,
    read_spread,
    read_volume,
    read_when,
    show,
    show_ago,
    show_at_length,
    show_day,
    show_exact,
    show_spread,
    show_when,
)

REFERENCE = json.loads((Path(__file__).parent / "reference" / "units_and_scales.json").read_text(encoding="utf-8"))
EXACT = REFERENCE["exact"]
US = Units(volume="gal", gravity="brix", temperature="f")
UNITS = st.builds(Units, **{key: st.sampled_from(choices) for key, choices in CHOICES.items()})
VOLUMES_ML = st.integers(min_value=0, max_value=10**9)
SENSIBLE = {
    Quantity.GRAVITY: (0.96, 1.44),
    Quantity.STRENGTH: (0.0, 99.9),
    Quantity.TEMPERATURE: (-20.0, 100.0),
}


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
            "'1.8 lt' is not a volume; type litres such as 1.8, or a unit: 1800 ml, 0.5 gal",
        ),
        (
            Quantity.VOLUME,
            "some",
            Units(volume="gal", decimal=","),
            "'some' is not a volume; type US gallons such as 0,5, or a unit: 1,8 L, 1800 ml",
        ),
        (
            Quantity.GRAVITY,
            "22",
            DEFAULT,
            "'22' is not a gravity; type specific gravity such as 1.022, or a unit: 22 Bx, 22 P",
        ),
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


@pytest.fixture(autouse=True, scope="module")
def _five_hours_west() -> Iterator[Any]:
    """Set the system clock five hours behind UTC, with no summer time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "XYZ+5")
        time.tzset()
        yield
    time.tzset()


NOW = datetime(2026, 10, 3, 20, 15, tzinfo=UTC)  # 15:15 there


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-10-01", datetime(2026, 10, 1, 17, 0, tzinfo=UTC)),  # noon there
        ("2026-10-01 14:30", datetime(2026, 10, 1, 19, 30, tzinfo=UTC)),
        ("2026-10-01T14:30", datetime(2026, 10, 1, 19, 30, tzinfo=UTC)),
        ("2026-10-01T14:30Z", datetime(2026, 10, 1, 14, 30, tzinfo=UTC)),
        ("2026-10-01t14:30+02:00", datetime(2026, 10, 1, 12, 30, tzinfo=UTC)),
        ("today", datetime(2026, 10, 3, 17, 0, tzinfo=UTC)),
        (" Yesterday ", datetime(2026, 10, 2, 17, 0, tzinfo=UTC)),
        ("-3d", datetime(2026, 9, 30, 17, 0, tzinfo=UTC)),
        ("3 days ago", datetime(2026, 9, 30, 17, 0, tzinfo=UTC)),
        ("1 day ago", datetime(2026, 10, 2, 17, 0, tzinfo=UTC)),
    ],
)
def test_times_are_local_unless_they_say_otherwise(text: str, moment: Any) -> None:
    """A bare day is its noon; a zone, when typed, is kept."""
    assert read_when(text, NOW) == moment
    assert read_when(text, NOW).tzinfo is UTC


@pytest.mark.parametrize("text", ["today", "2026-10-03"])
def test_today_is_never_later_than_now(text: str) -> None:
    """In the morning, today's noon is still to come, and no entry lies in the future."""
    morning = datetime(2026, 10, 3, 13, 0, tzinfo=UTC)  # 08:00 there
    assert read_when(text, morning) == morning


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("yesterday 14:30", "2026-10-02 14:30"), ("Yesterday 9:05", "2026-10-02 09:05"),
        ("today 0:10", "2026-10-03 00:10"), ("3 days ago 07:00", "2026-09-30 07:00"),
        ("-1d 23:59", "2026-10-02 23:59"), ("2026-10-01 9:05", "2026-10-01 09:05"),
    ],
)  # fmt: skip
def test_a_named_day_may_have_its_time(text: str, shown: str) -> None:
    """As a paper walk has it."""
    assert show_when(read_when(text, NOW)) == shown


def test_a_time_of_today_that_is_to_come_is_not_bent_to_now() -> None:
    """It is for the book to refuse what has not happened."""
    morning = NOW.astimezone().replace(hour=8, minute=0)
    assert read_when("today 23:00", morning) > morning


def _promised() -> Any:
    """Return every example of a date or time that a message, a prompt or a help text shows."""
    root = Path(cooperage.__file__).parent
    found = set(WHENS)
    for path in (*root.rglob("*.py"), root.parent / "README.md"):
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r"--(?:on|when|since|until) (\d{4}-\d\d-\d\d(?: \d\d:\d\d)?|yesterday)", text))
        found |= set(re.findall(r"(?:yesterday|today) \d?\d:\d\d", text))
    return sorted(found)


@pytest.mark.parametrize("text", _promised())
def test_every_example_of_a_time_is_understood(text: Any) -> None:
    """What the program itself shows as a date or time, it reads."""
    assert read_when(text, NOW).tzinfo is UTC


@pytest.mark.parametrize("text", ["yesterday 25:00", "today 9", "noon 14:30", "yesterday14:30", "3 days ago 14:60"])
def test_what_is_no_time_after_a_day_is_refused(text: str) -> None:
    """In one line with examples."""
    with pytest.raises(NotATime, match="yesterday 14:30"):
        read_when(text, NOW)


def test_today_is_the_local_day() -> None:
    """Late in the evening there, UTC is already in tomorrow."""
    evening = datetime(2026, 10, 4, 2, 0, tzinfo=UTC)  # 21:00 on the third, there
    assert show_day(read_when("today", evening)) == "2026-10-03"


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


def test_a_little_is_shown_as_a_little() -> None:
    """50 ml are 0.05 L; what is large keeps its usual digits, and so does a gravity or a temperature near its zero."""
    assert [show_at_length(Quantity.VOLUME, ml) for ml in (50, 1830, 0)] == ["0.05 L", "1.8 L", "0.0 L"]
    assert show_at_length(Quantity.ACID, 0.004) == "0.004 g/L"
    assert show_at_length(Quantity.TEMPERATURE, 0.04) == "0.0 °C"
    assert show_at_length(Quantity.VOLUME, None) == "?"


NO_TIMES: tuple[str, ...]
NO_TIMES = ("", "?", "tomorrow", "2026-13-01", "2026-02-30", "03/10/2026", "14:30", "2026", "-3", "9999 days")
NO_TIMES += ("2026-10-03 25:00", "9999-12-31T23:59-12:00", "0001-01-01T00:00+12:00", "-9999999d", "x\ny")


@pytest.mark.parametrize("text", NO_TIMES)
def test_what_is_no_time_is_refused_in_one_line(text: Any) -> None:
    """The line quotes what was typed and shows what would do."""
    with pytest.raises(NotATime, match=r"^'.*' is not a date or time; type one such as 2026-10-03") as refused:
        read_when(text, NOW)
    assert "\n" not in str(refused.value)


def test_moments_are_shown_in_local_time() -> None:
    """Seconds are left out; an unknown moment is a question mark."""
    assert show_when(NOW.replace(second=59)) == "2026-10-03 15:15"
    assert show_day(NOW.replace(hour=3)) == "2026-10-02"
    assert (show_when(None), show_day(None)) == ("?", "?")


@pytest.mark.parametrize("shower", [show_when, show_day])
def test_a_moment_without_a_zone_is_not_guessed_at(shower: Any) -> None:
    """Like a float volume, it is a slip of the program."""
    with pytest.raises(TypeError, match="time zone"):
        shower(datetime(2026, 10, 3))


@given(st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)))
def test_a_moment_shown_reads_back_to_the_minute(moment: Any) -> None:
    """Every minute of a century, in a zone without summer time (which repeats an hour each year)."""
    shown = read_when(show_when(moment), moment)
    assert timedelta(0) <= moment - shown < timedelta(minutes=1)


@pytest.mark.parametrize(("hours", "ago"), [(1, "today"), (13, "1 day ago"), (24 * 45 + 13, "46 days ago")])
def test_days_ago_are_days_of_the_calendar(hours: int, ago: str) -> None:
    """What was done last evening was yesterday, in every door alike."""
    now = datetime(2026, 11, 26, 12, 0).astimezone()
    assert show_ago(now - timedelta(hours=hours), now) == ago


@pytest.mark.parametrize(
    ("since", "until", "first", "end"),
    [
        ("last month", None, "2026-09-01", "2026-10-01"),
        ("this month", None, "2026-10-01", "2026-11-01"),
        ("last year", None, "2025-01-01", "2026-01-01"),
        ("This Year", "last month", "2026-01-01", "2026-10-01"),
        ("3 Oct 2026", "4 october 2026", "2026-10-03", "2026-10-05"),
    ],
)
def test_a_month_or_a_year_is_a_span(since: str, until: str | None, first: str, end: str) -> None:
    """From its first day to its last; a day may be written with the name of its month."""
    now = datetime(2026, 10, 14, 12, tzinfo=UTC)
    span = read_span(since, until, now)
    assert (show_day(span.start), show_day(span.end)) == (first, end)
