"""What a difference test found: figures, and sentences that claim no more."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cooperage.errors import BadInput
from cooperage.tasting.statistics.difference.counts import TESTS
from cooperage.tasting.statistics.difference.found import DifferenceFound, difference_found


def found(name: str, correct: int, tasters: int, **asked: float) -> DifferenceFound:
    return difference_found(TESTS[name], correct, tasters, **asked)


def test_nine_of_fifteen() -> None:
    """Triangle: p 0.0308; the interval stands above guessing just where the test is significant."""
    nine = found("triangle", 9, 15)
    assert nine.words() == [
        "9 right of 15: guessing alone gives as many or more 3.1 % of the time, so there is a difference at 0.05.",
        "Between 3.9 % and 71 % of such tasters taste it, 90 % sure; d' from 0.5 to 3.2.",
        "Where 50 % taste a difference, 15 tasters would miss it 20 % of the time; at least 16 are needed to find it "
        "80 % of the time.",
    ]


def test_three_tasters_can_show_little() -> None:
    """Two of three right shows nothing, neither that they differ nor that they do not."""
    assert found("triangle", 2, 3).words() == [
        "2 right of 3: guessing alone gives as many or more 26 % of the time, so no difference is shown; 3 right "
        "would be needed at 0.05.",
        "Between 0 % and 97 % of such tasters taste it, 90 % sure; d' from 0.0 to 5.8.",
        "That does not show the two alike: 3 tasters are too few to show that fewer than 50 % taste a difference.",
        "Where 50 % taste a difference, 3 tasters would miss it 70 % of the time; at least 16 are needed to find it "
        "80 % of the time.",
    ]
    assert found("paired", 4, 4).words()[0] == (
        "4 tasters cannot show a difference: even all right comes by guessing more often than 0.05."
    )


def test_few_enough_right_answers_show_two_alike() -> None:
    """22 of 75: fewer than three in ten taste it."""
    alike = found("triangle", 22, 75, share=0.3)
    assert alike.is_shown_alike
    assert "Fewer than 30 % of such tasters taste a difference, at 0.05." in alike.words()
    assert alike.words()[-1].endswith("at least 40 are needed to find it 80 % of the time, and all numbers from 42 on.")


def test_one_right_answer_more_undoes_likeness() -> None:
    """The most right answers that show likeness do, one more does not, and the sentence names that number."""
    most = found("triangle", 20, 75, share=0.2).most_alike
    assert most is not None
    assert found("triangle", most, 75, share=0.2).is_shown_alike
    more = found("triangle", most + 1, 75, share=0.2)
    assert not more.is_shown_alike
    assert f"no more than {most} right would show that fewer than 20 %" in more.words()[2]


def test_a_share_nobody_can_find_has_no_panel() -> None:
    """One in a thousand: more tasters than anybody has."""
    assert found("triangle", 5, 12, share=0.001).words()[-1].endswith("takes more than 5000.")


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(TESTS)), st.integers(1, 30).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_verdict_interval_and_likeness_never_contradict(name: str, counts: tuple[int, int]) -> None:
    """Significant just where the interval of the share stands above nil; never both different and alike."""
    result = found(name, *counts)
    assert result.is_shown == (result.estimate.share_between[0] > 0)
    assert not (result.is_shown and result.is_shown_alike)
    assert result.is_shown == (result.p <= 0.05)
    assert result.so_few <= 0.05 or not result.is_shown_alike
    assert all(line and "nan" not in line and "inf" not in line.replace("infinite", "") for line in result.words())
    assert result.estimate.d_prime_between[0] < math.inf


@pytest.mark.parametrize("wanted", [0.0, 1.0, 3.0])
def test_power_is_a_chance(wanted: float) -> None:
    with pytest.raises(BadInput, match="is not a chance"):
        found("triangle", 2, 3, wanted=wanted)
