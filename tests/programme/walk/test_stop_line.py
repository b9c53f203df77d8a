"""What is typed at a stop in one line, the acts it means, and what is announced of them."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.rounds.due import Task
from cooperage.programme.walk.announced import announced
from cooperage.programme.walk.progress import Walk, open_walk
from cooperage.programme.walk.slips import NotAWord
from cooperage.programme.walk.stop_line import NothingTyped, all_in_order, parse_stop_line, write_stop_acts
from cooperage.programme.walk.stops import Stop, StopTask, still_to_do
from cooperage.programme.walk.vocabulary import VOCABULARY
from cooperage.units import Units

NOW = datetime(2026, 11, 3, 9, tzinfo=UTC)
ALL = (Task.TOP, Task.SULPHITE, Task.TASTE)


def stop_with(*tasks: Any, is_empty: bool = False) -> Stop:
    return Stop("B-1", ("Low", "A", 1, 1), tuple(StopTask(task) for task in tasks), "K-1", is_empty=is_empty)


def said(text: Any, *tasks: Any, units: Any = None, is_empty: bool = False, not_full: str = "") -> Any:
    """Understand a line at B-1 in the Low room, topped from K-1."""
    stop = stop_with(*(tasks or ALL), is_empty=is_empty)
    return parse_stop_line(stop, text, {"from": "K-1", "not-full": not_full}, NOW, units or Units())


def top(ml: Any, **more: Any) -> Any:
    return acts.Top(vessel="B-1", volume=ml, source="K-1", **more)


def reading(name: Any, value: Any) -> Any:
    return acts.Reading(vessel="B-1", property=name, value=value)


def test_a_bare_number_is_always_the_topping() -> None:
    """Whatever is due at the vessel: 1.1 typed where SO2 is due is never a reading of SO2."""
    for tasks in ([Task.TOP], [Task.SULPHITE], [Task.GAUGE, Task.VA], [Task.TASTE], [Task.SULPHITE, Task.TOP]):
        for text in ("1.1", "1,1 L", "1100 ml", "top 1.1", "topped with 1.1 l"):
            assert said(text, *tasks).acts == (top(1100),)
    assert said("0.5", units=Units(volume="gal")).acts == (top(1893),)
    assert said("1.1", Task.TOP, Task.TASTE).done_tasks == (Task.TOP,)
    assert said("1.1", Task.SULPHITE).done_tasks == ()


def test_one_line_does_everything_at_a_vessel() -> None:
    """A topping, two readings and a look, with commas and semicolons."""
    line = said("1.1; so2 24 ph 3.41; weeping, smells of vinegar")
    look = acts.Look(vessel="B-1", bung="weeping", smell="vinegar")
    assert line.acts == (look, reading("free_so2_mg_l", 24.0), reading("ph", 3.41), top(1100))
    assert line.done_tasks == (Task.TOP, Task.SULPHITE)


def test_each_thing_is_its_own_act_the_topping_last() -> None:
    """So that a strike meets the topping first; a dip before a topping is a reading."""
    line = said("dip 30 mm 1.8 weeping vinegar so2 24 add 13 g kmbs taste clean air 13.5 78 % from K-2; hoop rusty")
    assert [act.kind for act in line.acts] == ["climate", "look", "reading", "reading", "treat", "addition", "top"]
    climate, look, sulphite, dip, taste, dose, topping = line.acts
    assert (climate.room, climate.temperature, climate.humidity) == ("Low", 13.5, 78.0)
    assert (look.level, look.bung, look.smell, look.note) == ("", "weeping", "vinegar", "hoop rusty")
    assert (sulphite.property, sulphite.value) == ("free_so2_mg_l", 24.0)
    assert (dip.property, dip.value, dip.method) == ("headspace_mm", 30.0, "dip")
    assert (taste.treatment, taste.note) == ("taste", "clean")
    assert (dose.substance, dose.amount) == ("metabisulphite", 13.0)
    assert (topping.volume, topping.source, topping.note) == (1800, "K-2", "")
    assert line.keg == "K-2"


def test_a_dip_brings_the_book_to_it_where_it_is_due_or_alone() -> None:
    """Before a topping that was not asked to be dipped it is a reading: the topping closes the gap."""
    gauge = acts.Gauge(vessel="B-1", headspace=82.0)
    assert said("dip 82", Task.GAUGE).acts == said("dip 8.2 cm").acts == (gauge,)
    assert said("dip 82; 1.1", Task.GAUGE, Task.TOP).acts == (gauge, top(1100))
    assert said("dip 82; 1.1", Task.GAUGE, Task.TOP).done_tasks == (Task.GAUGE, Task.TOP)
    assert [act.kind for act in said("dip 82; 1.1", Task.TOP).acts] == ["reading", "top"]


def test_a_level_leaves_the_topping_open_unless_it_was_seen_full() -> None:
    """Very low and not topped: written, and still to do. Full: there is nothing to top."""
    assert said("very low loose") == said("loose, level VERY LOW")
    assert said("very low").acts == (acts.Look(vessel="B-1", level="very low"),)
    assert said("very low").done_tasks == ()
    assert said("seen full").done_tasks == (Task.TOP,)


def test_a_note_goes_where_it_belongs() -> None:
    """To the look; else to the topping, the work, the reading; by itself it is a look of its own."""
    assert said("; chime cracked").acts == (acts.Look(vessel="B-1", note="chime cracked"),)
    assert said("1.8; foam").acts == said('1.8 "foam"').acts == said("“foam” 1.8").acts == (top(1800, note="foam"),)
    assert said("1.8; weeping; hoop rusty, and staves grey").acts[0].note == "hoop rusty, and staves grey"
    assert said("so2 24; second try").acts == (replace(reading("free_so2_mg_l", 24.0), note="second try"),)
    assert said("note so2 by strip, about 20; 1.8").acts == (top(1800, note="so2 by strip, about 20"),)
    assert said("; smells of roses").acts[0].note == "smells of roses"


def test_tasting_and_sniffing_take_words() -> None:
    """What it tastes of is its note; an empty barrel that was smelled was sniffed, a full one smelled at its bung."""
    assert said("tasted").acts == (acts.Treat(vessel="B-1", treatment="taste"),)
    assert said("taste clean").done_tasks == (Task.TASTE,)
    assert said("taste honey, soft and round; weeping").acts[-1].note == "honey, soft and round"
    assert said("taste honey so2 24").acts[-1].note == "honey"
    (tasted,) = said("tasted; honey, soft").acts
    assert (tasted.treatment, tasted.note) == ("taste", "honey, soft")
    look, done = said("egg; strong", Task.SNIFF, is_empty=True).acts
    assert (look.smell, look.note, done.treatment) == ("egg", "strong", "sniff")
    assert said("sniff", Task.SNIFF, is_empty=True).acts == (acts.Treat(vessel="B-1", treatment="sniff"),)
    assert said("sniffed, egg", Task.SNIFF, is_empty=True).done_tasks == (Task.SNIFF,)
    assert said("sniff").acts == (acts.Look(vessel="B-1", smell="sound"),)
    assert said("sniff vinegar").acts == (acts.Look(vessel="B-1", smell="vinegar"),)


def test_a_line_names_keg_hand_and_time() -> None:
    """For its own acts, and the keg and the hand for what follows."""
    line = said("1.8 from K-02 by Ada Lind yesterday 14:30; so2 24")
    assert {act.hand for act in line.acts} == {"Ada Lind"}
    assert len({act.at for act in line.acts}) == 1
    assert line.acts[-1].source == "K-02"
    assert (line.keg, line.hand) == ("K-02", "Ada Lind")
    assert (said("from K-02").acts, said("from K-02").keg) == ((), "K-02")
    assert (said("by Tove").acts, said("by Tove").hand) == ((), "Tove")
    assert said("3 days ago 1.8").acts == (top(1800, at=datetime(2026, 10, 31, 12, tzinfo=UTC)),)
    assert said("1.8 2026-11-01 14:30").acts == said("1.8 1 Nov 2026 14:30").acts


def test_not_full_may_be_typed_or_given() -> None:
    assert said("1.8 not full").acts == said("1.8", not_full="yes").acts == (top(1800, not_full=True),)


def test_nothing_done_is_told_with_words_too() -> None:
    """Where letters are always words, a vessel is also skipped by them."""
    assert (said("skip").left, said("Out of reach").left) == ("skipped", "out of reach")
    assert said("ok") == all_in_order(stop_with(*ALL))


def test_all_in_order_is_what_eyes_and_nose_can_tell() -> None:
    """What has to be measured stays to do."""
    done = all_in_order(stop_with(Task.TOP, Task.SULPHITE, Task.TASTE))
    assert [act.treatment for act in done.acts if isinstance(act, acts.Treat)] == ["inspect", "taste"]
    assert done.done_tasks == (Task.TOP, Task.TASTE)
    assert all_in_order(stop_with(Task.SULPHITE)).acts == ()
    assert all_in_order(stop_with(Task.SNIFF, is_empty=True)).done_tasks == (Task.SNIFF,)


@pytest.mark.parametrize(
    ("text", "word", "nearest"),
    [
        ("1.1; so2 24 ph 3.41; weepin, smells of vinegar", "weepin", "weeping"),
        ("weepin", "weepin", "weeping"),
        ("1.8 wheeping", "wheeping", "weeping"),
        ("; vinegr", "vinegr", "vinegar"),
        ("1.8; weepin hard", "weepin", "weeping"),
        ("rottn egg, 1.8", "rottn egg", "rotten egg"),
        ("tste clean", "tste", "taste"),
        ("1.8 smels of egg", "smels of", "smells of"),
        ("weeping blue", "blue", ""),
        ("; no vinegar", "no", ""),
        ("; vinegar on the left", "on", ""),
        ("all fine", "all", ""),
    ],
)
def test_a_word_that_is_none_is_refused_with_the_nearest(text: Any, word: str, nearest: str) -> None:
    """Where it stands is known too, so that it can be shown and typed over; a note is told apart by its quotes."""
    with pytest.raises(NotAWord) as caught:
        said(text)
    assert (caught.value.word, caught.value.nearest) == (word, nearest)
    assert text[slice(*caught.value.place)] == word
    message = str(caught.value)
    assert message.startswith(f"“{word}” is not a word of the walk. ")
    assert message.endswith("Nothing is written.")
    assert (f"Nearest: {nearest}." if nearest else "A note stands in quotes: “") in message


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("1.8 tight loose", "cannot both be"),
        ("1.8 2.5", "name what each is"),
        ("1..5", "is not a volume"),
        ("-2", "under zero"),
        ("dip", "figure after it"),
        ("dip low", "figure after it"),
        ("dip 30 dip 31", "given twice"),
        ("so2 24 free 26", "given twice"),
        ("so2 24 L", "name what each is|is not an amount|not a word"),
        ("air 13", "temperature and the humidity"),
        ("level 24", "name it"),
        ("bung vinegar", "name what it does"),
        ("top", "give the litres"),
        ("add 13 g", "name what is added"),
        ("add 13 g oil", "name what is added"),
        ("from", "give the name"),
        ("1.8 by Tove by Iko", "given twice"),
        ("not full", "belongs to a topping"),
        ("taste full and round", "Put a comma"),
        ("note", "give the words"),
        ("yesterday today 1.8", "give one time"),
    ],
)
def test_what_is_not_understood_is_told_in_one_line(text: Any, why: str) -> None:
    """Nothing is guessed, and nothing is half-understood."""
    with pytest.raises(BadInput, match=why) as caught:
        said(text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["", "  ", ";", ",;", "seen"])
def test_an_empty_line_does_nothing(text: Any) -> None:
    with pytest.raises(NothingTyped, match="what was done or seen"):
        said(text)


def test_the_air_needs_a_room() -> None:
    """A barrel that stands nowhere has no air to speak of."""
    with pytest.raises(BadField, match="no named room"):
        parse_stop_line(Stop("B-1", (None, None, None, None)), "air 13 78", {}, NOW)


PIECES = [
    *VOCABULARY,
    "1.8",
    "24",
    ",",
    ";",
    "“",
    "”",
    '"',
    "=",
    ":",
    "14:30",
    "mm",
    "hoop",
    "3 x",
    "yesterday",
    "B-1",
    "at",
]


@given(st.lists(st.sampled_from(PIECES) | st.text(max_size=6), max_size=9).map(" ".join) | st.text(max_size=30))
def test_any_line_is_understood_or_refused_in_one_line(text: Any) -> None:
    """With the place of a word that is none; what is understood can be announced, and no empty act is made."""
    try:
        line = said(text)
    except BadInput as error:
        refused: BadInput | None = error
    else:
        refused = None
        assert len(announced(line, {})) >= len(line.acts)  # type: ignore[arg-type]
        assert line.acts or line.keg or line.hand or line.left
        assert not any(act == acts.Look(vessel="B-1") for act in line.acts)
    assert refused is None or "\n" not in str(refused)
    if isinstance(refused, NotAWord):
        assert text[slice(*refused.place)].split() == refused.word.split()


# --- what is announced ----------------------------------------------------------------------------------------------

PARTS = {
    "dip 30": "dip 30 mm|headspace 30 mm",
    "so2 24 mg/L": "free SO2 24 mg/L",
    "pH: 3.41": "pH 3.41",
    "va=0.52": "volatile acidity 0.52 g/L",
    "brix 22.4": "gravity 1.094",
    "temp 13.5": "temperature 13.5 °C",
    "air 13.5 78 %": "air of Low 13.5 °C, 78 %",
    "from K-2": "from K-2",
    "by Tove": "by Tove",
    "level low": "seen low",
    "weeping": "bung weeping",
    "smells of vinegar": "vinegar",
    "rotten egg": "egg",
    "not full": "not to the bung",
    "taste clean": "tasted: clean",
    "add 13.5 g KMBS": "add 13.5 g of potassium metabisulphite",
    "stirred": "lees stirred",
    "“hoop rusty”": "“hoop rusty”",
    "yesterday 14:30": "on 2026-11-02 14:30",
}


@given(
    parts=st.lists(st.sampled_from(list(PARTS)), unique=True),
    order=st.randoms(use_true_random=False),
    signs=st.lists(st.sampled_from([", ", "; ", " ; ", ",", ";"]), min_size=len(PARTS) + 1, max_size=len(PARTS) + 1),
)
def test_parts_in_any_order_mean_the_same_and_all_of_it_is_announced(parts: Any, order: Any, signs: Any) -> None:
    """With commas or semicolons between them; and the announcement names every act and every figure."""
    parts = [*parts, "1.8"]
    first = said("; ".join(parts))
    order.shuffle(parts)
    text = "".join(part + sign for part, sign in zip(parts, signs, strict=False))
    text = re.sub(r"(?<=[0-9]),(?=[0-9])", ", ", text)  # between figures a comma is the decimal mark
    again = said(text)
    assert sorted(map(repr, map(_smells_sorted, again.acts))) == sorted(map(repr, map(_smells_sorted, first.acts)))
    assert (set(again.done_tasks), again.keg, again.hand) == (set(first.done_tasks), first.keg, first.hand)
    words = announced(again, {})  # type: ignore[arg-type]
    assert len(words) >= len(again.acts)
    for part in parts:
        assert any(each in " · ".join(words) for each in PARTS.get(part, "top 1.8 L").split("|")), (part, words)


def _smells_sorted(act: Any) -> Any:
    return replace(act, smell=", ".join(sorted(act.smell.split(", ")))) if act.kind == "look" else act


def test_it_is_announced_in_the_persons_units() -> None:
    american = Units(volume="gal", temperature="f", gravity="brix")
    line = said("0.3; temp 55; brix 22.4; air 56 78", units=american)
    assert announced(line, {}, american) == (  # type: ignore[arg-type]
        "air of Low 56 °F, 78 %",
        "gravity 22.4 Bx",
        "temperature 55 °F",
        "top 0.30 gal from K-1 to the bung",
    )


def test_a_dip_is_announced_with_what_it_comes_to(cellar_book: Book) -> None:
    """And how far that is from the book."""
    line = said("dip 40")
    (words,) = announced(line, cellar_book.cellar())
    written = cellar_book.write(replace(line.acts[0], sure=True))
    found = cellar_book.cellar()["B-1"].ml
    assert written.act == replace(line.acts[0], sure=True)
    assert words == f"dip 40 mm = {found / 1000:.1f} L, {(225_000 - found) / 1000:.1f} L under the book"
    assert announced(said("dip 4000"), cellar_book.cellar()) == ("dip 4000 mm",)


def test_what_is_left_out_is_announced() -> None:
    for text, words in (("skip", "skipped"), ("from K-2", "topping from K-2 from here on"), ("by Iko", "by Iko")):
        assert words in announced(said(text), {})[0]  # type: ignore[arg-type]


# --- what is written ------------------------------------------------------------------------------------------------


def test_what_was_said_and_that_its_tasks_are_done_are_written_together(
    cellar_book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both are there; and where the walk cannot be told, the topping is not in the book either."""
    walk = open_walk(cellar_book)
    stop = stop_with(Task.TOP, Task.SULPHITE, Task.TASTE)
    message = parse_stop_line(stop, "0.4, weeping; so2 24", {"from": "K-1"}, cellar_book.now())
    written = write_stop_acts(cellar_book, walk, stop, message, hand="mira", sure=True)
    kinds = [(each.act.kind, each.act.hand) for each in written]
    assert kinds == [("look", "mira"), ("reading", "mira"), ("top", "mira")]
    done = {("B-1", "top"): "done", ("B-1", "sulphite"): "done"}
    assert walk.states == open_walk(cellar_book).states == done
    assert still_to_do(stop.with_state(message.done_tasks, "done")) == "taste"
    before = cellar_book.newest_id()
    lost = Walk("no-such-walk", walk.began_at)

    def fail(*_: object) -> None:
        raise RuntimeError("the power fails")

    monkeypatch.setattr("cooperage.programme.walk.stop_line.mark_in", fail)
    with pytest.raises(RuntimeError):
        write_stop_acts(cellar_book, lost, stop, message, sure=True)
    assert cellar_book.newest_id() == before
    assert lost.states == {}


def test_a_vessel_that_is_skipped_has_all_its_open_tasks_skipped(cellar_book: Book) -> None:
    """What was done of it stays done."""
    walk = open_walk(cellar_book)
    stop = stop_with(Task.TOP, Task.SULPHITE, Task.TASTE).with_state([Task.TOP], "done")
    assert write_stop_acts(cellar_book, walk, stop, parse_stop_line(stop, "out of reach", {}, NOW)) == []
    left = {("B-1", "sulphite"): "out of reach", ("B-1", "taste"): "out of reach"}
    assert walk.states == open_walk(cellar_book).states == left


def test_a_look_alone_leaves_the_stop_to_do(cellar_book: Book) -> None:
    """What was seen is in the book; the barrel still wants its topping."""
    walk = open_walk(cellar_book)
    stop = stop_with(Task.TOP)
    write_stop_acts(cellar_book, walk, stop, parse_stop_line(stop, "weeping", {"from": "K-1"}, cellar_book.now()))
    assert walk.states == open_walk(cellar_book).states == {}
    bung = cellar_book.cellar()["B-1"].seen("bung")
    assert bung is not None
    assert bung.word == "weeping"
