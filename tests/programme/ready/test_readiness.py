"""When barrels are ready by the cellar's own definition, from a book with flights."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import cast

import pytest

from cooperage.book import Book
from cooperage.book.declared import acts
from cooperage.errors import CooperageError
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.ready.definitions import (
    NoSuchChance,
    NothingDefined,
    ScaleDoubtful,
    TermRetired,
    define,
    definitions_in,
    standing_definitions,
    withdraw,
)
from cooperage.programme.ready.readiness import Readiness, ReadyState, in_turn, looks_due, readiness
from cooperage.programme.ready.words import (
    figures_words,
    look_words,
    ready_line,
    ready_parts,
    ready_row,
    ready_words,
    window_words,
)
from cooperage.programme.rounds.due import Task, next_due
from cooperage.programme.search.described import describe
from cooperage.programme.search.marks import marks_of
from cooperage.programme.search.measures import MEASURES, measure_all
from cooperage.programme.search.query import find_vessels
from cooperage.tasting.flights import reveal, score, start_flight
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, add_term, retire_term
from cooperage.units import DEFAULT, local_day
from tests.conftest import Clock
from tests.programme.ready.conftest import taste

BOTH = "overall at least 13.5; oak at most 6"


def found(book: Book) -> dict[str, Readiness]:
    return readiness(book, cellar_now(book))


def test_nothing_is_defined(tasted_book: Book) -> None:
    """Then nothing is foreseen, and the line for it names the command."""
    assert found(tasted_book) == {}
    assert "cooperage ready define" in ready_line({})[0]
    with pytest.raises(NothingDefined):
        withdraw(tasted_book)


def test_ready_ripening_and_passed(tasted_book: Book) -> None:
    """One is there, one is on its way, one has too much oak, and each shows why."""
    define(tasted_book, BOTH, hand="Maren")
    states = {tag: each.state for tag, each in found(tasted_book).items()}
    assert (states["B-2"], states["B-3"]) == (ReadyState.READY, ReadyState.PASSED)
    ready = found(tasted_book)
    assert states["B-1"] in (ReadyState.NOT_YET, ReadyState.NEARLY)
    assert [each.vessel for each in in_turn(ready.values())] == ["B-2", "B-1", "B-3"]
    one, two, three = (ready[tag] for tag in ("B-1", "B-2", "B-3"))
    chances = [each.chance or 0.0 for each in (three, one, two)]
    assert chances[0] < 0.05 < chances[1] < 0.5 < chances[2]
    today = local_day(cellar_now(tasted_book).at)
    assert two.opens == today
    assert one.opens is None or one.opens > today
    assert (three.passed or 0.0) > 0.5
    assert {each.name: each.scale for each in two.figures} == {"overall": "0-20", "oak": "0-10"}
    overall = next(each for each in two.figures if each.name == "overall")
    assert overall.low < 15.7 < overall.high


def test_the_day_to_pull(tasted_book: Book) -> None:
    """What is ready is best pulled now, what ripens later, on no day before the next look is due; scripts read it."""
    define(tasted_book, BOTH)
    ready, at = found(tasted_book), cellar_now(tasted_book).at
    assert ready["B-2"].pull == local_day(at)
    assert "best pulled: now" in ready_parts(ready["B-2"], at)
    one = ready["B-1"]
    assert one.pull is None or one.pull > local_day(at)
    assert ready_row(ready["B-2"])["best_pulled"] == local_day(at).isoformat()
    assert found(tasted_book)["B-1"].pull == one.pull  # as it is kept


def test_a_lot_has_its_own_definition(tasted_book: Book) -> None:
    """It goes before the cellar's, and once withdrawn the cellar's stands again; all stay written."""
    define(tasted_book, BOTH)
    define(tasted_book, "overall at least 5", lot="heather", chance=0.6, risk=0.2, hand="Iko")
    own = found(tasted_book)["B-1"]
    assert (own.state, own.wanted, own.risk) == (ReadyState.READY, 0.6, 0.2)
    withdraw(tasted_book, lot="HEATHER")
    assert found(tasted_book)["B-1"].wanted == 0.5
    with tasted_book.reading() as connection:
        every = definitions_in(connection)
    assert [(each.lot, bool(each.limits), each.hand) for each in every] == [
        (None, True, ""),
        ("HEATHER", True, "Iko"),
        ("HEATHER", False, ""),
    ]
    assert list(standing_definitions(every, every[0].written_at)) == [None]


def test_a_definition_that_cannot_be(tasted_book: Book) -> None:
    """Each is refused in one line, and nothing is written."""
    for text, chance, risk in (("good", 0.5, 0.1), (BOTH, 1.0, 0.1), (BOTH, 0.5, float("nan"))):
        with pytest.raises(CooperageError):
            define(tasted_book, text, chance=chance, risk=risk)
    with pytest.raises(CooperageError):
        define(tasted_book, BOTH, lot="NONE")
    with pytest.raises(NoSuchChance, match="1 to 99"):
        define(tasted_book, BOTH, risk=0.0)
    for text, why in (
        ("smoothness at least 3", "no attribute 'smoothness'"),
        ("ôak at most 5", "did you mean oak"),
        ("oak at most 99", "oak 99 is not on the scale 0-10"),
        ("overall at least 14 of 10", "14 is not on the scale 0-10"),
        ("overall at least 34", "overall 34 is not on the scale 0-20; .* another scale: 'overall at least 34 of 100'"),
    ):
        with pytest.raises(CooperageError, match=why):
            define(tasted_book, text)
    with tasted_book.reading() as connection:
        assert definitions_in(connection) == []


def test_a_limit_on_what_is_retired_is_refused(tasted_book: Book) -> None:
    """No panel scores it any more; back in the vocabulary, it is taken again."""
    retire_term(tasted_book, ATTRIBUTE, "oak")
    with pytest.raises(TermRetired, match=r"^'oak' is retired .* `cooperage taste words add attribute oak` brings it"):
        define(tasted_book, BOTH, sure=True)
    add_term(tasted_book, ATTRIBUTE, "oak", family="wood", part="palate", scale="0-10")
    assert define(tasted_book, BOTH).limits


def test_a_limit_that_seems_of_another_scale_is_asked_about(tasted_book: Book) -> None:
    """14 was a score of 20; of 100, on which the last flight was scored, everything is above it."""
    poured = start_flight(tasted_book, ["B-1"], code="F-9", scale="0-100")
    score(tasted_book, "F-9", poured.glasses[0].code, "Ada", 70.0)
    define(tasted_book, "overall at least 14")  # that flight is not revealed yet
    reveal(tasted_book, "F-9", sure=True)
    with pytest.raises(ScaleDoubtful) as asked:
        define(tasted_book, "overall at least 14; oak at most 1")
    assert asked.value.words(DEFAULT) == (
        "overall at least 14 would be on the scale 0-100, on which overall was scored last; for another write "
        "'overall at least 14 of 20'. Is it meant on 0-100? If this is right, repeat the command with --sure."
    )
    for text in ("overall at least 14 of 20", "overall at least 60"):
        assert define(tasted_book, text).limits
    assert define(tasted_book, "overall at least 14", sure=True).limits


def test_what_is_missing_is_named(tasted_book: Book) -> None:
    """A word that was never scored, another scale, a figure never measured: too little history, and which."""
    define(tasted_book, "spirit at most 3; oak at most 60 of 100; va at most 0.7")
    one = found(tasted_book)["B-1"]
    assert one.state is ReadyState.UNKNOWN
    assert one.missing == ("spirit was never scored", "oak was never scored on 0-100", "VA was never measured")
    assert "spirit was never scored" in figures_words(one)


def test_a_figure_and_the_age_count_too(tasted_book: Book) -> None:
    """With acidity read, and months in wood to come, the window opens when the months are over."""
    for tag in ("B-1", "B-2", "B-3"):
        tasted_book.write(acts.Reading(vessel=tag, property="va_g_l", value=0.4))
    define(tasted_book, "overall at least 13.5; va at most 0.7; age at least 15")
    two = found(tasted_book)["B-2"]
    assert two.state is ReadyState.NOT_YET
    assert two.opens is not None
    filled = cellar_now(tasted_book)["B-2"].days_in_wood or 0.0
    assert abs((two.opens - local_day(cellar_now(tasted_book).at)).days - (15 * 365.25 / 12 - filled)) <= 7


def test_a_barrel_that_was_not_tasted_is_no_more_than_nearly_ready(tasted_book: Book) -> None:
    """It is foreseen by its like, less surely, and it is to be tasted."""
    tasted_book.write(acts.Fill(vessel="B-4", source="T-1"))
    define(tasted_book, "overall at least 5")
    ready = found(tasted_book)
    assert ready["B-4"].state is ReadyState.NEARLY
    assert ready["B-4"].missing == ("overall not scored in this fill",)

    define(tasted_book, "overall at most 3")
    assert found(tasted_book)["B-4"].state is ReadyState.NOT_YET
    assert found(tasted_book)["B-1"].state is ReadyState.PASSED

    def width(each: Readiness) -> float:
        return each.figures[0].high - each.figures[0].low

    assert width(ready["B-4"]) > width(ready["B-1"])


def test_the_taster_goes_before_the_forecast(tasted_book: Book) -> None:
    """A verdict of ready is ready; weeks to the next look are those; a quarantine is neither."""
    define(tasted_book, BOTH)
    by_forecast = found(tasted_book)["B-1"]
    assert by_forecast.look_by == "forecast"
    assert "B-1" in looks_due(tasted_book, cellar_now(tasted_book))
    judged = tasted_book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=3))
    own = found(tasted_book)["B-1"]
    assert (own.look_by, own.next_look) == ("verdict", judged.at + timedelta(weeks=3))
    assert "(taster)" in look_words(own, judged.at)
    assert "B-1" not in looks_due(tasted_book, cellar_now(tasted_book))
    tasted_book.write(acts.Judge(vessel="B-1", verdict="ready"))
    assert found(tasted_book)["B-1"].state is ReadyState.READY
    tasted_book.write(acts.Judge(vessel="B-2", verdict="quarantine"))
    assert found(tasted_book)["B-2"].state is ReadyState.QUARANTINED


def test_the_rounds_ask_for_the_look(tasted_book: Book) -> None:
    """The tasting is due when the forecast asks for it, unless it was just tasted."""
    define(tasted_book, BOTH)
    cellar = cellar_now(tasted_book)
    looks = looks_due(tasted_book, cellar)
    due = next(each for each in next_due(cellar["B-1"], cellar, looks=looks) if each.task is Task.TASTE)
    assert (due.due, due.why) == looks["B-1"]


def page_and_rounds(book: Book) -> tuple[Readiness, datetime]:
    """What is shown of B-1, and when the rounds ask to taste it, at one moment."""
    cellar = cellar_now(book)
    coming = next_due(cellar["B-1"], cellar, looks=looks_due(book, cellar))
    return readiness(book, cellar)["B-1"], next(each.due for each in coming if each.task is Task.TASTE)


def test_a_sample_meets_the_look_on_the_page_as_on_the_rounds(tasted_book: Book) -> None:
    """Unscored as it is, both ask for the look of its interval then; before, both asked for that of the forecast."""
    define(tasted_book, BOTH)
    clock = cast("Clock", tasted_book.now)
    clock.time = looks_due(tasted_book, cellar_now(tasted_book))["B-1"][0]
    asked, due = page_and_rounds(tasted_book)
    assert (asked.look_by, asked.next_look) == ("forecast", due)
    sampled = tasted_book.write(acts.Sample(vessel="B-1", volume=50))
    met, due = page_and_rounds(tasted_book)
    assert (met.look_by, met.next_look) == ("interval", due)
    assert f"look next {look_words(met, sampled.at)};" in ready_words(met, sampled.at)
    assert look_words(met, sampled.at).endswith(" (interval)")
    assert due > sampled.at + timedelta(weeks=3)


def test_a_sample_meets_the_look_that_was_decided(tasted_book: Book) -> None:
    """In the later half of the wait; what the taster said is then no longer overdue, and the forecast stands again."""
    define(tasted_book, BOTH)
    judged = tasted_book.write(acts.Judge(vessel="B-1", verdict="look again", weeks=8))
    clock = cast("Clock", tasted_book.now)
    clock.pass_days(60)
    asked, due = page_and_rounds(tasted_book)
    assert (asked.look_by, asked.next_look, due) == ("verdict", due, judged.at + timedelta(weeks=8))
    assert look_words(asked, clock.time).endswith(", overdue (taster)")
    tasted_book.write(acts.Sample(vessel="B-1", volume=50))
    met, due = page_and_rounds(tasted_book)
    assert (met.look_by, met.next_look) == ("forecast", due)
    assert "overdue" not in look_words(met, clock.time)


def test_a_look_back_knows_nothing_later(tasted_book: Book) -> None:
    """At a past moment only what was defined and revealed by then counts."""
    define(tasted_book, BOTH)
    assert isinstance(tasted_book.now, Clock)
    tasted_book.now.pass_days(30)
    before = cellar_now(tasted_book)
    then = readiness(tasted_book, before)
    taste(tasted_book, "F-9", {tag: {"overall": 19.0, "oak": 1.0} for tag in ("B-1", "B-2", "B-3")})
    back = readiness(tasted_book, cellar_now(tasted_book, before.at))
    assert back["B-1"].chance == then["B-1"].chance
    assert found(tasted_book)["B-1"].chance != then["B-1"].chance


def test_what_is_kept_is_the_same(tasted_book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second look reads what the first one kept; a topping changes nothing of it, a flight does."""
    define(tasted_book, BOTH)
    fresh = found(tasted_book)
    monkeypatch.setenv("COOPERAGE_CACHE", str(tmp_path))
    assert {tag: each.chance for tag, each in found(tasted_book).items()} == {
        tag: each.chance for tag, each in fresh.items()
    }
    files = {path.name for path in tmp_path.glob("*-ready-*.json")}
    again = found(tasted_book)
    tasted_book.write(acts.Rack(vessel="T-1", destination="K-1", volume=40_000))
    assert found(tasted_book) == again
    assert {path.name for path in tmp_path.glob("*-ready-*.json")} == files
    taste(tasted_book, "F-9", {"B-1": {"overall": 19.0, "oak": 1.0}})
    assert found(tasted_book)["B-1"].chance != again["B-1"].chance


def test_search_and_racks(tasted_book: Book) -> None:
    """`ready` and `passed` find barrels, and the racks can be coloured by the chance."""
    define(tasted_book, BOTH)
    cellar = cellar_now(tasted_book)
    marks = marks_of(tasted_book, cellar)
    seen = describe(cellar, marks)
    assert [each.tag for each in find_vessels(seen, "ready")] == ["B-2"]
    assert [each.tag for each in find_vessels(seen, "passed")] == ["B-3"]
    assert "B-2" not in [each.tag for each in find_vessels(seen, "not ready")]
    shown = measure_all(tasted_book, cellar, marks)[next(each.name for each in MEASURES if each.name == "ready")]
    assert (shown["B-2"].step, shown["B-3"].step, shown["T-1"].step) == (7, 1, None)


def test_words(tasted_book: Book) -> None:
    """A barrel in one line, in several, and for scripts."""
    define(tasted_book, BOTH)
    ready, at = found(tasted_book), cellar_now(tasted_book).at
    two = ready["B-2"]
    assert ready_words(two, at).startswith("ready now, >99 %; now")
    assert figures_words(two).startswith("overall 15.6 ±")
    assert window_words(ready["B-3"], local_day(at)).startswith("none within a year")
    assert ready_parts(ready["B-3"], at)[0].startswith("passed")
    assert ready_line(ready)[0] == "1 ready: B-2"
    row = ready_row(two)
    assert (row["state"], row["definition"]) == ("ready now", BOTH)
    assert len(row["chance_by_week"]) == 53
