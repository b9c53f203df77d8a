"""A fill judged by a profile: the target of a line, the sample, the lot, and the words that follow."""

from datetime import date

import pytest

from cooperage.programme.bottling_risks.fill import NoPlan, volume_from_level
from cooperage.programme.bottling_risks.judged import FillAsked, fill_lines, fill_row, judge_fill
from cooperage.programme.rules.profile import Profile, profile_with
from cooperage.units import DEFAULT, Units


def rules(name: str) -> Profile:
    return profile_with((), name, date(2026, 11, 27))


def words(asked: FillAsked, profile: str = "EU", units: Units = DEFAULT) -> str:
    return "\n".join(fill_lines(judge_fill(rules(profile), asked), units))


@pytest.mark.parametrize(
    ("spread", "ml", "why"),
    [
        (1.5, "750.0", "so that the average is not short"),
        (8.0, "750.7", "no more than 1 bottle in 40 is short"),
        (9.0, "753.5", "hardly any bottle is short by twice"),
    ],
)
def test_the_rule_that_binds_is_named_with_the_target(spread: float, ml: str, why: str) -> None:
    """By hand, 750 mL with 15 mL tolerable: 735 + 1.96 x 8 = 750.7; 720 + 3.719 x 9 = 753.5."""
    shown = words(FillAsked(750, spread_ml=spread))
    assert f"set the line to a mean of {ml} mL or more" in shown
    assert why in shown


def test_a_lot_is_judged_by_its_plan_with_what_the_plan_lets_pass() -> None:
    """Thirty of four hundred: one short by more than 15 mL is accepted; another number of bottles is no plan."""
    volumes = [751.0 + nth % 3 for nth in range(29)]
    found = judge_fill(rules("EU"), FillAsked(750, [*volumes, 734.0], lot=400))
    assert (found.short, found.inspected and found.inspected.lot) == (1, "accept")
    chances = dict(found.accepted)
    assert chances[0.01] > chances[0.05] > chances[0.1]
    assert "an inspector's plan for 400 bottles: accept" in "\n".join(fill_lines(found, DEFAULT))
    with pytest.raises(NoPlan, match="judged by 30 of them, and 4 were measured"):
        judge_fill(rules("EU"), FillAsked(750, [750.0] * 4, lot=400))


def test_each_bottle_and_the_average_by_the_american_rules() -> None:
    """Each within 2 %: 735 to 765; four bottles 2.3 mL short with 1.4 mL of spread are short by more than chance."""
    shown = words(FillAsked(750, [748.1, 746.2, 749.5, 734.0], most_short_ml=15.0), "US", Units(decimal=","))
    assert "735,0 mL to 765,0 mL: 1 of 4 outside" in shown
    assert "0 over and 4 under" in shown
    assert "1 bottle short by more than is allowed" in shown
    assert "." not in shown.replace("NIST.", "")
    row = fill_row(judge_fill(rules("US"), FillAsked(750, [747.0, 747.2, 746.9, 747.1])))
    assert row["average_passes"] is False


def test_averages_of_tax_periods_are_judged_once_there_are_six() -> None:
    near = FillAsked(750, averages_ml=[750.0, 752.0, 751.0, 750.0, 749.0, 750.0])
    assert "lie 0.04 % from 750 mL: near enough" in words(near, "US")
    assert "too far" in words(FillAsked(750, averages_ml=[755.0] * 6), "US")
    assert "too few periods" in words(FillAsked(750, averages_ml=[755.0] * 5), "US")


def test_a_size_without_a_rule_names_what_to_enter() -> None:
    assert "rules set fill-each.733ml" in words(FillAsked(733, [733.0, 734.0]), "US")


def test_a_level_in_the_neck_is_a_volume() -> None:
    """A bore of 18.5 mm holds 0.2688 mL a millimetre (pi x 9.25^2 / 1000)."""
    assert volume_from_level(750, -2, 18.5) == pytest.approx(750 - 0.5376, abs=1e-4)
    assert volume_from_level(750, 0, 18.5) == 750
