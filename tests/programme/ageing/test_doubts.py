"""What figures of several vessels have in common: one instrument, one reading before they were filled, one lot."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.state import VesselState, from_text, to_text
from cooperage.programme.ageing.aged import aged, cellar_now
from cooperage.programme.ageing.doubts import OF_INSTRUMENT, CarriedOn
from cooperage.programme.ageing.filtering import carry_on
from cooperage.programme.ageing.learning import learn
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.side_by_side import Floats, Trails, trails_of
from cooperage.programme.ageing.trails import learned_from
from cooperage.programme.kept import FOLDER

if TYPE_CHECKING:
    from tests.conftest import Clock

TA, FREE = "ta_g_l", "free_so2_mg_l"


def covariance(book: Book, name: str, *tags: str) -> Floats:
    """Return the covariance of vessels' figures now, in squares of an ordinary reading's doubt."""
    doubts = cellar_now(book).doubts(tags, name)
    own = doubts.sd**2 - (doubts.common**2).sum(axis=1)
    assert (own >= 0).all()
    whole: Floats = (np.diag(own) + doubts.common @ doubts.common.T) / PROPERTIES[name].uncertainty ** 2
    return whole


def read(book: Book, vessel: str, name: str = TA, value: float = 5.5, **more: Any) -> None:
    """Write a reading."""
    book.write(acts.Reading(vessel=vessel, property=name, value=value, sure=True, **more))


@pytest.fixture
def filled(cellar_book: Book) -> Book:
    """T-1 read once, B-2 and B-4 filled from it since."""
    read(cellar_book, "T-1")
    for barrel in ("B-2", "B-4"):
        cellar_book.write(acts.Fill(vessel=barrel, source="T-1"))
    return cellar_book


def test_barrels_filled_after_one_reading_have_all_its_doubt_in_common(filled: Book) -> None:
    """A figure that came with the mead has the reading's doubt, all of it shared, and what filling changes besides."""
    together = covariance(filled, TA, "B-2", "B-4", "T-1")
    of_fill = (AGEINGS[TA].of_fill / PROPERTIES[TA].uncertainty) ** 2
    assert np.diag(together) == pytest.approx([1 + of_fill, 1 + of_fill, 1.0], rel=0.01)
    assert together[0, 1] == pytest.approx(1.0, rel=0.01)
    assert together[0, 2] == pytest.approx(1.0, rel=0.01)


def test_barrels_read_themselves_have_only_the_instrument_in_common(filled: Book) -> None:
    """Read on one day, in one lot, they are two readings: what is common is what the instrument is off by."""
    for barrel in ("B-2", "B-4"):
        read(filled, barrel)
    assert covariance(filled, TA, "B-2", "B-4")[0, 1] == pytest.approx(OF_INSTRUMENT, rel=0.02)


def test_a_later_reading_of_the_tank_is_another_one(filled: Book, clock: "Clock") -> None:
    """B-3, filled after the tank was read again, shares the instrument with B-2, and not the reading."""
    clock.pass_days(60)
    read(filled, "T-1")
    filled.write(acts.Fill(vessel="B-3", source="T-1", sure=True))
    together = covariance(filled, TA, "B-2", "B-4", "B-3", "T-1")
    assert together[0, 1] == pytest.approx(1.0, rel=0.1)
    assert together[0, 2] == pytest.approx(OF_INSTRUMENT, rel=0.05)
    assert 0.8 < together[2, 3] < 1.0


def test_a_topping_does_not_part_them(filled: Book, clock: "Clock") -> None:
    """A litre of what was read later, in one of the two, hardly changes what they share."""
    clock.pass_days(60)
    read(filled, "T-1")
    filled.write(acts.Top(vessel="B-2", source="T-1", volume=1000, sure=True))
    assert covariance(filled, TA, "B-2", "B-4")[0, 1] == pytest.approx(1.0, rel=0.1)


def test_each_method_errs_for_itself(filled: Book) -> None:
    """What the laboratory read errs not with the kit here; a method that was not told is the only one that was."""
    read(filled, "B-2", method="Kit")
    read(filled, "B-4", method="kit ")
    assert covariance(filled, TA, "B-2", "B-4", "T-1")[0, 1:] == pytest.approx(OF_INSTRUMENT, rel=0.02)
    read(filled, "B-4", method="lab")
    assert covariance(filled, TA, "B-2", "B-4")[0, 1] < 0.02


def test_an_instrument_that_is_said_to_be_surer_errs_less(filled: Book) -> None:
    """Half the doubt told, half of what the instrument may be off by."""
    read(filled, "B-2", uncertainty=0.1)
    read(filled, "B-4", uncertainty=0.1)
    assert covariance(filled, TA, "B-2", "B-4")[0, 1] == pytest.approx(OF_INSTRUMENT / 4, rel=0.02)


def shifted(trails: Trails, by: float) -> Trails:
    """Return the same as an instrument would have read it that is off."""
    return Trails(tuple(replace(step, value=step.value + by, came=step.came + by) for step in trails.steps))


@pytest.mark.parametrize(("name", "value", "within"), [(TA, 5.5, 1e-6), (FREE, 34.0, 0.12)])
def test_what_an_instrument_moves_is_what_the_filter_makes_of_it(
    filled: Book, clock: "Clock", name: str, value: float, within: float
) -> None:
    """All readings put off by a little: the figures move by as much as the doubts have it."""
    for times in range(3):
        for barrel in ("B-1", "B-2"):
            read(filled, barrel, name, value - times)
        clock.pass_days(70)
    tags, cellar = ("B-1", "B-2"), filled.cellar()
    learned = learn(learned_from(cellar), name)
    standings = [cellar[tag] for tag in tags]
    trails, columns = trails_of(standings, name), learned.likeness.columns(standings)
    before, after = (
        carry_on(shifted(trails, by), columns, AGEINGS[name], learned.fitted.usual).value for by in (0.0, 1e-3)
    )
    doubts = cellar_now(filled).doubts(tags, name)
    moved = doubts.common[:, 0] / doubts.again[:, 0]
    assert moved == pytest.approx((after - before) / 1e-3, abs=within)
    assert (moved < 0.95).all() == AGEINGS[name].fades


@pytest.fixture
def fallen(filled: Book, clock: "Clock") -> Book:
    """Free SO2 of B-1 and B-2, read 70 days ago."""
    for barrel in ("B-1", "B-2"):
        read(filled, barrel, FREE, 34.0)
    clock.pass_days(70)
    return filled


def test_figures_move_with_what_is_usual_as_the_filter_has_it(fallen: Book) -> None:
    """What is usual put off by a little, in each way in which it is doubtful: the figures follow."""
    cellar = fallen.cellar()
    usual = learn(learned_from(cellar), FREE).usual()
    standings = [cellar[tag] for tag in ("B-1", "B-2")]
    trails, columns = trails_of(standings, FREE), usual.likeness.columns(standings)
    for way, step in enumerate(np.linalg.cholesky(usual.covariance).T):
        lower, higher = (
            carry_on(trails, columns, AGEINGS[FREE], replace(usual.usual, coefficients=moved)).value
            for moved in (usual.usual.coefficients - 1e-4 * step, usual.usual.coefficients + 1e-4 * step)
        )
        assert usual.moves(standings, FREE)[:, way] == pytest.approx((higher - lower) / 2e-4, rel=1e-4, abs=1e-6)


def test_what_is_kept_gives_the_same_doubts(fallen: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Learned and kept, found again, and learned without keeping: equal to the last bit at one moment."""
    monkeypatch.setenv(FOLDER, str(tmp_path / "kept"))
    book = fallen.cellar()
    learned, found = (aged(book).doubts(["B-1", "B-2"], FREE) for _ in range(2))
    assert list((tmp_path / "kept").glob("*-free_so2_mg_l-usual.json"))
    monkeypatch.setenv(FOLDER, "")
    for each in (found, aged(book).doubts(["B-1", "B-2"], FREE)):
        assert [np.asarray(part).tolist() for part in each] == [np.asarray(part).tolist() for part in learned]


def test_sulphite_of_a_lot_goes_astray_together(filled: Book, clock: "Clock") -> None:
    """Months after a reading most of what is unsure is common to the lot and the season."""
    for barrel in ("B-1", "B-2"):
        read(filled, barrel, FREE, 34.0)
    clock.pass_days(150)
    together = covariance(filled, FREE, "B-1", "B-2")
    assert together[0, 1] > 0.75 * (together[0, 0] * together[1, 1]) ** 0.5


def test_an_unknown_figure_has_nothing_in_common(filled: Book) -> None:
    """B-1 was filled before the tank was read."""
    doubts = cellar_now(filled).doubts(["B-1", "B-2"], TA)
    assert np.isnan(doubts.sd[0])
    assert not doubts.common[0].any()
    assert doubts.sd[1] > 0


READINGS = st.floats(0.1, 4.0)


@given(scale=st.floats(0.2, 3.0), claimed=st.floats(0.0, 1.0), part=st.floats(0.0, 2.0), stated=st.floats(0.05, 2.0))
def test_what_is_left_to_a_figure_alone(scale: float, claimed: float, part: float, stated: float) -> None:
    """It is never more than the whole, nor less than the readings' own part; all of it where that was shown."""
    carried = CarriedOn(np.zeros(1), np.zeros(1), np.zeros((1, 0)), scale, claimed)
    whole = part * (scale * stated) ** 2
    alone = float(carried.alone(np.array(whole), stated))
    own = max(0.0, 1 - claimed * OF_INSTRUMENT / scale**2)
    assert own * whole - 1e-12 <= alone <= whole + 1e-12
    if claimed == 0.0:
        assert alone == pytest.approx(whole)


@given(stated=READINGS)
def test_a_single_reading_is_as_unsure_as_it_claims(stated: float) -> None:
    """Before the record has shown how large errors are, its own part and the instrument's are what it claims."""
    carried = CarriedOn(np.zeros(1), np.zeros(1), np.zeros((1, 0)), 1.0, 1.0)
    alone = float(carried.alone(np.array(stated**2), stated))
    assert alone + OF_INSTRUMENT * stated**2 == pytest.approx(stated**2)


def test_the_method_is_kept_with_the_state() -> None:
    """What the cache keeps of a reading brings its method back; none is kept where none was told."""
    state = VesselState(225_000)
    state.is_read(TA, 5.5, 0.2, 10.0, "kit")
    state.is_read(FREE, 30.0, 3.0, 10.0)
    again = from_text(to_text(state), 225_000)
    assert again is not None
    assert (again.reads, again.reads[TA].method) == (state.reads, "kit")
    assert "[10.0,30.0,3.0,false]" in to_text(state).replace(" ", "")
