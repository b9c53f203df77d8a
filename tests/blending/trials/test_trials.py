"""A trial from its plan to the brief of its best blend, on a small book whose panel has a known taste."""

import csv
import math
import shutil
from collections.abc import Callable
from datetime import timedelta
from itertools import count
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from cooperage.blending.brief.brief import read_brief
from cooperage.blending.from_cellar import pool_of
from cooperage.blending.solving import solve
from cooperage.blending.trials.hand_over import brief_of_best, most_litres, short_words
from cooperage.blending.trials.kept import TrialStands, row_of, trial, trials, withdraw_trial
from cooperage.blending.trials.picture import surface_svg
from cooperage.blending.trials.planning import TrialAsked, keep_trial, plan_trial
from cooperage.blending.trials.pouring import NoSuchSession, PouredAlready, pour_trial
from cooperage.blending.trials.precision import TrialPlan
from cooperage.blending.trials.region import NoBlendWithin, region_of
from cooperage.blending.trials.result_words import best_words, fit_words
from cooperage.blending.trials.results import TrialUnscored, surface_at, trial_results
from cooperage.blending.trials.sheet import sheet_cells, sheet_csv, trial_sheet
from cooperage.blending.trials.stocks import FigureUnknown, NothingInStock, parse_limits, parse_stock
from cooperage.blending.trials.trial import NoSuchTrial, Trial, TrialState, TrialWithdrawn
from cooperage.blending.trials.triangle import plot_lines
from cooperage.book import Barrel, Book, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.verdicts import Judgement
from cooperage.errors import BadInput, CooperageError
from cooperage.exchange import export_folder, import_folder
from cooperage.exchange.copying import copy_book
from cooperage.tasting.flights import flight, reveal, score
from cooperage.tasting.flights.errors import NothingToJudge
from cooperage.tasting.flights.sheet import sheet_columns, sheet_lines, sheet_rows
from cooperage.units import Units
from tests.conftest import BEGINNING, Clock

PANEL = ("Ada", "Bea", "Cem")


def add(book: Book, tag: str, kind: str = "tank") -> None:
    with book.writing() as session:
        session.add_vessel(Vessel("", tag, kind, 500_000, "measured", barrel=Barrel() if kind == "barrel" else None))


@pytest.fixture
def stocked(fresh_sqlite: Callable[[], Book]) -> Book:
    """Three tanks: 10, 12 and 14 % vol."""
    book = fresh_sqlite()
    for number, abv in enumerate((10.0, 12.0, 14.0), 1):
        tag = f"V-{number}"
        add(book, tag)
        book.write(acts.Receive(vessel=tag, lot="heather", volume=300_000))
        book.write(acts.Reading(vessel=tag, property="abv", value=abv))
        book.write(acts.Reading(vessel=tag, property="sugar_g_l", value=40.0))
    return book


@pytest.fixture
def elsewhere(tmp_path: Path, empty_cellar: Path) -> Callable[[], Book]:
    """Make empty books a day later: what was written here lies in their past."""
    taken = count()

    def make() -> Book:
        path = shutil.copy(empty_cellar, tmp_path / f"other-{next(taken)}.db")
        return Book.open(str(path), Clock(BEGINNING + timedelta(days=1)))

    return make


def planned(book: Book, *stocks: str, limits: tuple[str, ...] = (), **asked: Any) -> TrialPlan:
    given = [parse_stock(each) for each in stocks or ("V-1", "V-2", "V-3")]
    about = {"tasters": PANEL} | asked
    return plan_trial(book, book.cellar(), TrialAsked(given, limits=parse_limits(limits), **about))


def liked(shares: Any) -> float:
    """What the panel likes: best at a half of the first and the second each."""
    a, b, c = (*shares, 0.0)[:3]
    return float(10 + 2 * a + 2 * b + c + 12 * a * b)


def tasted(book: Book, *stocks: str, **asked: Any) -> Trial:
    """A trial that is poured, scored by the panel and revealed."""
    kept = keep_trial(book, planned(book, *stocks, **asked), hand="Maren")
    rng = np.random.default_rng(3)
    for session in kept.sessions:
        _, poured = pour_trial(book, kept.code, session, rng=rng)
        for glass in poured.glasses:
            tried = kept.glass_named(glass.called)
            assert tried is not None
            for lean, name in enumerate(PANEL):
                score(book, poured.code, glass.code, name, round(liked(tried.shares) + lean + rng.normal(0, 0.4), 1))
        reveal(book, poured.code)
    return trial(book, kept.code)


def test_the_sheet_gives_millilitres_and_the_fit_goes_by_them(stocked: Book) -> None:
    """A third of 100 mL in steps of 1 mL is 34, 33, 33: that is what was poured, and what is kept."""
    kept = keep_trial(stocked, planned(stocked, glass_ml=100.0))
    sheet = trial_sheet(kept, stocked.cellar())
    assert kept.glasses[-1].ml == (34.0, 33.0, 33.0)
    assert kept.glasses[-1].shares == (0.34, 0.33, 0.33)
    assert sheet.strays_by_points == pytest.approx(100 * (0.34 - 1 / 3))
    assert [each.ml for each in sheet.totals] == [234.0, 233.0, 233.0]
    assert [each.held_ml for each in sheet.totals] == 3 * [300_000]
    assert sheet_cells(sheet, Units(decimal=","))[-2][-1] == "34,0 / 33,0 / 33,0"
    assert sheet_csv(sheet).splitlines()[-1] == "TR-1/7,1,34,33,33"


def test_limits_cut_what_is_tried(stocked: Book) -> None:
    """Every blend of a limited trial keeps the limit, to the rounding of the pipette."""
    plan = planned(stocked, "V-1=10-60", "V-2", "V-3", limits=("abv=11.5-12.5",), glass_ml=200.0)
    assert plan.trial.design == "d-optimal"
    strength = np.array([glass.planned for glass in plan.trial.glasses]) @ [10, 12, 14]
    assert strength.min() >= 11.5 - 1e-9
    assert strength.max() <= 12.5 + 1e-9
    assert plan.checks > 0


@pytest.mark.slow
def test_a_wider_panel_and_more_glasses_show_smaller_differences(stocked: Book) -> None:
    alone, panel = planned(stocked, tasters=("Ada",), repeats=2), planned(stocked, repeats=2)
    assert panel.shows < alone.shows
    assert planned(stocked, repeats=4).usual_band < panel.usual_band
    assert len(planned(stocked, repeats=4).trial.sessions) == 4  # no taster has more than eight glasses at a sitting


@pytest.mark.parametrize(
    ("stocks", "limits", "error", "why"),
    [
        (("V-1",), (), BadInput, "2 to 6 stocks"),
        (("V-1", "V-1"), (), BadInput, "named twice"),
        (("V-1", "X-9"), (), BadInput, "no vessel and no lot"),
        (("V-1", "E-1"), (), NothingInStock, "is empty"),
        (("V-1=60-100", "V-2=60-100"), (), NoBlendWithin, "least shares come to 120 %"),
        (("V-1=0-20", "V-2=0-20"), (), NoBlendWithin, "greatest shares come to 40 %"),
        (("V-1", "V-2"), ("abv=15-16",), NoBlendWithin, "from 10.0 % vol to 12.0 % vol"),
        (("V-1", "V-2"), ("va=max 0.5",), FigureUnknown, "is not known"),
    ],
)
def test_what_cannot_be_tried_is_refused_in_a_line(
    stocked: Book, stocks: tuple[str, ...], limits: tuple[str, ...], error: type[CooperageError], why: str
) -> None:
    add(stocked, "E-1")
    with pytest.raises(error, match=why) as refused:
        planned(stocked, *stocks, limits=limits)
    assert "\n" not in str(refused.value)
    assert not trials(stocked)


@pytest.mark.parametrize("bounds", ["V-1=", "=20", "V-1=80-20", "V-1=high", "V-1=20-120"])
def test_bounds_that_are_none_are_refused(bounds: str) -> None:
    with pytest.raises(BadInput, match=r"bounds|shares lie"):
        parse_stock(bounds)


def test_bounds_are_read_in_every_form() -> None:
    ends = [parse_stock(each) for each in ("A=20-60", "A=max 40 %", "A=min 10", "A=30±10", "A=12,5-50", "A")]
    assert [(each.low, each.high) for each in ends] == [
        (0.2, 0.6), (0.0, 0.4), (0.1, 1.0), (0.2, 0.4), (0.125, 0.5), (0.0, 1.0)
    ]  # fmt: skip


@pytest.mark.slow
def test_the_best_blend_is_found_and_handed_over(stocked: Book) -> None:
    """The panel likes half and half of V-1 and V-2; the brief asks for that, and the blend desk draws it."""
    kept = tasted(stocked, repeats=2)
    found = trial_results(stocked, kept.code)
    best = found.best
    assert best is not None
    assert best.shares == pytest.approx([0.5, 0.5, 0.0], abs=0.06)
    assert best.chance_over_stocks is not None
    assert best.chance_over_stocks > 0.99
    assert found.fit.lack_of_fit.p > 0.01
    assert found.scores == 2 * 7 * 3
    brief = brief_of_best(found, stocked.cellar(), 100)
    assert sum(span["max"] for span in brief["share"].values()) == pytest.approx(1.01)
    assert not short_words(found, stocked.cellar(), 100)
    give = most_litres(found, stocked.cellar())
    assert short_words(found, stocked.cellar(), 9000) == (
        f"The stocks give {give:.1f} L of this blend; 9000.0 L are asked for."
    )
    answer = solve(pool_of(stocked.cellar(), {}), brief)
    drawn = {draw.stock: draw.litres / 100 for draw in answer.draws}
    assert drawn["V-1"] == pytest.approx(best.shares[0], abs=0.011)
    assert set(drawn) == {"V-1", "V-2"}


def test_a_limit_given_later_moves_the_best_blend(stocked: Book) -> None:
    """Strength of 13 % vol and more is far from what the panel likes best, and the words say how sure it is."""
    kept = tasted(stocked)
    found = trial_results(stocked, kept.code, limits=parse_limits(("abv=min 13",)), cellar=stocked.cellar())
    assert found.best is not None
    assert found.best.shares @ [10, 12, 14] >= 13 - 1e-6
    assert np.isnan(surface_at(found, [[1.0, 0.0, 0.0]])).all()
    assert read_brief(brief_of_best(found, stocked.cellar())).limits["abv"].low == 13
    assert any(line.startswith("Best blend: ") for line in best_words(found))
    assert any("lack" in line for line in fit_words(found))


@pytest.mark.slow
def test_the_plot_marks_the_best_blend_and_what_is_outside(stocked: Book) -> None:
    found = trial_results(stocked, tasted(stocked, "V-1=max 80", "V-2", "V-3").code)
    lines = plot_lines(found)
    assert lines[1].strip() == "."  # all of the first stock is outside
    assert sum(line.count("*") for line in lines[:-2]) == 1
    svg = ElementTree.fromstring(surface_svg(found))
    tag = "{http://www.w3.org/2000/svg}"
    assert len(svg.findall(f"{tag}circle")) == len(found.blends)
    assert len(svg.findall(f"{tag}polygon")) == 36**2 + 1


def test_a_session_is_poured_once_and_scores_wait_for_the_reveal(stocked: Book) -> None:
    kept = keep_trial(stocked, planned(stocked, repeats=2))
    assert kept.sessions == [1, 2]
    with pytest.raises(TrialUnscored, match="not poured yet"):
        trial_results(stocked, kept.code)
    after, poured = pour_trial(stocked, kept.code)
    assert (after.state, after.left_to_pour) == (TrialState.POURED, [2])
    assert after.state_in_short == "1 of 2 poured, 0 revealed"
    assert poured.named == list(PANEL)
    assert sorted(glass.called for glass in poured.glasses) == sorted(kept.glass_name(g) for g in kept.of_session(1))
    with pytest.raises(PouredAlready):
        pour_trial(stocked, kept.code, 1)
    with pytest.raises(NoSuchSession, match="sessions 1 to 2"):
        pour_trial(stocked, kept.code, 3)
    with pytest.raises(TrialUnscored, match="still blind"):
        trial_results(stocked, kept.code)


def test_what_one_session_shows_names_the_other(stocked: Book) -> None:
    """Results of the session that is revealed: the one that is awaited is named, and one taster's lone scores fit."""
    kept = keep_trial(stocked, planned(stocked, repeats=2))
    _, poured = pour_trial(stocked, kept.code)
    for glass in poured.glasses:
        score(stocked, poured.code, glass.code, "Ada", 12.0)
    reveal(stocked, poured.code, sure=True)
    found = trial_results(stocked, kept.code)
    assert found.awaited == (2,)
    assert any("1 session that is not revealed" in line for line in fit_words(found))


def test_a_lot_is_named_as_racks_name_it(stocked: Book) -> None:
    """As a filter of racks does, or by its code alone; a trial that is not there may be one across barrels."""
    add(stocked, "N-1", "barrel")
    stocked.write(acts.Fill(vessel="N-1", source="V-2", volume=90_000))
    plain, named = planned(stocked, "heather", "V-1"), planned(stocked, "lot Heather", "V-1")
    assert plain.trial.stocks == named.trial.stocks
    with pytest.raises(NoSuchTrial, match="`cooperage trial barrels list`"):
        withdraw_trial(stocked, "STIR", "too few")


def test_what_a_trial_takes_of_each_vessel_is_written(stocked: Book) -> None:
    """As the bench sheet sums it up for the session, to the whole mL above; nothing where that is left out."""
    kept = keep_trial(stocked, planned(stocked, repeats=2))
    held = {tag: stocked.cellar()[tag].ml for tag in kept.names}
    totals = {each.vessel: each.ml for each in trial_sheet(kept, stocked.cellar(), 1).totals}
    pour_trial(stocked, kept.code, hand="Ada")
    taken = {tag: ml - stocked.cellar()[tag].ml for tag, ml in held.items()}
    assert taken == {tag: math.ceil(ml) for tag, ml in totals.items()}
    assert min(taken.values()) > 0
    pour_trial(stocked, kept.code, samples=False)
    assert taken == {tag: ml - stocked.cellar()[tag].ml for tag, ml in held.items()}


def test_a_trial_asks_for_no_verdict(stocked: Book) -> None:
    """Neither on its sheets nor in its table; one that is given is refused at every door, as nothing could follow."""
    kept = keep_trial(stocked, planned(stocked, "V-1", "V-2", tasters=("Ada",)))
    _, poured = pour_trial(stocked, kept.code)
    assert not any("verdict" in line for line in sheet_lines(poured, "Ada"))
    assert "verdict" not in sheet_columns(poured)
    assert {len(row) for row in sheet_rows(poured, "Ada")} == {len(sheet_columns(poured))}
    with pytest.raises(NothingToJudge, match="leave the verdict out"):
        score(stocked, poured.code, poured.glasses[0].code, "Ada", 12.0, verdict=Judgement("keep"))
    assert flight(stocked, poured.code).scores == {}


def test_scores_that_show_nothing_leave_it_open(stocked: Book) -> None:
    """One taster gave both stocks alike: the words do not claim that blending gains."""
    kept = keep_trial(stocked, planned(stocked, "V-1", "V-2", tasters=("Ada",)))
    _, poured = pour_trial(stocked, kept.code)
    for glass in poured.glasses:
        score(stocked, poured.code, glass.code, "Ada", 12.0)
    reveal(stocked, poured.code)
    found = trial_results(stocked, kept.code)
    assert found.best is not None
    assert any("leave it open" in line or "do not show" in line for line in best_words(found))


def test_a_trial_is_withdrawn_with_a_reason_and_never_changed(stocked: Book) -> None:
    kept = keep_trial(stocked, planned(stocked))
    for statement in ("UPDATE trial SET question = 'x'", "DELETE FROM trial", "REPLACE INTO trial SELECT * FROM trial"):
        with pytest.raises(DBAPIError, match="stands as it was planned"), stocked.writing() as session:
            session.connection.execute(text(statement))
    with pytest.raises(BadInput, match="Give a reason"):
        withdraw_trial(stocked, kept.code, " ")
    withdraw_trial(stocked, "tr-1", "V-1 is sold", hand="Maren")
    with pytest.raises(TrialWithdrawn, match="V-1 is sold"):
        pour_trial(stocked, kept.code)
    assert [each.state_words for each in trials(stocked)] == ["withdrawn: V-1 is sold"]
    assert [each.state_in_short for each in trials(stocked)] == ["withdrawn"]
    done = tasted(stocked)
    with pytest.raises(TrialStands):
        withdraw_trial(stocked, done.code, "did not like it")


@pytest.mark.slow
def test_trials_come_back_from_an_export_and_a_copy(
    stocked: Book, elsewhere: Callable[[], Book], tmp_path: Path
) -> None:
    """One scored, one poured blind, one withdrawn: all as they were, and a second time nothing is new."""
    scored = tasted(stocked)
    blind = keep_trial(stocked, planned(stocked, "V-1", "V-2", limits=("abv=max 11.5",), question="how strong?"))
    pour_trial(stocked, blind.code)
    gone = keep_trial(stocked, planned(stocked))
    withdraw_trial(stocked, gone.code, "V-3 is sold")
    for path in (tmp_path / "out", tmp_path / "out.xlsx"):
        export_folder(stocked, path)
        other = elsewhere()
        assert import_folder(other, path).counts["trials"] == 3
        assert trials(other) == trials(stocked)
        assert import_folder(other, path).counts["trials"] == 0
    copy_book(stocked, str(tmp_path / "copy.db"))
    for came in (other, Book.open(str(tmp_path / "copy.db"))):
        assert trials(came) == trials(stocked)
        reveal(came, flight(came, blind.code).code, sure=True)
        assert trial_results(came, scored.code).best is not None


@pytest.mark.parametrize(
    ("column", "value", "why"),
    [
        ("stocks", "[]", "2 to 6 stocks"),
        ("stocks", "none", "not as an export writes it"),
        ("glasses", '[{"session": 0, "planned": [1, 0, 0], "ml": [1, 0, 0]}]', "needs a session"),
        ("glasses", '[{"session": 1, "planned": [1, 0, 0], "ml": [0, 0, 0]}]', "nothing at all"),
        ("glasses", '[{"session": 1}]', "not as an export writes it"),
        ("degree", "4", "no kind of trial"),
        ("scale", "high", "not a scale"),
        ("flights", "1=F-99", "no flight"),
        ("flights", "TR-1", "no session and flight"),
        ("code", "A/B", "names of glasses"),
        ("step_ml", "0", "above 0"),
    ],
)
def test_a_bad_row_is_refused_with_its_place(
    stocked: Book, elsewhere: Callable[[], Book], tmp_path: Path, column: str, value: str, why: str
) -> None:
    keep_trial(stocked, planned(stocked))
    export_folder(stocked, tmp_path / "out")
    file = tmp_path / "out" / "trials.csv"
    with file.open(newline="") as came:
        head, row = csv.reader(came)
    row[head.index(column)] = value
    with file.open("w", newline="") as out:
        csv.writer(out).writerows([head, row])
    other = elsewhere()
    with pytest.raises(CooperageError, match=rf"trials\.csv line 2.*{why}"):
        import_folder(other, tmp_path / "out")
    assert not trials(other)


def test_a_lot_stands_for_its_barrels(stocked: Book) -> None:
    """The bench mixes them in equal parts; the brief means them by their label."""
    for number in (1, 2):
        add(stocked, f"N-{number}", "barrel")
        stocked.write(acts.Fill(vessel=f"N-{number}", source="V-2", volume=90_000))
    kept = tasted(stocked, "heather", "V-1", repeats=2)
    assert kept.stocks[0].vessels == ("N-1", "N-2")
    totals = {each.vessel: each.ml for each in trial_sheet(kept, stocked.cellar()).totals}
    assert totals["N-1"] == totals["N-2"] == totals["V-1"] / 2
    assert row_of(kept)["stocks"][0]["name"] == "HEATHER"
    assert region_of(kept.stocks, kept.limits).components == 2


@pytest.mark.parametrize("glass_ml", [7.0, 30.0, 101.0])
def test_what_is_pipetted_keeps_to_the_bounds_of_each_stock(stocked: Book, glass_ml: float) -> None:
    """Thirds and fifths of a bound do not fall on the steps of a pipette: they are rounded inwards."""
    made = planned(stocked, "V-1=0-33", "V-2=15-80", "V-3", glass_ml=glass_ml)
    shares = np.array([glass.shares for glass in made.trial.glasses])
    assert shares[:, 0].max() <= 0.33
    assert 0.15 <= shares[:, 1].min() < shares[:, 1].max() <= 0.8
    assert shares.sum(axis=1) == pytest.approx(1)
