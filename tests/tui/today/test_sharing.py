"""The lines of the page shared out: trouble first, what is least urgent gives way first, never more than there are."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.tui.today.sharing import Shares, shared_out

WALK = [1, 2, 4, 6]


@given(
    lines=st.integers(0, 60), matters=st.integers(0, 30), trouble=st.integers(0, 30), orders=st.integers(0, 30),
    about=st.integers(0, 4),
)  # fmt: skip
def test_shares_fit_and_trouble_goes_before_what_is_less_urgent(
    lines: int, matters: int, trouble: int, orders: int, about: int
) -> None:
    """Nothing is shared out twice; the last entry and a fourth order wait until all trouble is in view."""
    trouble = min(trouble, matters)
    found = shared_out(lines, matters, trouble, orders, WALK, about=about)
    assert found.lines <= lines
    assert found.matters <= max(1, matters)
    assert found.orders <= min(orders, 12)
    assert found.walk in (0, *WALK)
    assert found.about <= about


@given(matters=st.integers(1, 7), orders=st.integers(0, 30), more=st.integers(0, 20))
def test_more_room_takes_nothing_from_trouble(matters: int, orders: int, more: int) -> None:
    """With up to seven troubles a screen of 80 by 24 has all, and a higher one no fewer."""
    found = shared_out(18, matters, matters, orders, WALK, about=3)
    assert found.matters == matters
    assert shared_out(18 + more, matters, matters, orders, WALK, about=3).matters == matters


def test_the_demo_at_each_size() -> None:
    """Five troubles of eight rows and six orders: what gives way is the last entry, then the walk room by room."""
    assert shared_out(18, 8, 5, 6, WALK, about=3) == Shares(matters=6, orders=3, about=3, walk=4, rest=1)
    assert shared_out(14, 8, 5, 6, WALK, about=4) == Shares(matters=5, orders=2, about=4, walk=2, rest=0)
    assert shared_out(32, 8, 5, 6, WALK, about=0) == Shares(matters=8, orders=6, about=0, walk=6, rest=5)
