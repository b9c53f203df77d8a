"""Bars that lie on their row: each part is as long as its share, within one character."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.tui.shared.gauges import lying_bar, whole_phrases

AMOUNTS = st.floats(0.0, 2000.0, allow_nan=False)


def test_a_bar_by_hand() -> None:
    """Of 200 L a barrel gives 50 and keeps 100: a quarter and a half of twenty characters."""
    assert lying_bar(50.0, 100.0, 200.0, 20) == ("▆" * 5, "▁" * 10)
    assert lying_bar(0.0, 0.0, 200.0, 20) == ("", "")
    assert lying_bar(5.0, 5.0, 0.0, 20) == ("", "")


@given(part=AMOUNTS, rest=AMOUNTS, more=AMOUNTS, width=st.integers(4, 60))
def test_each_part_is_its_share_within_one_character(part: float, rest: float, more: float, width: int) -> None:
    """Whatever is drawn and left: neither part is off by more than a character, nor longer than its room."""
    whole = part + rest + more
    taken, stays = lying_bar(part, rest, whole, width)
    assert len(taken) + len(stays) <= width
    if whole > 0:
        assert abs(len(taken) - width * part / whole) <= 1
        assert abs(len(stays) - width * rest / whole) <= 1 + 1e-9
        assert bool(taken) == (part > 0)


@given(part=st.floats(0.001, 2000.0), rest=AMOUNTS, width=st.integers(4, 60))
def test_what_is_drawn_never_vanishes(part: float, rest: float, width: int) -> None:
    """A draw of a few millilitres from a full tank is a character at least."""
    assert lying_bar(part, rest, part + rest, width)[0]


@given(st.text(alphabet="ab ,", max_size=40), st.integers(0, 40))
def test_phrases_are_kept_whole_or_left_out(words: str, room: int) -> None:
    """What is shown fits, and is the beginning of what was said, up to a comma."""
    shown = whole_phrases(words, room)
    assert len(shown) <= room
    assert words.startswith(shown)
    assert shown == words or not shown or words[len(shown) :].startswith(", ")
