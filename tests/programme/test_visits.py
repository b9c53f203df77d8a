"""One visit is told in one line, and no entry is lost or told twice in the gathering."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book.log import Entry
from cooperage.book.replay.events import Move
from cooperage.programme.visits import AT_ONE_GO, Visit, visit_acts, visit_words, visits

BEGUN = datetime(2026, 10, 12, 10, 2, tzinfo=UTC)
TOPPED: dict[str, Any] = {"vessel": "B-005", "volume": 750, "source": "K-05", "not_full": False, "cause": ""}


def entry(
    number: int,
    kind: str = "reading",
    minutes: float = 0,
    vessel: str | None = "B-005",
    hand: str = "Jory",
    **said: Any,
) -> Entry:
    """An entry with a running id, so many minutes after the visit began."""
    at = BEGUN + timedelta(minutes=minutes)
    return Entry(
        f"{number:032d}", kind, at, at, hand, "", vessel, said or {"property": "ph", "value": 3.41}, None, None
    )


def a_visit() -> list[Entry]:
    top = entry(1, "top", **TOPPED)
    top.moves = [Move("B-005", "evaporated", 450), Move("K-05", "B-005", 750)]
    free = entry(2, property="free_so2_mg_l", value=24.0)
    return [top, free, entry(3, minutes=1), entry(4, "look", 2, bung="weeping", level="", smell="")]


def test_one_visit_is_one_line() -> None:
    """Topping, figures and what was seen, in the order they were done, whichever way the list runs."""
    words = "topped 0.75 L from K-05 · free SO2 24.0 mg/L · pH 3.41 · bung weeping"
    for listed in (a_visit(), a_visit()[::-1]):
        (visit,) = visits(listed)
        assert visit_words(visit, seen_from="B-005") == words
        assert visit_words(visit) == f"B-005: {words}"
        assert (visit.at, visit.hand, visit.vessel) == (BEGUN, "Jory", "B-005")


def test_where_there_is_little_room_whole_acts_are_counted() -> None:
    """Nothing is cut inside its words: a line that is too long says how many more there are."""
    (visit,) = visits(a_visit())
    assert visit_words(visit, seen_from="B-005", room=60) == "topped 0.75 L from K-05 · free SO2 24.0 mg/L · 2 more"
    assert visit_words(visit, seen_from="B-005", room=5) == "topped 0.75 L from K-05 · 3 more"


@pytest.mark.parametrize(
    ("later", "together"),
    [
        (entry(2, minutes=15), True),
        (entry(2, minutes=15.1), False),
        (entry(2, hand="Iko"), False),
        (entry(2, vessel="B-006"), False),
    ],
)
def test_another_hand_vessel_or_hour_is_another_visit(later: Entry, together: bool) -> None:
    assert (len(visits([entry(1), later])) == 1) is together


def test_what_is_about_no_vessel_stands_alone() -> None:
    """The air of two rooms was read on one round, yet each is a line."""
    air = [entry(number, "climate", vessel=None, room="Loft", temperature=11.0, humidity=70.0) for number in (1, 2)]
    assert len(visits(air)) == 2


def test_two_hands_at_work_at_once_do_not_tear_each_other_s_visits() -> None:
    """Their entries stand between one another in the book."""
    found = [entry(1), entry(2, hand="Iko", vessel="B-009"), entry(3), entry(4, hand="Iko", vessel="B-009")]
    assert [[each.id[-1] for each in visit.entries] for visit in visits(found)] == [["1", "3"], ["2", "4"]]


def test_a_struck_entry_stays_in_sight_as_struck() -> None:
    """The strike itself says no more where what it strikes stands in the same line, and tells it where not."""
    top, *_ = a_visit()
    strike = entry(9, "strike", entry=top.id)
    top.struck_by, strike.strikes, strike.strikes_kind = strike.id, top.id, "top"
    (visit,) = visits([top, entry(2), strike])
    assert visit_acts(visit) == ["STRUCK: topped 0.75 L from K-05", "pH 3.41"]
    assert not visit.is_struck
    assert Visit((top, strike)).is_struck
    strike.hand = "Iko"
    assert visit_words(visits([top, strike])[1]).startswith("B-005: cancels top 0000")


several = st.lists(
    st.tuples(st.sampled_from(["B-001", "B-002", None]), st.sampled_from(["Iko", "Jory", ""]), st.floats(0, 90)),
    max_size=30,
)


@given(done=several, is_newest_first=st.booleans())
def test_every_entry_stands_in_exactly_one_visit(
    done: list[tuple[str | None, str, float]], is_newest_first: bool
) -> None:
    """Of one vessel and hand and one quarter of an hour, in the order of the list; visits in that of their first."""
    listed = sorted(
        (entry(number, minutes=at, vessel=vessel, hand=hand) for number, (vessel, hand, at) in enumerate(done)),
        key=lambda each: (each.happened_at, each.id),
        reverse=is_newest_first,
    )
    place = {each.id: number for number, each in enumerate(listed)}
    found = [[place[each.id] for each in visit.entries] for visit in visits(listed)]
    assert sorted(number for visit in found for number in visit) == list(range(len(listed)))
    assert all(visit == sorted(visit) for visit in found)
    assert [visit[0] for visit in found] == sorted(visit[0] for visit in found)
    for visit in visits(listed):
        assert len({(each.vessel, each.hand) for each in visit.entries}) == 1
        assert max(each.happened_at for each in visit.entries) - visit.at <= AT_ONE_GO
