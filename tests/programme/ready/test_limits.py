"""A definition of ready is read in plain words and written so that it is read again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.errors import BadInput
from cooperage.programme.ready.limits import (
    AGE,
    ClashingLimits,
    NotALimit,
    ReadyLimit,
    as_kept,
    from_kept,
    limits_words,
    parse_limits,
)
from cooperage.units import Units

AMERICAN = Units(volume="gal", gravity="brix", temperature="f")
COMMA = Units(decimal=",")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("overall at least 14", [ReadyLimit("overall", -1, 14.0)]),
        ("Overall at least 14; oak at most 6", [ReadyLimit("overall", -1, 14.0), ReadyLimit("oak", 1, 6.0)]),
        ("oak <= 6, honey >= 5", [ReadyLimit("oak", 1, 6.0), ReadyLimit("honey", -1, 5.0)]),
        ("oak 4 to 6", [ReadyLimit("oak", -1, 4.0), ReadyLimit("oak", 1, 6.0)]),
        ("oak from 4 to 6 of 10", [ReadyLimit("oak", -1, 4.0, "0-10"), ReadyLimit("oak", 1, 6.0, "0-10")]),
        (
            "overall min 14 of 20 and va max 0.7",
            [ReadyLimit("overall", -1, 14.0, "0-20"), ReadyLimit("va_g_l", 1, 0.7)],
        ),
        ("overall at least 3 on 1-5", [ReadyLimit("overall", -1, 3.0, "1-5")]),
        ("overall at least 6 on hedonic", [ReadyLimit("overall", -1, 6.0, "1-9 hedonic")]),
        (
            "sweetness 20 to 40 on line",
            [ReadyLimit("sweetness", -1, 20.0, "0-100 mm"), ReadyLimit("sweetness", 1, 40.0, "0-100 mm")],
        ),
        ("volatile acidity at most 0.7 g/L", [ReadyLimit("va_g_l", 1, 0.7)]),
        (
            "age at least 6 months; strength 13 to 15 %",
            [ReadyLimit(AGE, -1, 6.0), ReadyLimit("abv", -1, 13.0), ReadyLimit("abv", 1, 15.0)],
        ),
        ("age in wood at most 12", [ReadyLimit(AGE, 1, 12.0)]),
        ("sugar ≤ 60", [ReadyLimit("sugar_g_l", 1, 60.0)]),
    ],
)
def test_limits_in_plain_words(text: str, wanted: list[ReadyLimit]) -> None:
    assert list(parse_limits(text)) == wanted


def test_a_persons_own_units() -> None:
    """A bare gravity is in the person's unit, and is written in it again."""
    limit = parse_limits("gravity at most 5", AMERICAN)
    assert limit[0].value == pytest.approx(1.0197, abs=1e-3)
    assert limits_words(limit, AMERICAN) == "gravity at most 5 Bx"
    assert parse_limits("va at most 0,7", COMMA) == (ReadyLimit("va_g_l", 1, 0.7),)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ; ",
        "good",
        "14",
        "at least 14",
        "oak at most",
        "oak at most six",
        "oak at most 6 of 4",
        "oak at most 14 of 10",
    ],
)
def test_what_sets_no_limit(text: str) -> None:
    """One line names what cannot be read, and how limits are written."""
    with pytest.raises(NotALimit, match="overall at least 14"):
        parse_limits(text)


@pytest.mark.parametrize("text", ["oak at most 6; oak at most 5", "oak at most 4; oak at least 6", "va 0.9 to 0.3"])
def test_limits_that_clash(text: str) -> None:
    with pytest.raises(ClashingLimits):
        parse_limits(text)


figures = st.builds(
    ReadyLimit,
    st.sampled_from(["va_g_l", "abv", "sugar_g_l", AGE]),
    st.sampled_from([-1, 1]),
    st.integers(1, 1000).map(lambda n: n / 100),
)
names = st.sampled_from(["overall", "oak", "honey character"])
some_limits = st.lists(
    figures | st.builds(ReadyLimit, names, st.sampled_from([-1, 1]), st.integers(1, 1000).map(lambda n: n / 100)),
    min_size=1,
    max_size=5,
)


@given(some_limits)
def test_what_is_written_is_read_again(limits: list[ReadyLimit]) -> None:
    """Words, and what is kept, come back as the same limits; those that clash are refused, not lost."""
    try:
        read = parse_limits(limits_words(limits))
    except ClashingLimits:
        return
    assert read == tuple(limits) == from_kept(as_kept(limits))


@given(st.text(max_size=60))
def test_nothing_typed_breaks_it(text: str) -> None:
    """Whatever is typed sets limits that can be read again, or is refused in the family of bad input."""
    try:
        limits = parse_limits(text)
    except BadInput:
        return
    assert limits
