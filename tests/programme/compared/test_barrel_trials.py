"""A trial across barrels from its plan to its answer: what stands, what is hidden, what its words claim."""

from dataclasses import replace

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.compared.brief import barrel_words, sittings_due, state_words, trial_lines_of
from cooperage.programme.compared.kept import barrel_trials, keep_trial, trial_coded, trials_of, withdraw_trial
from cooperage.programme.compared.layout import TooFewTrialBarrels
from cooperage.programme.compared.outcome import trial_outcome
from cooperage.programme.compared.planning import (
    NotADifference,
    TreatmentNotGiven,
    TreatmentsUnclear,
    power_of,
)
from cooperage.programme.compared.pouring import pour_sitting
from cooperage.programme.compared.trial import (
    BarrelTrialWithdrawn,
    InATrialAlready,
    NoSuchBarrelTrial,
    NothingLeftToPour,
    NothingSeenYet,
    TrialTreatment,
)
from cooperage.programme.compared.words import (
    barrels_cells,
    design_words,
    means_cells,
    outcome_lines,
    power_lines,
    sittings_cells,
    treatment_lines,
)
from cooperage.programme.page.marks import page_of
from cooperage.tasting.flights import flight, reveal
from cooperage.units import local_day
from tests.conftest import Clock
from tests.programme.compared.conftest import TAGS, in_days, kept, planned, taste


def test_a_plan_writes_nothing_and_states_its_power(six: Book) -> None:
    plan = planned(six, difference="2.5")
    assert barrel_trials(six) == []
    lines = power_lines(plan)
    assert "common practice, no source" in lines[0]
    power, low, high = plan.power.power(2.5)
    assert f"A difference of 2.5 points would be found in {100 * power:.0f} of 100" in lines[1]
    assert low < power < high
    assert plan.trial.stated.power == power
    assert plan.power.power(plan.trial.stated.least)[0] == pytest.approx(0.8, abs=1e-6)
    assert [row[0] for row in barrels_cells(plan)] == ["2", "3", "4", "6", "8", "12"]


def test_a_kept_trial_is_read_as_it_was_planned(six: Book) -> None:
    plan = planned(six, block_by=["row"], days=in_days(six, 0, 30), difference="2")
    made = keep_trial(six, plan.trial)
    assert replace(made, id="", written_at=plan.trial.written_at) == plan.trial
    assert trial_coded(six, "top") == made
    assert [each.block for each in made.barrels] == ["row A"] * 3 + ["row B"] * 3
    assert power_of(made).power(2.0) == plan.power.power(2.0)


def test_the_seed_draws_the_same_and_is_kept(six: Book) -> None:
    first, again, other = (planned(six, seed=seed).trial.barrels for seed in (9, 9, 10))
    assert first == again
    assert {planned(six, seed=seed).trial.barrels for seed in range(12)} != {first}
    assert {each.vessel for each in other} == set(TAGS)
    assert kept(six, seed=9).seed == 9


def test_a_trial_is_poured_blind_scored_and_answered(six: Book) -> None:
    """Weekly barrels score 2 points more, but for what barrels differ by; means, difference and interval by hand."""
    trial = kept(six)
    weekly, monthly = trial.by_treatment().values()
    given = dict(zip(weekly, (14.0, 14.5, 15.0), strict=True)) | dict(zip(monthly, (12.0, 12.5, 13.0), strict=True))
    code = taste(six, "TOP", given, revealed=False)
    assert code == "TOP-1"
    with pytest.raises(NothingSeenYet, match="none of its flights is revealed"):
        trial_outcome(six, "TOP")
    reveal(six, code, sure=True)
    found = trial_outcome(six, "TOP")
    pair = found.compared.pairs[0]
    # means of three barrels with variance 0.25 each: the error is the root of 0.25 * 2 / 3, t of 4 degrees is 2.7764
    assert pair.value == pytest.approx(2.0)
    half = 2.77645 * (0.5 / 3) ** 0.5
    assert (pair.low, pair.high) == pytest.approx((2 - half, 2 + half), abs=1e-4)
    assert found.compared.degrees == 4
    lines = outcome_lines(found)
    assert lines[0] == "weekly is 2.0 points higher than monthly (0.9 to 3.1 points, 95 %)."
    assert [row[0] for row in means_cells(found)] == ["weekly", "monthly"]
    assert "By 1 of 1 planned flights: TOP-1; it holds for this panel." in lines


def test_where_no_difference_is_found_the_words_give_what_would_have_been(six: Book) -> None:
    kept(six, days=in_days(six, 0, 30))
    taste(six, "TOP", dict(zip(TAGS, (12.0, 14.0, 13.0, 12.5, 14.5, 13.5), strict=True)))
    found = trial_outcome(six, "TOP")
    words = outcome_lines(found)
    assert words[0].startswith("No difference found between weekly and monthly (-")
    assert f"one of {found.compared.pairs[0].least:.1f} points would have been found in 8 of 10 such trials" in words[0]
    assert any("stop at the first difference" in line for line in words)


def test_a_barrel_shows_no_treatment_while_a_flight_is_blind(six: Book) -> None:
    trial = kept(six)
    tag, name = trial.barrels[0].vessel, trial.treatments[trial.barrels[0].treatment].name
    assert trial_lines_of(six, tag) == [f"TOP, does topping weekly keep it fresher? {name}"]
    code = taste(six, "TOP", dict.fromkeys(TAGS, 12.0), revealed=False)
    blind = trial_coded(six, "TOP")
    shown = [*trial_lines_of(six, tag), barrel_words(blind, tag), design_words(blind), *treatment_lines(blind)]
    assert not any(name in line and tag in line for line in shown)
    assert "weekly" not in trial_lines_of(six, tag)[0].replace("topping weekly", "")
    assert "seed" not in design_words(blind)
    assert blind.treatment_of(tag) is None
    codes = {glass.code for glass in flight(six, code).glasses}
    assert not any(each in line for line in shown for each in codes)
    reveal(six, code, sure=True)
    assert trial_coded(six, "TOP").treatment_of(tag) == trial.treatments[trial.barrels[0].treatment]


def test_the_page_of_a_barrel_has_its_trial(six: Book) -> None:
    """The page that the screen draws, and only while the trial is not over."""
    kept(six)
    assert page_of(six, cellar_now(six), "B-1").trials == tuple(trial_lines_of(six, "B-1"))
    assert len(page_of(six, cellar_now(six), "B-1").trials) == 1
    withdraw_trial(six, "TOP", "enough")
    assert page_of(six, cellar_now(six), "B-1").trials == ()


def test_sittings_hold_whole_blocks(six: Book) -> None:
    """Four glasses at most: each row of three barrels is a flight of its own, and treatments meet in both."""
    trial = kept(six, block_by=["row"], glasses=4, days=in_days(six, 0, 30))
    assert [(row[1], row[2]) for row in sittings_cells(trial)][:2] == [
        (trial.sittings[0].day.isoformat(), "B-1 B-2 B-3"),
        (trial.sittings[0].day.isoformat(), "B-4 B-5 B-6"),
    ]
    values = dict(zip(TAGS, (12.0, 14.5, 13.0, 15.0, 16.5, 17.0), strict=True))
    for number in range(1, 5):
        assert taste(six, "TOP", values) == f"TOP-{number}"
    found = trial_outcome(six, "TOP")
    assert found.compared.is_exact
    assert found.compared.degrees == 6 - 1 - 2
    with pytest.raises(NothingLeftToPour, match="every planned flight"):
        pour_sitting(six, "TOP")
    assert trial_coded(six, "TOP").is_over(local_day(six.now()))


def test_a_flight_of_a_trial_is_pulled_where_that_is_asked(six: Book) -> None:
    kept(six, days=in_days(six, 0, 1))
    held = {tag: six.cellar()[tag].ml for tag in TAGS}
    pour_sitting(six, "TOP")
    assert {tag: six.cellar()[tag].ml for tag in TAGS} == held
    pour_sitting(six, "TOP", 50)
    assert {tag: six.cellar()[tag].ml + 50 for tag in TAGS} == held


def test_what_is_due_stands_on_its_day(six: Book) -> None:
    kept(six, days=in_days(six, 0, 30))
    today, later = in_days(six, 0, 30)

    def due(day: object) -> list[str]:
        with six.reading() as connection:
            return [each.words for each in sittings_due(connection, day)]  # type: ignore[arg-type]

    assert due(today) == due(later) == ["trial TOP: pour flight 1 of 2"]
    taste(six, "TOP", dict.fromkeys(TAGS, 12.0))
    assert due(today) == []
    assert due(later) == ["trial TOP: pour flight 2 of 2"]
    assert state_words(trial_coded(six, "TOP"), today) == f"flight 2 of 2 planned {later.isoformat()}"


def test_a_trial_of_readings_is_answered_by_what_was_read_since(six: Book) -> None:
    six.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.35))  # before it began
    trial = kept(six, measure="va", difference="0.1", days=in_days(six, 1))
    assert (trial.measure, trial.scale, trial.tasters) == ("va_g_l", "", ())
    with pytest.raises(NothingLeftToPour, match="answered by readings"):
        pour_sitting(six, "TOP")
    with pytest.raises(NothingSeenYet, match="nothing was read"):
        trial_outcome(six, "TOP")
    clock = six.now
    assert isinstance(clock, Clock)
    clock.pass_days(1)
    weekly, monthly = trial.by_treatment().values()
    values = dict(zip((*weekly, *monthly), (0.30, 0.32, 0.31, 0.45, 0.44, 0.48), strict=True))
    written = [six.write(acts.Reading(vessel=tag, property="va_g_l", value=value)) for tag, value in values.items()]
    wrong = six.write(acts.Reading(vessel=weekly[0], property="va_g_l", value=0.8, sure=True))
    six.write(acts.Strike(entry=wrong.id))
    found = trial_outcome(six, "TOP")
    assert found.compared.pairs[0].value == pytest.approx(0.31 - (0.45 + 0.44 + 0.48) / 3)
    assert outcome_lines(found)[0].startswith("monthly is 0.15 g/L higher than weekly (")
    assert len(written) == found.compared.values


def test_treatments_that_barrels_are_already_are_not_drawn(six: Book) -> None:
    plan = planned(six, by="wood", seed=None)
    assert [each.name for each in plan.trial.treatments] == ["chestnut", "white oak"]
    assert plan.trial.layout.given == (2, 4)
    assert plan.trial.seed is None
    assert any("not drawn at random" in line for line in plan.notes)
    assert "not drawn at random" in design_words(plan.trial)


def test_treatments_given_by_hand(six: Book) -> None:
    given = {tag: "new" if number % 2 else "OLD" for number, tag in enumerate(TAGS)}
    plan = planned(six, given=given, treatments=[TrialTreatment("old", "as ever"), TrialTreatment("new")])
    assert [(each.name, each.words) for each in plan.trial.treatments] == [("old", "as ever"), ("new", "")]
    assert plan.trial.seed is None
    with pytest.raises(TreatmentNotGiven, match="no treatment is given for B-6"):
        planned(six, given=dict.fromkeys(TAGS[:5], "a"), treatments=())
    with pytest.raises(TreatmentNotGiven, match="not in the trial: B-9"):
        planned(six, given=given | {"B-9": "a"})


def test_what_cannot_be_a_trial_is_refused(six: Book) -> None:
    with pytest.raises(TreatmentsUnclear):
        planned(six, treatments=())
    with pytest.raises(TooFewTrialBarrels):
        planned(six, treatments=[TrialTreatment(name) for name in "abcdef"])
    with pytest.raises(NotADifference, match="up to 20"):
        planned(six, difference="21")
    with pytest.raises(BadInput, match="names two treatments"):
        kept(six, treatments=[TrialTreatment("Heavy"), TrialTreatment("heavy")])
    with pytest.raises(BadInput, match="name who is to taste"):
        planned(six, tasters=())
    with pytest.raises(NoSuchBarrelTrial, match="no trial X"):
        trial_coded(six, "X")


def test_a_barrel_is_in_one_trial_at_a_time_until_it_is_withdrawn(six: Book) -> None:
    kept(six)
    with pytest.raises(InATrialAlready, match="B-5, B-6: in trial TOP"):
        kept(six, code="SECOND")
    gone = withdraw_trial(six, "TOP", "the lot is sold", hand="Ada")
    assert gone.withdrawn is not None
    assert state_words(gone, local_day(six.now())) == "withdrawn: the lot is sold"
    assert trials_of(six, "B-1") == []
    for again in (lambda: withdraw_trial(six, "TOP", "again"), lambda: pour_sitting(six, "TOP")):
        with pytest.raises(BarrelTrialWithdrawn, match="the lot is sold"):
            again()
    assert kept(six, code="SECOND").code == "SECOND"
