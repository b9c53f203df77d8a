"""A reading far from the band that is shown is asked back, though the book alone could not tell."""

from typing import TYPE_CHECKING

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.errors import Implausible
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.together import write_act, write_together

if TYPE_CHECKING:
    from tests.conftest import Clock

FREE = "free_so2_mg_l"


@pytest.fixture
def read_before(cellar_book: Book, clock: "Clock", learned_once: None) -> Book:
    """A barrel whose free SO2 was read a month ago."""
    cellar_book.write(acts.Reading(vessel="B-1", property=FREE, value=14.0))
    cellar_book.write(acts.Reading(vessel="B-1", property="va_g_l", value=0.3))
    clock.pass_days(30)
    return cellar_book


@pytest.mark.parametrize(("name", "value"), [(FREE, 0.0), (FREE, 0.7), (FREE, 33.0), ("va_g_l", 0.6)])
def test_what_is_far_from_the_band_is_asked_back(read_before: Book, name: str, value: float) -> None:
    """Litres typed where milligrams are asked for, and nothing at all, are no reading of 14 mg/L a month later."""
    newest = read_before.newest_id()
    with pytest.raises(Implausible, match=r"far from the .* expected now"):
        write_act(read_before, acts.Reading(vessel="B-1", property=name, value=value))
    with pytest.raises(Implausible, match=r"far from the .* expected now"):
        write_together(read_before, [acts.Reading(vessel="B-1", property=name, value=value)])
    assert read_before.newest_id() == newest
    write_act(read_before, acts.Reading(vessel="B-1", property=name, value=value, sure=True))
    assert cellar_now(read_before)["B-1"].figure(name).value == value


def test_what_may_have_come_to_be_is_not_asked(read_before: Book, clock: "Clock") -> None:
    """Within the band, and after so long that hardly anything is expected."""
    write_act(read_before, acts.Reading(vessel="B-1", property=FREE, value=11.0))
    clock.pass_days(700)
    write_act(read_before, acts.Reading(vessel="B-1", property=FREE, value=1.0))
