"""What is asked back: a rest written off, meads unlike each other, readings far off; and what is not asked."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.book import Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.declared.places import GAP_CAUSES, Outside
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.errors import Implausible
from cooperage.book.replay.contents import PLACE_OF, Contents
from cooperage.book.replay.state import VesselState
from cooperage.book.writing.doubts import REST_ML, REST_SHARE, ask_all, ask_if_unlike, unlike

if TYPE_CHECKING:
    from tests.conftest import Clock


def asks(book: Book, act: Any) -> Any:
    """Return the question that an act is asked back with, and see that nothing was written; None if it is written."""
    newest = book.newest_id()
    try:
        book.write(act)
    except Implausible as question:
        assert book.newest_id() == newest
        return str(question)
    return None


# --- the rest -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "act",
    [
        acts.Bottle(vessel="T-1", code="X-1", bottles=10, empties=True),
        acts.Rack(vessel="T-1", destination="T-2", volume=10_000, empties=True),
        acts.Rack(vessel="T-1", destination="poured away", volume=1_000, empties=True, cause="spilled"),
    ],
)
def test_a_tank_is_not_written_off_in_silence(cellar_book: Book, act: Any) -> None:
    """635 L are there and a few are accounted for: the question names both, and where the rest would go."""
    question = asks(cellar_book, act)
    assert "T-1 held 635.0 L" in question
    assert (act.cause or "gauging difference") in question
    assert "--sure" in question
    cellar_book.write(replace(act, sure=True))
    assert cellar_book.cellar()["T-1"].ml == 0


@pytest.mark.slow
@settings(max_examples=30)
@given(
    st.integers(1_000, 225_000),
    st.floats(0.0, 1.0),
    st.sampled_from(["rack", "pour", "bottle"]),
    st.sampled_from(["", *GAP_CAUSES]),
)
def test_a_rest_is_asked_back_above_three_per_cent_or_ten_litres(
    fresh_sqlite: Callable[[], Book], there: int, part: float, how: str, cause: Any
) -> None:
    """Whichever is less; below that it goes through, and whatever goes through unasked is no more than that."""
    book = fresh_sqlite()
    book.write(acts.Receive(lot="HEATHER", vessel="T-1", volume=there))
    out = max(1, round(part * there))
    act = {
        "rack": acts.Rack(vessel="T-1", destination="T-2", volume=out, empties=True, cause=cause),
        "pour": acts.Rack(vessel="T-1", destination="poured away", volume=out, empties=True, cause=cause),
        "bottle": acts.Bottle(vessel="T-1", code="X-1", bottles=1, bottle=out, empties=True, cause=cause),
    }[how]
    question, rest = asks(book, act), there - out
    assert (question is not None) == (rest > min(REST_SHARE * there, REST_ML))
    if question is None:
        assert book.cellar()["T-1"].ml == 0
    book.close()


def test_much_more_than_the_book_has_is_asked_back(cellar_book: Book) -> None:
    """365 L out of nowhere."""
    assert "365.0 L more" in asks(cellar_book, acts.Gauge(vessel="T-1", volume=1_000_000))
    assert asks(cellar_book, acts.Gauge(vessel="T-1", volume=640_000)) is None


# --- liquids that meet ----------------------------------------------------------------------------------------------


@pytest.fixture
def two_meads(cellar_book: Book) -> Any:
    """HEATHER (70 g/L, 13.0 %) in B-1, T-1 and K-1; LIME in T-2; a cherry on HEATHER's honey in B-3."""
    with cellar_book.writing() as session:
        session.add_lot(Lot("", "CHERRY", "Sour-cherry 2025", "heather", 1.110, 1.010, 13.0))
        session.add_lot(Lot("", "HEATHER-2", "Heather 2026", "Heather", 1.110, 1.012, 13.2))
        session.add_lot(Lot("", "BARE", "BARE"))
    cellar_book.write(acts.Receive(lot="LIME", vessel="T-2", volume=300_000))
    cellar_book.write(acts.Receive(lot="CHERRY", vessel="B-3", volume=150_000))
    return cellar_book


@pytest.mark.parametrize(
    "act",
    [
        acts.Top(vessel="B-1", volume=1_000, source="T-2"),
        acts.Top(vessel="B-1", volume=1_000, source="T-2", not_full=True),
        acts.Rack(vessel="T-2", destination="T-1", volume=100_000),
        acts.Rack(vessel="B-3", destination="T-1", volume=100_000),
        acts.Rack(vessel="T-1", destination="B-3", volume=10_000),
        acts.Fill(vessel="B-3", source="T-2", volume=50_000),
        acts.Fill(vessel="B-3", source="T-1", volume=50_000),
    ],
)
def test_meads_unlike_each_other_are_asked_back(two_meads: Any, act: Any) -> None:
    """Other honey, or the same with other fruit in its name; yes mixes them."""
    two_meads.write(acts.Sample(vessel="B-1", volume=1_000))
    question = asks(two_meads, act)
    assert "differ in kind" in question
    assert "Mix them?" in question
    assert all(tag in question for tag in (act.vessel, getattr(act, "source", None) or act.destination))
    assert two_meads.write(replace(act, sure=True)).moves


def test_what_is_meant_to_mix_and_what_is_alike_is_not_asked(two_meads: Any) -> None:
    """A blend; an empty vessel; the next year's lot of the same kind; a lot of which nothing is known."""
    assert asks(two_meads, acts.Blend(vessel="T-1", draws=(("T-2", 50_000), ("B-3", 20_000)))) is None
    assert asks(two_meads, acts.Fill(vessel="B-2", source="T-2")) is None
    assert asks(two_meads, acts.Rack(vessel="K-1", destination="poured away")) is None
    two_meads.write(acts.Receive(lot="HEATHER-2", vessel="K-1", volume=20_000))
    two_meads.write(acts.Sample(vessel="B-1", volume=400))
    assert asks(two_meads, acts.Top(vessel="B-1", volume=400, source="K-1")) is None


def test_nothing_known_is_never_asked_about(two_meads: Any) -> None:
    """BARE has no honey, no gravities, no strength."""
    two_meads.write(acts.Receive(lot="BARE", vessel="B-4", volume=30_000))
    assert asks(two_meads, acts.Rack(vessel="B-4", destination="T-1", volume=20_000)) is None
    assert asks(two_meads, acts.Rack(vessel="T-1", destination="B-4", volume=20_000)) is None


def test_a_lot_that_is_in_the_barrel_already_is_no_stranger(two_meads: Any) -> None:
    """Topped once with it by the litre and said so, the barrel is asked again; at one part in twenty no more."""
    two_meads.write(acts.Sample(vessel="B-1", volume=1_400))
    top = acts.Top(vessel="B-1", volume=1_000, source="T-2", not_full=True)
    two_meads.write(replace(top, sure=True))
    two_meads.write(acts.Sample(vessel="B-1", volume=1_000))
    assert asks(two_meads, top) is not None
    two_meads.write(acts.Rack(vessel="B-1", destination="T-1", volume=20_000))
    two_meads.write(acts.Fill(vessel="B-1", source="T-2", sure=True))
    two_meads.write(acts.Sample(vessel="B-1", volume=1_000))
    assert asks(two_meads, top) is None


@pytest.mark.parametrize(
    ("name", "value", "what"),
    [("sugar_g_l", 120.0, "sweetness"), ("abv", 15.5, "strength"), ("abv", 14.4, "strength")],
)
def test_sweetness_and_strength_are_asked_about_within_a_kind(
    two_meads: Any, name: str, value: float, what: str
) -> None:
    """More than 20 g/L, more than 2 % vol, or the class line of 14 % vol crossed by the mixture."""
    two_meads.write(acts.Receive(lot="HEATHER-2", vessel="B-2", volume=200_000))
    two_meads.write(acts.Reading(vessel="B-2", property=name, value=value, sure=True))
    if value == 14.4:
        assert asks(two_meads, acts.Rack(vessel="T-1", destination="B-2", volume=2_000)) is None
    question = asks(two_meads, acts.Rack(vessel="B-2", destination="T-1", volume=190_000))
    assert (f"differ in {what}" in (question or "")) == (value != 14.4)
    if value == 14.4:
        back = acts.Rack(vessel="T-1", destination="B-2", volume=25_000)
        two_meads.write(acts.Reading(vessel="T-1", property="abv", value=10.9, sure=True))
        assert "differ in strength" in asks(two_meads, back)


@dataclass(frozen=True)
class Known:
    """A cellar of lots that nobody described, with lines between classes of strength [% vol]."""

    class_lines: Sequence[float] = ()
    lots: Mapping[str, Lot] = field(default_factory=dict)


def liquid(lot: str, abv: float, sugar: float = 20.0, ml: int = 1000) -> Contents:
    made = Contents(ml, lot)
    made.set(PLACE_OF["abv"], abv, 0.0)
    made.set(PLACE_OF["sugar_g_l"], sugar, 0.0)
    return made


@pytest.mark.parametrize(
    ("mine", "theirs", "lines", "differ"),
    [
        (12.0, 14.0, (), False),  # two per cent apart
        (14.0, 12.0, (), False),
        (12.0, 14.1, (), True),
        (13.0, 14.5, (10.0, 14.0, 16.0), True),  # half and half come to 13.75, below one of the lines
        (14.5, 13.0, (10.0, 13.5, 16.0), True),
        (13.0, 14.5, (10.0, 13.7, 16.0), False),  # no line between what is there and what it becomes
        (13.0, 14.0, (13.5,), True),  # on the line is above it
        (13.0, 14.0, (14.0,), False),
        (14.0, 13.0, (13.5,), False),
        (14.0, 13.0, (13.0,), True),
        (13.5, 14.0, (13.9,), False),  # half a per cent apart are two readings of one mead
        (13.48, 14.0, (13.9,), True),
    ],
)
def test_a_strength_differs_by_two_per_cent_or_across_one_line_of_a_class(
    mine: float, theirs: float, lines: tuple[float, ...], differ: bool
) -> None:
    """A litre into a litre: one line that the mixture crosses is enough, however many it does not."""
    found = unlike(liquid("NEW", mine), liquid("OLD", theirs), 1000, Known(lines))
    assert found == (["strength"] if differ else [])


@pytest.mark.parametrize(("sugar", "differ"), [(20.0, False), (40.0, False), (40.1, True), (0.0, False), (-0.1, True)])
def test_a_sweetness_differs_by_more_than_twenty_grams(sugar: float, differ: bool) -> None:
    """20 g/L more or less is the same in the glass of a blender who knows; a tenth further is asked about."""
    found = unlike(liquid("NEW", 13.0, sugar), liquid("OLD", 13.0), 1000, Known())
    assert found == (["sweetness"] if differ else [])


@pytest.mark.parametrize(
    ("at_home_ml", "there_ml", "is_asked"),
    [(500, 50, False), (499, 50, True), (500, 49, True), (1000, 1000, False), (0, 1000, True)],
)
def test_a_mead_is_at_home_where_half_of_it_is_of_a_lot_that_is_there(
    at_home_ml: int, there_ml: int, is_asked: bool
) -> None:
    """Half of what comes in must be of lots of which the other holds a twentieth or more; a millilitre decides."""
    mead, other = liquid("SHARED", 13.0, ml=at_home_ml), liquid("SHARED", 18.0, ml=there_ml)
    mead.join(liquid("NEW", 13.0, ml=1000 - at_home_ml))
    other.join(liquid("OLD", 18.0, ml=1000 - there_ml))
    assert unlike(mead, other, 1000, Known()) == (["strength"] if is_asked else [])


@pytest.mark.parametrize(("alike_ml", "found"), [(0, ["kind"]), (49, ["kind"]), (50, []), (500, [])])
def test_a_mead_is_of_another_kind_than_each_lot_that_is_there(alike_ml: int, found: list[str]) -> None:
    """A twentieth of heather among lime blossom is enough for other heather to be of its kind; less is not seen."""
    lots = {
        "NEW": Lot("NEW", "NEW", "Heather 2026", "heather"),
        "ALIKE": Lot("ALIKE", "ALIKE", "Heather 2025", "Heather"),
        "LIME": Lot("LIME", "LIME", "Lime blossom", "lime-blossom"),
    }
    other = liquid("LIME", 13.0, ml=1000 - alike_ml)
    other.join(liquid("ALIKE", 13.0, ml=alike_ml))
    assert unlike(liquid("NEW", 13.0), other, 1000, Known(lots=lots)) == found


def held(tag: str, contents: Contents) -> tuple[Vessel, VesselState]:
    """Return a tank that holds this."""
    state = VesselState(None)
    state.contents = contents
    return Vessel(tag, tag, "tank", 1_000_000), state


@pytest.mark.parametrize(
    ("lot", "sugar", "abv", "shown"),
    [
        (Lot("new", "HE-24", "Heather", "heather"), 2.1, 11.8, "HE-24 (heather, 2.1 g/L sugar, 11.8 % vol)"),
        (Lot("new", "HE-24", "Heather"), 2.1, 11.8, "HE-24 (2.1 g/L sugar, 11.8 % vol)"),
        (Lot("new", "HE-24", "Heather", "heather"), 2.1, None, "HE-24 (heather, 2.1 g/L sugar)"),
        (None, 2.1, 11.8, "new (2.1 g/L sugar, 11.8 % vol)"),  # what came in with no lot, such as water
    ],
)
def test_the_question_about_two_meads_names_what_is_known_of_each(
    lot: Lot | None, sugar: float, abv: float | None, shown: str
) -> None:
    """The honey where the lot has it, the figures where they are known, each with its unit."""
    mead = Contents(1000, "new")
    mead.set(PLACE_OF["sugar_g_l"], sugar, 0.0)
    if abv is not None:
        mead.set(PLACE_OF["abv"], abv, 0.0)
    known = Known(lots={} if lot is None else {"new": lot})
    with pytest.raises(Implausible) as asked:
        ask_if_unlike(held("T-1", mead), held("B-{1}", liquid("old", 11.0, 60.0)), 1000, known)
    assert str(asked.value).startswith(
        f"T-1 holds {shown} and B-{{1}} holds old (60.0 g/L sugar, 11.0 % vol): they differ in sweetness. Mix them?"
    )


@pytest.mark.parametrize(
    ("wordings", "text"),
    [
        (["Is it full"], "Is it full"),  # a single question is asked as it stands
        (["Is it full?", "It is a lot"], "Is it full? It is a lot."),
        (["It is a lot.", "Is it full?"], "It is a lot. Is it full?"),
    ],
)
def test_several_questions_are_asked_together_each_as_a_sentence(wordings: list[str], text: str) -> None:
    """One stop after each, whether it had one or not."""

    def ask(wording: str) -> None:
        raise Implausible(wording)

    with pytest.raises(Implausible) as asked:
        ask_all(*(partial(ask, wording) for wording in wordings))
    assert asked.value.wording == text
    ask_all()


def test_one_yes_never_answers_what_was_not_asked(two_meads: Any) -> None:
    """Two doubts about one act are asked together: the kind and the rest; the kind and a large topping."""
    question = asks(two_meads, acts.Rack(vessel="T-1", destination="T-2", volume=10_000, empties=True))
    assert "625.0 L of it are not accounted for" in question
    assert "differ in kind" in question
    two_meads.write(acts.Rack(vessel="B-1", destination="T-1", volume=20_000))
    question = asks(two_meads, acts.Top(vessel="B-1", volume=6_000, source="T-2", not_full=True))
    assert "6.0 L is a lot" in question
    assert "differ in kind" in question


# --- readings -------------------------------------------------------------------------------------------------------

FIRST = {
    "abv": 13.0, "sugar_g_l": 60.0, "ta_g_l": 6.0, "va_g_l": 0.4, "free_so2_mg_l": 24.0, "total_so2_mg_l": 90.0,
    "ph": 3.4, "sg": 1.020,
}  # fmt: skip


@pytest.mark.parametrize("name", FIRST)
def test_every_reading_far_from_the_last_is_asked_back(cellar_book: Book, clock: "Clock", name: Any) -> None:
    """A day later, and beyond the declared distance either way; within it, it is written."""
    far = PROPERTIES[name].far
    assert far is not None
    cellar_book.write(acts.Reading(vessel="B-1", property=name, value=FIRST[name], sure=True))
    clock.pass_days(1)
    for distance in (1.05 * far.rise, -1.05 * far.fall - 2 * far.fall_a_day):
        if (value := FIRST[name] + distance) < PROPERTIES[name].possible[0]:
            continue
        question = asks(cellar_book, acts.Reading(vessel="B-1", property=name, value=value))
        assert question is not None
        assert PROPERTIES[name].label in question
    assert asks(cellar_book, acts.Reading(vessel="B-1", property=name, value=FIRST[name] + 0.9 * far.rise)) is None


def test_what_can_be_in_the_days_since_is_not_asked(cellar_book: Book, clock: "Clock") -> None:
    """Free SO2 falls; it rises where some was added; in a tank gravity falls as it ferments."""
    cellar_book.write(acts.Reading(vessel="B-1", property="free_so2_mg_l", value=40.0))
    clock.pass_days(30)
    assert asks(cellar_book, acts.Reading(vessel="B-1", property="free_so2_mg_l", value=14.0)) is None
    cellar_book.write(acts.Addition(vessel="B-1", substance="metabisulphite", amount=20.0))
    assert asks(cellar_book, acts.Reading(vessel="B-1", property="free_so2_mg_l", value=42.0)) is None
    cellar_book.write(acts.Reading(vessel="T-1", property="sg", value=1.090))
    clock.pass_days(3)
    assert asks(cellar_book, acts.Reading(vessel="T-1", property="sg", value=1.060)) is None
    assert "1.060" in asks(cellar_book, acts.Reading(vessel="T-1", property="sg", value=1.070))


def test_a_first_reading_of_what_was_never_known_is_not_asked(cellar_book: Book) -> None:
    """There is nothing to be far from."""
    assert asks(cellar_book, acts.Reading(vessel="B-1", property="free_so2_mg_l", value=70.0)) is None


def test_an_uncertainty_that_no_instrument_has_is_asked_back(cellar_book: Book) -> None:
    """The pH typed again as its own uncertainty, a point forgotten; a coarse test strip is taken."""
    reading = acts.Reading(vessel="B-1", property="ph", value=3.36)
    assert "840 times as uncertain" in asks(cellar_book, replace(reading, uncertainty=33.6))
    assert asks(cellar_book, replace(reading, uncertainty=0.25)) is None


def test_a_dip_deeper_than_the_barrel_is_refused_at_the_door(cellar_book: Book) -> None:
    """Written, it would stand in the way of every screen that reckons the level."""
    from cooperage.errors import OutOfRange

    with pytest.raises(OutOfRange):
        cellar_book.write(acts.Reading(vessel="B-1", property="headspace_mm", value=1_200.0, sure=True))


def test_words_with_braces_are_words(cellar_book: Book) -> None:
    """A honey or a code may hold what names a volume in a wording."""
    with cellar_book.writing() as session:
        session.add_lot(Lot("", "X{short}", "X", "{gap}", 1.12, 1.03, 12.0))
    cellar_book.write(acts.Receive(lot="X{short}", vessel="T-2", volume=100_000))
    assert "X{short} ({gap}" in asks(cellar_book, acts.Rack(vessel="T-2", destination="T-1", volume=10_000))


def test_no_cause_hides_a_rest(cellar_book: Book) -> None:
    """Named or not, litres that nobody saw go are asked about."""
    for cause in (*GAP_CAUSES, ""):
        act = acts.Rack(vessel="B-1", destination="T-2", volume=1_000, empties=True, cause=cause)
        assert (cause or Outside.GAUGING.value) in asks(cellar_book, act)
