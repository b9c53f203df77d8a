"""Limits as they are declared: each is taken exactly at its end, refused or asked back a step beyond."""

from collections.abc import Callable
from datetime import UTC, datetime
from math import inf, nextafter
from typing import Any

import pytest

from cooperage.book import Barrel, Book, Lot, Upkeep
from cooperage.book.declared import acts
from cooperage.book.declared.acts import KINDS, faces
from cooperage.book.declared.allowed import (
    LEAST_FIGURE,
    Allowed,
    NotAllowed,
    day,
    number_between,
    rules_of,
    tidied,
    whole,
)
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.errors import Implausible, NotPossible
from cooperage.book.store.registry import BAY, TIER
from cooperage.errors import BadInput

RANGED = {
    **{f"{kind.__name__}.{name}": rule for kind in (Barrel, Upkeep, Lot) for name, rule in rules_of(kind).items()},
    "BAY": BAY,
    "TIER": TIER,
}
RANGED = {name: rule for name, rule in RANGED.items() if rule.between is not None}


@pytest.mark.parametrize("rule", RANGED.values(), ids=RANGED.keys())
def test_both_ends_of_a_range_belong_to_it(rule: Allowed) -> None:
    """The least and the most are kept as they are, the next number beyond either is refused with both."""
    assert rule.between is not None
    for end, away in zip(rule.between, (-inf, inf), strict=True):
        assert rule.tidy(rule.label, end) == end
        beyond = end + (1 if away > 0 else -1) if isinstance(end, int) else nextafter(end, away)
        with pytest.raises(BadInput, match=f"^{rule.label} (?:cannot be|must be a whole number)"):
            rule.tidy(rule.label, beyond)


def test_the_largest_count_is_what_an_integer_column_keeps() -> None:
    """2 147 483 647 (PostgreSQL, Numeric Types: integer); one more is refused here, not by a server."""
    rule = whole("the count", 0)
    assert rule.tidy("the count", 2_147_483_647) == 2_147_483_647
    with pytest.raises(BadInput) as refused:
        rule.tidy("the count", 2_147_483_648)
    assert str(refused.value) == "the count cannot be 2 147 483 648; it lies between 0 and 2 147 483 647"


@pytest.mark.parametrize(
    ("given", "is_kept"),
    [
        *((kept, True) for kept in (0.0, LEAST_FIGURE, -LEAST_FIGURE, 10.0, 2)),
        *((refused, False) for refused in (LEAST_FIGURE / 2, -LEAST_FIGURE / 2, inf, -inf, float("nan"), True, "1")),
    ],
)
def test_a_figure_is_zero_or_large_enough_to_be_read_back(given: Any, is_kept: bool) -> None:
    """Nothing smaller than a thousand-millionth, nothing endless, and no text or yes for a number."""
    rule = number_between("the figure", -10.0, 10.0)
    if is_kept:
        assert rule.tidy("the figure", given) == given
    else:
        with pytest.raises(BadInput, match=r"^the figure (?:cannot|must) be"):
            rule.tidy("the figure", given)


@pytest.mark.parametrize(
    ("given", "is_kept"),
    [
        (datetime(1799, 12, 31, 23, 59, tzinfo=UTC), False),
        (datetime(1800, 1, 1, tzinfo=UTC), True),
        (datetime(2299, 12, 31, 23, 59, tzinfo=UTC), True),
        (datetime(2300, 1, 1, tzinfo=UTC), False),
        (datetime(2026, 10, 3), False),  # of no zone
        ("2026-10-03", False),
    ],
)
def test_a_day_lies_between_1800_and_2300_and_knows_its_zone(given: Any, is_kept: bool) -> None:
    """The first moment of 1800 is kept, the first of 2300 no more."""
    rule = day("the day")
    if is_kept:
        assert rule.tidy("the day", given) == given
    else:
        with pytest.raises(BadInput, match=r"^the day (?:cannot be in|must be a date with its time zone)"):
            rule.tidy("the day", given)


@pytest.mark.parametrize("given", [None, "A", "a b", "a" * 65, "évaporé", 7, "evaporated"])
def test_an_id_is_up_to_64_small_letters_digits_and_hyphens(given: Any) -> None:
    """None is no id, and neither is the name of an outside place; blank is made by the writer."""
    with pytest.raises(NotAllowed, match="is no id; use up to 64 small letters"):
        tidied(Lot(given, "HE-24", "Heather"))
    for kept in ("", "a", "0-9", "a" * 64):
        assert tidied(Lot(kept, "HE-24", "Heather")).id == kept


BY_POSITION = {
    "receive": "lot vessel volume",
    "fill": "vessel volume",
    "top": "vessel volume",
    "rack": "vessel volume",
    "gauge": "vessel volume",
    "sample": "vessel volume",
    "reading": "vessel property value",
    "addition": "vessel substance amount",
    "treat": "vessel treatment",
    "look": "vessel",
    "judge": "vessel verdict",
    "climate": "room temperature humidity",
    "lotcost": "lot cost",
    "lotend": "lot",
    "shift": "vessel",
    "blend": "vessel draws",
    "bottle": "vessel code bottles",
    "stow": "code bottles store",
    "remove": "code bottles went",
    "takeback": "code bottles",
    "stocktake": "code bottles",
    "pourback": "code bottles vessel",
    "retire": "vessel",
    "strike": "entry",
}


def test_what_is_typed_by_position_stays_in_its_place() -> None:
    """`log reading B-017 ph 3.4` is in people's fingers and in their scripts: these need no option, in this order."""
    declared = {kind: [face.name for _, face in faces(act) if face.argument] for kind, act in KINDS.items()}
    assert declared == {kind: names.split() for kind, names in BY_POSITION.items()}


# --- what the book takes, and what it asks back ---------------------------------------------------------------------


def is_asked_back(book: Book, act: acts.Act) -> bool:
    """Write an act; return True if it is asked back instead."""
    try:
        book.write(act)
    except Implausible:
        return True
    return False


@pytest.fixture
def furnished(fresh_sqlite: Callable[[], Book]) -> Book:
    """100 L of HEATHER in T-1, 40 L in K-1, 150 L in B-1."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-2", volume=190_000))
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=100_000))
    book.write(acts.Rack(vessel="T-2", destination="K-1", volume=40_000))
    book.write(acts.Fill(vessel="B-1", source="T-2", volume=150_000))
    return book


@pytest.mark.parametrize(
    ("act", "most_ml"),
    [
        (lambda ml: acts.Top(vessel="B-1", source="K-1", volume=ml, not_full=True), 4999),
        (lambda ml: acts.Sample(vessel="B-1", volume=ml), 1500),
    ],
    ids=["top", "sample"],
)
def test_a_volume_larger_than_usual_is_asked_back(
    furnished: Book, act: Callable[[int], acts.Act], most_ml: int
) -> None:
    """Five litres are a lot for a topping, a litre and a half is still a sample; one millilitre decides."""
    assert not is_asked_back(furnished, act(most_ml))
    assert is_asked_back(furnished, act(most_ml + 1))


USUAL_DOSES = {  # per litre, common practice: grams, or millilitres of what is poured
    "metabisulphite": 0.09,
    "so2 gas": 0.05,
    "sorbate": 0.27,
    "tartaric acid": 1.5,
    "citric acid": 1.0,
    "bentonite": 1.0,
    "tannin": 0.3,
    "nutrient": 0.4,
    "honey": 120.0,
    "water": 100.0,
    "spirit": 100.0,
}


@pytest.mark.parametrize("name", SUBSTANCES)
def test_a_dose_is_asked_back_above_half_as_much_again_as_is_usual(furnished: Book, name: str) -> None:
    """In 100 L of mead: just below 1.5 times the usual most it is written, just above it is a question."""
    line = 1.5 * 100 * USUAL_DOSES[name]
    assert is_asked_back(furnished, acts.Addition(vessel="T-1", substance=name, amount=line * 1.001))
    assert not is_asked_back(furnished, acts.Addition(vessel="T-1", substance=name, amount=line * 0.999))


POSSIBLE = {  # canonical units, common practice
    "abv": (0, 96),
    "sugar_g_l": (0, 1200),
    "ta_g_l": (0, 30),
    "va_g_l": (0, 5),
    "free_so2_mg_l": (0, 500),
    "total_so2_mg_l": (0, 1000),
    "ph": (2.0, 5.0),
    "sg": (0.970, 1.200),
    "temperature_c": (-10, 60),
    "co2_g_l": (0, 15),
    "turbidity_ntu": (0, 10_000),
    "heat_haze_ntu": (0, 10_000),
    "headspace_mm": (0, 3000),
}


@pytest.mark.parametrize("name", PROPERTIES)
def test_an_impossible_reading_is_refused_however_sure(furnished: Book, name: str) -> None:
    """Both ends can be read, a thousandth beyond either cannot: a slipped decimal is never written.

    T-2 is empty, so that nothing known of its mead contradicts a reading.
    """
    for end, beyond in zip(POSSIBLE[name], (-0.001, 0.001), strict=True):
        furnished.write(acts.Reading(vessel="T-2", property=name, value=end, sure=True))
        with pytest.raises(NotPossible):
            furnished.write(acts.Reading(vessel="T-2", property=name, value=end + beyond, sure=True))
