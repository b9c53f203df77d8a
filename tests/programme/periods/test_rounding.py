"""How returns round, held against the published rules."""

import csv
import json
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.periods.lines import BOTTLED, BULK, LINES
from cooperage.programme.periods.rounding import RETURN_UNITS, Flow, NotAReturnUnit, gallons, proof_steps, return_unit
from cooperage.programme.periods.table import LossTest
from cooperage.units import DEFAULT, Units

REFERENCE = Path(__file__).parents[2] / "reference"
GALLON = RETURN_UNITS["gal"]
with (REFERENCE / "rules_return_rounding_cases.csv").open(newline="") as _file:
    CASES = list(csv.DictReader(_file))
BALANCES = json.loads((REFERENCE / "return_balance_cases.json").read_text())["cases"]


def cases(rule: str) -> Any:
    return [row for row in CASES if row["rule"].startswith(rule)]


@pytest.mark.parametrize("row", cases("litres to wine gallons"), ids=lambda row: row["input"])
def test_litres_become_wine_gallons_by_the_legal_factor(row: Any) -> None:
    """27 CFR 24.300(a): 1 L = 0.26417 gal; then to 0.1, 0.05 up."""
    ml = int(1000 * Decimal(row["input"].removesuffix(" L")))
    exact, _, printed = row["expected"].partition(" -> ")
    unrounded = Decimal(ml) / 1000 * Decimal("0.26417")
    assert unrounded.quantize(Decimal("0.00001"), ROUND_HALF_UP) == Decimal(exact)
    assert GALLON.text(GALLON.steps(ml)) == printed


@pytest.mark.parametrize("row", cases("US wine gallons to 0.1"), ids=lambda row: row["input"])
def test_a_half_goes_up(row: Any) -> None:
    """26 USC 5041(d), 27 CFR 24.270(b): of gallons given as such, so a unit of a factor 1 is asked."""
    ml = int(1000 * Decimal(row["input"]))
    assert Decimal(RETURN_UNITS["L"].text(RETURN_UNITS["L"].steps(ml))) == Decimal(row["expected"])


@pytest.mark.parametrize("row", cases("US case factor"), ids=lambda row: row["rule"])
def test_a_case_has_its_published_gallons(row: Any) -> None:
    litres = Decimal(row["input"].removesuffix(" L"))
    gallons = Decimal(int(1000 * litres)) / 1000 * Decimal(GALLON.per_litre.numerator) / GALLON.per_litre.denominator
    assert gallons == Decimal(row["expected"].removesuffix(" gal"))


def test_proof_gallons() -> None:
    """27 CFR 30.64: 59.4 gal at 62.5 % are 74.25, so 74.3; a litre at 60 % is 0.3."""
    [row] = [row for row in cases("proof gallons") if row["input"].startswith("59.4")]
    assert proof_steps(Fraction("59.4"), 62.5) == int(10 * Decimal(row["expected"].split(" -> ")[1]))
    assert proof_steps(Fraction(100), 40.0) == 800
    assert proof_steps(gallons(1000), 60.0) == 3


@pytest.mark.parametrize("case", BALANCES, ids=lambda case: case["id"])
def test_published_rule_for_balance_and_losses(case: Any) -> None:
    """27 CFR 24.266(b): the closing is what balances; a loss over 3 % of opening and received, or 6 %, is claimed."""

    def ml(name: str) -> int:
        return int(1000 * Decimal(case[name]))

    ins = ml("opening") + ml("received_in_bond") + ml("fermented") + ml("gain")
    outs = sum(map(ml, ("bottled", "taxpaid_bulk", "in_bond_out", "losses_other", "inventory_loss")))
    assert ins - outs == ml("closing_must_be")
    test = LossTest(ml("loss_total"), ml("three_percent_of"), ml("fermented"), 0.03)
    assert (test.of_base_ml, test.of_produced_ml) == (ml("three_percent"), ml("six_percent_of_fermented"))
    assert test.needs_claim == case["claim_needed"]


def test_every_line_of_the_published_structure_has_its_line_here() -> None:
    """The bulk and bottled parts of the report of wine premises operations, as far as a cellar of mead has them."""
    with (REFERENCE / "us_wine_return_structure.csv").open(newline="") as file:
        parts = {row["part"]: row["lines_in_own_words"] for row in csv.DictReader(file)}
    here = {part: {line.name for line in LINES.values() if line.part == part} for part in (BULK, BOTTLED)}
    bulk = {
        "fermented": "produced",
        "received in bond": "received",
        "sweetened": "honey added",
        "spirits added": "spirit added",
        "ameliorated": "water added",
        "blended": "by blending, from another class",
        "bottled wine dumped": "poured back from bottles",
        "inventory gain": "gain",
        "bottled": "bottled",
        "testing": "samples",
        "inventory loss": "gauging difference",
    }
    bottled = {
        "bottled": "bottled",
        "in bond": "in bond elsewhere",
        "dumped to bulk": "poured back",
        "tasting": "tasted",
        "breakage": "broken",
        "inventory shortage": "missing by count",
        "taxpaid": "sold",
    }
    for part, name, lines in (("I-A", BULK, bulk), ("I-B", BOTTLED, bottled)):
        for published, own in lines.items():
            assert published in parts[part]
            assert own in here[name]


totals = st.lists(st.integers(0, 5_000_000), min_size=2, max_size=12).map(sorted)


@given(totals=totals, unit=st.sampled_from(list(RETURN_UNITS.values())))
def test_adjoining_spans_add_up_as_printed(totals: Any, unit: Any) -> None:
    flows = [Flow.between(*pair, unit.steps) for pair in pairwise(totals)]
    whole = Flow.between(totals[0], totals[-1], unit.steps)
    assert sum(each.steps for each in flows) == whole.steps
    assert all(unit.steps_of_text(unit.text(each.steps)) == each.steps for each in flows)


def test_the_unit_goes_with_the_persons() -> None:
    assert return_unit(None, DEFAULT).name == "L"
    assert return_unit(None, Units(volume="gal")).name == "gal"
    assert return_unit("GAL").show(2642, Units(decimal=","), with_unit=True) == "264,2 US gal"
    with pytest.raises(NotAReturnUnit, match="figures are not filed in 'barrels'; choose from L, gal"):
        return_unit("barrels")
