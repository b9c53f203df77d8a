"""What is said at a stop in one line, and the acts it means."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.book.declared.looks import BUNGS, LEVELS, SMELLS
from cooperage.programme.rounds.due import Task
from cooperage.programme.walk.progress import Walk, open_walk
from cooperage.programme.walk.stop_line import parse_stop_line, write_stop_acts
from cooperage.programme.walk.stops import Stop
from cooperage.units import Units

NOW = datetime(2026, 11, 3, 9, tzinfo=UTC)


def said(text: Any, task: Any = Task.TOP, units: Any = None, **given: Any) -> Any:
    """Understand a line at a stop of B-1 in the Low room, topped from K-1."""
    stop = Stop("B-1", task, ("Low", "A", 1, 1))
    return parse_stop_line(stop, text, {"from": "K-1", **given}, NOW, units or Units())


def top(ml: Any, **more: Any) -> Any:
    return acts.Top(vessel="B-1", volume=ml, source="K-1", **more)


def test_a_number_is_the_litres_of_a_topping() -> None:
    """The plain topping: one figure, one act, and the stop is done."""
    assert said("1.8") == said("1,8 L") == said("1800 ml")
    assert (said("1.8").acts, said("1.8").is_done) == ((top(1800),), True)


def test_everything_a_walk_notes_goes_into_one_line() -> None:
    """A dip, a sulphite, the air, what was seen, a note: each its own act, the topping last so that undo meets it."""
    acts_ = said("dip 30 mm 1.8 weeping vinegar so2 24 air 13.5 78 % from K-2; hoop rusty").acts
    assert [act.kind for act in acts_] == ["climate", "look", "reading", "reading", "top"]
    climate, look, sulphite, dip, topping = acts_
    assert (climate.room, climate.temperature, climate.humidity) == ("Low", 13.5, 78.0)
    assert (look.level, look.bung, look.smell, look.note) == ("", "weeping", "vinegar", "hoop rusty")
    assert (sulphite.property, sulphite.value) == ("free_so2_mg_l", 24.0)
    assert (dip.property, dip.value) == ("headspace_mm", 30.0)
    assert (topping.volume, topping.source, topping.note) == (1800, "K-2", "")


def test_words_alone_leave_the_stop_open_unless_it_was_seen_full() -> None:
    """Very low and not topped: written, and still to do. Full: there is nothing to top."""
    assert said("very low loose") == said("loose VERY LOW")
    assert (said("very low").acts, said("very low").is_done) == ((acts.Look(vessel="B-1", level="very low"),), False)
    assert said("full").is_done


def test_a_note_alone_is_a_look_and_with_a_figure_it_is_the_entrys() -> None:
    """What comes after the semicolon is kept with what it was said of."""
    assert said("; chime cracked").acts == (acts.Look(vessel="B-1", note="chime cracked"),)
    assert said("1.8; foam").acts == (top(1800, note="foam"),)


def test_a_stop_that_asks_for_no_figure_takes_words_and_a_note() -> None:
    """Smelled and sound; or smelled, and of what."""
    (plain,) = said("", Task.SNIFF).acts
    assert (plain.kind, plain.treatment) == ("treat", "sniff")
    look, done = said("egg; strong", Task.SNIFF).acts
    assert (look.smell, look.note, done.treatment) == ("egg", "strong", "sniff")
    (tasted,) = said("; honey, soft", Task.TASTE).acts
    assert (tasted.treatment, tasted.note) == ("taste", "honey, soft")


def test_not_full_may_be_said_or_given() -> None:
    """In the line, or by the key that was pressed before."""
    assert said("1.8 not full").acts == said("1.8", **{"not-full": "yes"}).acts == (top(1800, not_full=True),)


def test_the_first_figure_is_what_the_task_asks_for() -> None:
    """At a sulphite stop it is free SO2, at a dip the headspace; units are the person's."""
    assert said("24", Task.SULPHITE).acts[0].value == 24.0
    assert said("3 cm", Task.GAUGE).acts[0].headspace == 30.0
    assert said("0.5", units=Units(volume="gal")).acts[0].volume == 1893


@pytest.mark.parametrize(
    ("text", "task", "why"),
    [
        ("1.8 wheeping", Task.TOP, "wheeping"),
        ("weeping blue", Task.TOP, "'blue' is not understood"),
        ("1.8 tight loose", Task.TOP, "cannot both be"),
        ("1.8 2.5", Task.TOP, "name what each is"),
        ("dip", Task.TOP, "figure after it"),
        ("dip 30 dip 31", Task.TOP, "given twice"),
        ("air 13", Task.TOP, "temperature and the humidity"),
        ("", Task.TOP, "done or seen"),
        ("24 from K-1", Task.SULPHITE, "belongs to a topping"),
        ("12", Task.TASTE, "not wanted here"),
    ],
)
def test_what_is_not_understood_is_said_in_one_line(text: str, task: Any, why: str) -> None:
    """Nothing is guessed, and nothing is half-understood."""
    with pytest.raises(BadField, match=why) as caught:
        said(text, task)
    assert "\n" not in str(caught.value)


def test_the_air_needs_a_room() -> None:
    """A barrel that stands nowhere has no air to speak of."""
    with pytest.raises(BadField, match="no named room"):
        parse_stop_line(Stop("B-1", Task.TOP, (None, None, None, None)), "air 13 78", {}, NOW)


@pytest.mark.slow
@given(
    parts=st.lists(
        st.sampled_from(["dip 30", "so2 24 mg/L", "air 13.5 78", "from K-2", "vinegar", "not full"]), unique=True
    ),
    level=st.sampled_from(["", *LEVELS]),
    bung=st.sampled_from(["", *BUNGS]),
    smell=st.sampled_from(["", *SMELLS]),
    order=st.randoms(),
)
def test_the_order_of_the_words_does_not_matter(
    parts: list[str], level: Any, bung: Any, smell: Any, order: Any
) -> None:
    """After the litres the words may come as they come."""
    words = [word for word in (*parts, level, bung, smell) if word]
    first = said(" ".join(["1.8", *words]))
    order.shuffle(words)
    again = said(" ".join([*words, "1.8"]) if order.random() < 0.5 else " ".join(["1.8", *words]))
    assert [_smells_sorted(act) for act in again.acts] == [_smells_sorted(act) for act in first.acts]


def _smells_sorted(act: Any) -> Any:
    return replace(act, smell=", ".join(sorted(act.smell.split(", ")))) if act.kind == "look" else act


def test_what_was_said_and_that_the_stop_is_done_are_written_together(
    cellar_book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both are there; and where the walk cannot be told, the topping is not in the book either."""
    walk = open_walk(cellar_book)
    stop = Stop("B-1", Task.TOP, (None, None, None, None), keg="K-1")
    message = parse_stop_line(stop, "0.4 weeping", {"from": "K-1"}, cellar_book.now())
    written = write_stop_acts(cellar_book, walk, stop, message, hand="mira", sure=True)
    assert [(each.act.kind, each.act.hand) for each in written] == [("look", "mira"), ("top", "mira")]
    assert walk.states == open_walk(cellar_book).states == {stop.key: "done"}
    before = cellar_book.newest_id()
    lost = Walk("no-such-walk", walk.began_at)

    def fail(*_: object) -> None:
        raise RuntimeError("the power fails")

    monkeypatch.setattr("cooperage.programme.walk.stop_line.mark_in", fail)
    with pytest.raises(RuntimeError):
        write_stop_acts(cellar_book, lost, stop, message, sure=True)
    assert cellar_book.newest_id() == before
    assert lost.states == {}


def test_a_look_alone_leaves_the_stop_to_do(cellar_book: Book) -> None:
    """What was seen is in the book; the barrel still wants its topping."""
    walk = open_walk(cellar_book)
    stop = Stop("B-1", Task.TOP, (None, None, None, None), keg="K-1")
    write_stop_acts(cellar_book, walk, stop, parse_stop_line(stop, "weeping", {"from": "K-1"}, cellar_book.now()))
    assert walk.states == open_walk(cellar_book).states == {}
    bung = cellar_book.cellar()["B-1"].seen("bung")
    assert bung is not None
    assert bung.word == "weeping"
