"""What eyes and nose found, and what follows from it."""

from typing import TYPE_CHECKING, Any

import pytest

from cooperage.book import Book, Upkeep
from cooperage.book.declared import acts
from cooperage.book.declared.looks import SMELLS, NoSuchSmell
from cooperage.book.declared.substances import TREATMENTS
from cooperage.book.errors import NothingSeen
from cooperage.programme.rounds.due import Task, rounds
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.looks import seen_signs

if TYPE_CHECKING:
    from tests.conftest import Clock


def told(book: Book, tag: Any = "B-1") -> Any:
    return [(sign.kind, sign.why.partition(":")[0]) for sign in seen_signs(book.cellar()[tag])]


def topping(book: Book) -> Any:
    return next((due.why for due in rounds(book.cellar()) if (due.barrel, due.task) == ("B-1", Task.TOP)), None)


def sniffing(book: Book, tag: Any = "B-1") -> Any:
    return next((due.why for due in rounds(book.cellar()) if (due.barrel, due.task) == (tag, Task.SNIFF)), None)


def test_a_bung_and_a_smell_are_signs_until_a_later_visit_says_nothing_of_them(cellar_book: Book) -> None:
    """Weeping and vinegar today; topped next week without a word, it was in order."""
    cellar_book.write(acts.Look(vessel="B-1", bung="weeping", smell="vinegar, egg"))
    assert told(cellar_book) == [("bung", "weeping"), ("smell", "vinegar")]
    cellar_book.write(acts.Top(vessel="B-1", volume=300, source="K-1"))
    assert told(cellar_book) == []


def test_tight_and_sound_are_no_signs(cellar_book: Book) -> None:
    """What is in order is written and not flagged."""
    cellar_book.write(acts.Look(vessel="B-1", bung="tight", smell="sound"))
    assert told(cellar_book) == []
    bung = cellar_book.cellar()["B-1"].seen("bung")
    assert bung is not None
    assert bung.word == "tight"


def test_a_struck_look_was_not_seen(cellar_book: Book) -> None:
    """The word before it stands again."""
    cellar_book.write(acts.Look(vessel="B-1", bung="loose"))
    written = cellar_book.write(acts.Look(vessel="B-1", bung="popped"))
    cellar_book.write(acts.Strike(entry=written.id))
    bung = cellar_book.cellar()["B-1"].seen("bung")
    assert bung is not None
    assert bung.word == "loose"


def test_a_barrel_seen_low_is_due_whatever_its_policy(cellar_book: Book, clock: "Clock") -> None:
    """Until it is topped, or somebody sees it full."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(topping="opened"))
    assert topping(cellar_book) is None
    cellar_book.write(acts.Look(vessel="B-1", level="very low"))
    assert topping(cellar_book) == "seen very low today"
    clock.pass_days(1)
    cellar_book.write(acts.Look(vessel="B-1", level="full"))
    assert topping(cellar_book) is None


def test_a_barrel_topped_when_opened_is_due_once_it_was_opened(cellar_book: Book) -> None:
    """A sample was pulled: the bung is out, so it is topped."""
    with cellar_book.writing() as session:
        session.set_upkeep("B-1", Upkeep(topping="opened"))
    cellar_book.write(acts.Sample(vessel="B-1", volume=50))
    assert topping(cellar_book) == "opened today, topped when opened"
    cellar_book.write(acts.Top(vessel="B-1", volume=60, source="K-1"))
    assert topping(cellar_book) is None


def test_a_barrel_found_full_waits_its_interval_from_then(cellar_book: Book, clock: "Clock") -> None:
    """Seen full on the day it was due, it is due again in four weeks, with the litres lost since."""
    clock.pass_days(29)
    assert topping(cellar_book) == "never topped here; filled 29 days ago, every 28 days"
    cellar_book.write(acts.Look(vessel="B-1", level="full"))
    assert topping(cellar_book) is None
    clock.pass_days(29)
    assert topping(cellar_book) == "found full 29 days ago, every 28 days"


def test_the_form_names_every_smell() -> None:
    """The first line of the kind's help is what the form shows above its fields."""
    assert acts.Look.__doc__ is not None
    assert all(smell in acts.Look.__doc__.splitlines()[0] for smell in SMELLS)


@pytest.mark.parametrize(
    ("act", "refusal"),
    [(acts.Look(vessel="B-1"), NothingSeen), (acts.Look(vessel="B-1", smell="roses"), NoSuchSmell)],
)
def test_a_look_says_something_and_in_known_words(cellar_book: Book, act: Any, refusal: Any) -> None:
    """Nothing at all, and a smell that is none of ours, are refused in one line."""
    with pytest.raises(refusal, match=r"B-1|roses"):
        cellar_book.write(act)


@pytest.mark.parametrize("treatment", [name for name, each in TREATMENTS.items() if each.of_empty])
def test_every_care_of_an_empty_barrel_counts_as_care(cellar_book: Book, clock: "Clock", treatment: Any) -> None:
    """Hot water, ozone, swelling and the others alike: it is not due, and no sign of a forgotten empty."""
    assert TREATMENTS[treatment].is_care
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    clock.pass_days(90)
    assert "not sniffed since" in sniffing(cellar_book)
    assert "empty" in {sign.kind for sign in signs(cellar_book) if sign.vessel == "B-1"}
    cellar_book.write(acts.Treat(vessel="B-1", treatment=treatment, sure=True))
    assert sniffing(cellar_book) is None
    assert "empty" not in {sign.kind for sign in signs(cellar_book) if sign.vessel == "B-1"}
    clock.pass_days(30)
    assert "last treated 30 days ago" in sniffing(cellar_book)


def test_what_was_done_before_it_was_emptied_is_no_care_of_the_empty_barrel(cellar_book: Book, clock: "Clock") -> None:
    """Rinsed before its fill, B-3 was never seen to since it was emptied."""
    cellar_book.write(acts.Treat(vessel="B-3", treatment="rinse"))
    cellar_book.write(acts.Fill(vessel="B-3", source="T-1"))
    clock.pass_days(200)
    cellar_book.write(acts.Rack(vessel="B-3", destination="T-2"))
    clock.pass_days(30)
    assert "not sniffed since" in sniffing(cellar_book, "B-3")


def test_a_nose_in_an_empty_barrel_is_care_however_it_is_written(cellar_book: Book, clock: "Clock") -> None:
    """A look that tells a smell is a smell."""
    cellar_book.write(acts.Rack(vessel="B-1", destination="T-2"))
    clock.pass_days(60)
    cellar_book.write(acts.Look(vessel="B-1", smell="sound"))
    assert sniffing(cellar_book) is None
