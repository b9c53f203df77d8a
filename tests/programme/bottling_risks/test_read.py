"""What is only read before a bottling: CO2, clarity and haze are due until they were read, and after they grew old."""

from datetime import UTC, datetime
from typing import Any

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import parse_act
from cooperage.programme.bottling_risks.risk import Risk, RiskState
from cooperage.programme.bottling_risks.risks import risks
from cooperage.units import Units

NOW = datetime(2026, 3, 1, tzinfo=UTC)
READ = {"CO2": "co2_g_l", "clarity": "turbidity_ntu", "haze when warm": "heat_haze_ntu"}


def of(book: Book, name: str, *vessels: str, **asked: Any) -> Risk:
    found = risks(book, list(vessels or ("T-1",)), {750: None}, profile="US", **asked)
    return next(each for each in found if each.name == name)


@pytest.mark.parametrize("name", READ)
def test_it_is_due_until_it_was_read_and_again_when_that_is_old_or_something_was_added(
    cellar_book: Book, clock: Any, name: str
) -> None:
    assert of(cellar_book, name).why == "not measured"
    cellar_book.write(acts.Reading(vessel="T-1", property=READ[name], value=0.6))
    fine = of(cellar_book, name)
    assert (fine.state, fine.value, fine.age_days) == (RiskState.FINE, 0.6, 0)
    clock.pass_days(15)
    assert (of(cellar_book, name).state, of(cellar_book, name).why) == (RiskState.DUE, "measured 15 days ago")
    cellar_book.write(acts.Reading(vessel="T-1", property=READ[name], value=0.7))
    assert of(cellar_book, name).state is RiskState.FINE
    cellar_book.write(acts.Rack(vessel="K-1", destination="T-1", sure=True))
    assert "since it was measured" in of(cellar_book, name).why


@pytest.mark.parametrize(
    ("name", "value", "limit"), [("CO2", 5.0, 3.92), ("clarity", 8.0, 2.0), ("haze when warm", 9.0, 2.0)]
)
def test_too_much_is_trouble_and_near_the_limit_is_due(
    cellar_book: Book, name: str, value: float, limit: float
) -> None:
    """The limit of CO2 is that of the rules: 0.392 g in 100 mL (26 USC 5041(a))."""
    cellar_book.write(acts.Reading(vessel="T-1", property=READ[name], value=value, sure=True))
    assert of(cellar_book, name).state is RiskState.TROUBLE
    cellar_book.write(acts.Reading(vessel="T-1", property=READ[name], value=limit - 0.01, sure=True))
    near = of(cellar_book, name)
    assert near.state is RiskState.DUE
    assert near.chance == pytest.approx(0.5, abs=0.1)


def test_it_is_shown_in_its_unit_and_with_a_comma(cellar_book: Book) -> None:
    cellar_book.write(acts.Reading(vessel="T-1", property="turbidity_ntu", value=0.6))
    risk = of(cellar_book, "clarity", units=Units(decimal=","))
    assert risk.figure(Units(decimal=",")) == "0,60 NTU"
    assert risk.limit == "at most 2,00 NTU"


@pytest.mark.parametrize(
    ("text", "value", "name"),
    [("clarity", "0.8 NTU", "turbidity_ntu"), ("heat test", "3", "heat_haze_ntu"), ("CO2", "900 mg/L", "co2_g_l")],
)
def test_its_other_names_are_understood(text: str, value: str, name: str) -> None:
    act = parse_act("reading", {"vessel": "T-1", "property": text, "value": value}, NOW)
    assert isinstance(act, acts.Reading)
    assert act.property == name
    assert act.value in (0.8, 3.0, 0.9)


def test_a_mix_is_unknown_until_all_of_it_was_read(cellar_book: Book) -> None:
    cellar_book.write(acts.Reading(vessel="T-1", property="co2_g_l", value=1.0))
    assert of(cellar_book, "CO2", "T-1", "K-1").value is None
