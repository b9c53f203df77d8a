"""The month's losses in words: written so far, toppings due not yet, beside what is usual by now."""

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any, cast

from cooperage.programme.ahead.usual import UsualLoss
from cooperage.programme.today.aside import MonthSoFar
from cooperage.programme.today.day_walk import DayWalk, RoomWork
from cooperage.programme.today.words import month_words
from cooperage.units import DEFAULT

SINCE = datetime(2026, 11, 1, tzinfo=UTC)
USUAL = cast(UsualLoss, cast(Any, SimpleNamespace(ml=19_900, reach_ml=1_900, high=21_800)))
DUE, NOTHING = DayWalk((RoomWork("Loft", 1, 900, {}),), (), (), 0.0), DayWalk((), (), (), 0.0)


def test_what_is_written_is_not_all_that_was_lost() -> None:
    """While toppings are due that is told; ever shorter."""
    month = MonthSoFar(SINCE, 9_800, USUAL)
    assert month_words(month, DUE, DEFAULT) == (
        "9.8 L written in Nov, toppings due not yet; usual by now 19.9 ±1.9 L",
        "9.8 L written in Nov; usual by now 19.9 ±1.9 L",
        "9.8 L written in Nov",
    )
    assert month_words(month, NOTHING, DEFAULT)[0] == "9.8 L written in Nov; usual by now 19.9 ±1.9 L"


def test_more_than_usual_is_marked_and_an_unknown_usual_is_left_out() -> None:
    """The mark stands where no figure follows too."""
    assert {words[:1] for words in month_words(MonthSoFar(SINCE, 30_000, USUAL), DUE, DEFAULT)} == {"○"}
    assert month_words(MonthSoFar(SINCE, 0, None), DUE, DEFAULT) == ("0.0 L written in Nov",)
