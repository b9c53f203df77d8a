"""Marks on vessels by one key: single ones, and all between two."""

from hypothesis import given
from hypothesis import strategies as st

from cooperage.programme.several.marked import Marked

THERE = [f"B-{nth}" for nth in range(1, 10)]


def after(*tags: str) -> tuple[str, ...]:
    """The marks after the key on these vessels, one after the other."""
    marked = Marked()
    for tag in tags:
        marked = marked.pressed(tag, THERE)
    return marked.tags


def test_single_marks_are_made_and_taken_away() -> None:
    """In the order in which they were made."""
    assert after("B-3", "B-1") == ("B-3", "B-1")
    assert after("B-3", "B-1", "B-3") == ("B-1",)
    assert after("B-3", "B-3") == ()


def test_again_on_the_second_mark_takes_all_between() -> None:
    """Backwards too; once more takes these away, and leaves the first."""
    assert set(after("B-2", "B-5", "B-5")) == {"B-2", "B-3", "B-4", "B-5"}
    assert set(after("B-5", "B-2", "B-2")) == {"B-2", "B-3", "B-4", "B-5"}
    assert after("B-2", "B-5", "B-5", "B-5") == ("B-2",)


def test_neighbours_have_nothing_between_them() -> None:
    """Then the key takes the mark away."""
    assert after("B-2", "B-3", "B-3") == ("B-2",)


@given(st.lists(st.sampled_from(THERE), max_size=12))
def test_a_mark_stands_once_and_only_on_what_is_there(tags: list[str]) -> None:
    """Whatever is pressed; and a vessel that was not marked is marked after its key."""
    marked = Marked()
    for tag in tags:
        before, marked = marked, marked.pressed(tag, THERE)
        assert len(set(marked.tags)) == len(marked.tags)
        assert set(marked.tags) <= set(THERE)
        assert tag in before.tags or tag in marked.tags
