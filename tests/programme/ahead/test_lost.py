"""Losses at one look: beside what is usual with its band, the worst barrel first."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.ahead.lost import is_beyond, over_usual, worst_first
from cooperage.programme.ahead.usual import UsualLoss
from cooperage.programme.losses.ledger import LossRow

rows = st.lists(st.integers(0, 50_000), max_size=12).map(
    lambda lost: [LossRow(f"B-{nth}", {"evaporated": ml, "sample": 100}, ml + 100) for nth, ml in enumerate(lost)]
)
usual = st.dictionaries(
    st.integers(0, 12).map(lambda nth: f"B-{nth}"),
    st.builds(UsualLoss, st.integers(0, 50_000), st.integers(0, 9_000)),
)


@given(rows=rows, usual=usual)
def test_the_worst_stand_first_and_none_is_lost(rows: list[LossRow], usual: dict[str, UsualLoss]) -> None:
    """By what wood and air took beyond the usual, samples aside; where nothing is usual, at the end."""
    found = worst_first(rows, usual)
    assert sorted(row.what for row in found) == sorted(row.what for row in rows)
    over = [over_usual(row, usual) for row in found]
    known = [each for each in over if each is not None]
    assert known == sorted(known, reverse=True)
    assert over[: len(known)] == known
    assert all((row.what in usual and row.taken_ml > usual[row.what].high) == is_beyond(row, usual) for row in found)


def test_a_band_begins_at_nothing_at_the_least() -> None:
    assert (UsualLoss(300, 500).low, UsualLoss(300, 500).high) == (0, 800)


def test_without_a_rate_nothing_is_usual_and_nothing_beyond_it() -> None:
    row = LossRow("B-1", {"evaporated": 900}, 900)
    assert over_usual(row, {}) is None
    assert not is_beyond(row, {})
