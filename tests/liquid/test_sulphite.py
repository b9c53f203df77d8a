"""Sulphite: two conventions, their inverses, and the dose."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.errors import BadInput, OutOfRange
from cooperage.liquid import OutsideFormula, bound_share_measured, free_so2_for, molecular_so2, so2_pk, sulphite_dose
from cooperage.liquid._molecular import free_so2, metabisulphite_g, molecular_share
from cooperage.liquid.hazards import CAUTION, DECLARED_FROM

IONIC = 0.51 * 0.038**0.5 / (1 + 1.65 * 0.038**0.5)  # so2_facts.json


def test_the_table_on_its_nodes(published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]) -> None:
    """OIV-MA-AS323-04C Table I, less the ionic strength correction."""
    table = published("so2_pk_thermodynamic.csv")
    ours = so2_pk(table["abv_percent"], table["t_degC"]) + IONIC
    agrees(ours, table["pk_thermodynamic"], 0.001)


def test_the_ionic_strength_correction(facts: Callable[[str], dict[str, Any]]) -> None:
    """-0.075, so that water at 20 °C has 1.723."""
    assert facts("so2_facts.json")["medium_dependence"]["ionic_strength_mol_L"] == 0.038
    assert so2_pk(0.0, 20.0) == pytest.approx(1.723, abs=5e-4)


def test_free_for_molecular_by_the_old_convention(published: Callable[..., dict[str, np.ndarray]]) -> None:
    """Enology Briefs: max(1 mg/L, 4 %) for 0.5 and 0.8; 8 % for the sweet wine rows."""
    table = published("so2_free_for_molecular.csv")
    ours = free_so2_for(table["molecular_so2_mg_L"], table["ph"], convention="pk181")
    printed = table["free_so2_mg_L"]
    allowed = np.where(table["molecular_so2_mg_L"] == 1.5, 0.08 * printed, np.maximum(1.0, 0.04 * printed))
    assert (np.abs(ours - printed) <= allowed).all()


def test_molecular_share_by_the_old_convention(
    published: Callable[..., dict[str, np.ndarray]], agrees: Callable[..., None]
) -> None:
    """Enology Briefs, percent of free."""
    table = published("so2_fractions.csv")
    agrees(molecular_so2(100.0, table["ph"], convention="pk181"), table["molecular_percent"], 0.06)


BY_EQUATION = np.array(
    [
        (2.9, 7.52, 6.7, 8.0, 10.6), (3.0, 6.07, 8.2, 9.9, 13.2), (3.1, 4.88, 10.2, 12.3, 16.4),
        (3.2, 3.91, 12.8, 15.3, 20.4), (3.3, 3.14, 16.0, 19.1, 25.5), (3.4, 2.51, 20.0, 23.9, 31.9),
        (3.5, 2.00, 25.0, 30.0, 40.0), (3.6, 1.60, 31.3, 37.6, 50.1), (3.7, 1.27, 39.3, 47.2, 62.9),
        (3.8, 1.01, 49.4, 59.2, 79.0), (3.9, 0.81, 62.0, 74.4, 99.2), (4.0, 0.64, 77.9, 93.5, 124.7),
    ]
)  # fmt: skip


def test_free_for_molecular_by_the_equation(agrees: Callable[..., None]) -> None:
    """Share of free that is molecular, and free for 0.5, 0.6, 0.8 mg/L by 1 + 10^(pH - 1.81); 3.134 stands as 3.14."""
    ph, share, *free = BY_EQUATION.T
    agrees(molecular_so2(100.0, ph, convention="pk181"), share, 0.006)
    for target, printed in zip((0.5, 0.6, 0.8), free, strict=True):
        agrees(free_so2_for(target, ph, convention="pk181"), printed, 0.051)


def test_thirty_two_free_at_ph_3_4() -> None:
    """32 / (1 + 10^(3.4 - 1.81)) is 0.80 mg/L."""
    assert molecular_so2(32.0, 3.4, convention="pk181") == pytest.approx(0.80, abs=0.005)


def test_alcohol_and_warmth_raise_the_molecular_share() -> None:
    """At 15 % vol and 25 °C about 2.5 times what pK 1.81 says (README, trap 13)."""
    ratio = molecular_so2(30.0, 3.4, 15.0, 25.0) / molecular_so2(30.0, 3.4, convention="pk181")
    assert ratio == pytest.approx(2.5, abs=0.1)


def test_below_the_table_it_goes_on_by_the_law_of_vant_hoff() -> None:
    """By hand from 20 to 10 °C: 1/283.15 - 1/293.15 = 1.2047e-4 per K, times 17410/(8.3145 ln 10), is 0.1096."""
    assert so2_pk(13.5, 20.0) - so2_pk(13.5, 10.0) == pytest.approx(0.1096, abs=2e-4)
    assert so2_pk(13.5, 19.999) == pytest.approx(so2_pk(13.5, 20.0), abs=1e-4)


def test_free_inverts_molecular() -> None:
    """Both conventions."""
    free = np.array([5.0, 30.0, 80.0])
    assert free_so2_for(molecular_so2(free, 3.4, 13.5, 14.0), 3.4, 13.5, 14.0) == pytest.approx(free)
    old = molecular_so2(free, 3.4, convention="pk181")
    assert free_so2_for(old, 3.4, convention="pk181") == pytest.approx(free)


def test_strength_and_temperature_are_asked_for() -> None:
    """The full convention guesses neither."""
    with pytest.raises(BadInput, match="give strength and temperature"):
        molecular_so2(30.0, 3.4)


def test_an_unknown_convention_is_refused() -> None:
    """With the two names."""
    with pytest.raises(BadInput, match='"oiv" or "pk181"'):
        molecular_so2(30.0, 3.4, 13.5, 15.0, convention="guess")  # type: ignore[arg-type]  # no such convention


def test_a_dose_by_hand(facts: Callable[[str], dict[str, Any]]) -> None:
    """10 mg/L in 225 L is 2.25 g SO2, 3.9 g of metabisulphite of 57.62 %, 45 mL of a 50 g/L solution."""
    share = facts("so2_facts.json")["so2_from_potassium_metabisulfite"]["mass_fraction"]
    dose = sulphite_dose(225.0, 10.0)
    assert dose.gas_g == pytest.approx(2.25)
    assert dose.metabisulphite_g == pytest.approx(2.25 / share)
    assert dose.solution_ml == pytest.approx(45.0)


@pytest.mark.parametrize(("rise", "grams"), [(10.0, 3.91), (30.0, 11.7)])
def test_doses_for_a_barrique(rise: float, grams: float) -> None:
    """Metabisulphite for 225 L with nothing binding: 57.6 % of it is SO2 (stoichiometry)."""
    assert sulphite_dose(225.0, rise).metabisulphite_g == pytest.approx(grams, abs=0.02 if rise < 20 else 0.05)


def test_what_binds_must_be_added_too() -> None:
    """If 40 % binds, 10 mg/L free takes 10/0.6."""
    assert sulphite_dose(225.0, 10.0, 0.4).gas_g == pytest.approx(2.25 / 0.6)
    assert bound_share_measured(18.0, 30.0) == pytest.approx(0.4)


def test_never_a_dose_without_the_caution() -> None:
    """It names asthma, air and whose rules come first, and gives no advice on labels."""
    caution = sulphite_dose(1.0, 1.0).caution
    assert caution == CAUTION
    assert all(word in caution for word in ("asthma", "air moving", "local rules"))
    assert "10 mg" not in caution


def test_from_when_sulphites_are_declared_is_a_reference_with_its_sources() -> None:
    """10 mg/kg or 10 mg/L and 10 ppm, each by its law, and whom to ask; "declare" is nobody's to say here."""
    assert all(law in DECLARED_FROM for law in ("No 1169/2011, Annex II, point 12", "27 CFR 4.32(e)"))
    assert DECLARED_FROM.startswith("Labels (for reference, no advice)")
    assert "check with your authority" in DECLARED_FROM


def test_a_rise_beyond_any_legal_total_is_refused() -> None:
    """Grams typed for milligrams."""
    with pytest.raises(OutOfRange, match="between 0 and 350 mg/L, not 3000"):
        sulphite_dose(225.0, 3000.0)


@given(ph=st.floats(2.0, 5.0), abv=st.floats(0.0, 20.0), celsius=st.floats(0.0, 40.0))
def test_one_liquid_is_calculated_as_arrays_of_them_are(ph: float, abv: float, celsius: float) -> None:
    """Plain floats give what arrays give, to the last digits."""
    assert molecular_share(ph, abv, celsius) == pytest.approx(float(molecular_so2(1.0, ph, abv, celsius)), rel=1e-13)


@pytest.mark.parametrize("outside", [(1.9, 12.0, 15.0), (3.4, 20.1, 15.0), (3.4, 12.0, 40.1)])
def test_one_liquid_outside_the_table_is_refused_as_arrays_are(outside: tuple[float, float, float]) -> None:
    """The same words, whichever way it is asked."""
    with pytest.raises(OutsideFormula) as refused:
        molecular_share(*outside)
    with pytest.raises(OutsideFormula, match=re.escape(str(refused.value))):
        molecular_so2(1.0, *outside)


@given(
    st.floats(0.0, 5.0), st.floats(2.0, 5.0), st.floats(0.0, 20.0), st.floats(0.0, 40.0),
    st.floats(0.0, 1000.0), st.floats(0.0, 350.0), st.floats(0.0, 0.9),
)  # fmt: skip
def test_the_dose_of_one_liquid_is_that_of_arrays(
    wanted: float, ph: float, abv: float, celsius: float, litres: float, rise: float, bound: float
) -> None:
    """Plain floats and arrays go by the same formulas."""
    assert free_so2(wanted, ph, abv, celsius) == pytest.approx(float(free_so2_for(wanted, ph, abv, celsius)), rel=1e-13)
    grams = float(sulphite_dose(litres, rise, bound).metabisulphite_g)
    assert metabisulphite_g(litres, rise, bound) == pytest.approx(grams, rel=1e-13)


@pytest.mark.parametrize("outside", [(-1.0, 10.0, 0.4), (225.0, 350.1, 0.4), (225.0, -1.0, 0.4), (225.0, 10.0, 0.91)])
def test_the_dose_of_one_liquid_outside_is_refused_as_that_of_arrays(outside: tuple[float, float, float]) -> None:
    """The same words, whichever way it is asked."""
    with pytest.raises(OutsideFormula) as refused:
        metabisulphite_g(*outside)
    with pytest.raises(OutsideFormula, match=re.escape(str(refused.value))):
        sulphite_dose(*outside)
    with pytest.raises(OutsideFormula):
        free_so2(-0.1, 3.4, 12.0, 15.0)
