"""Flights and difference tests as text and lines: never what is in a glass before it is revealed."""

from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from textwrap import wrap

from rich.text import Text

from cooperage.book import Book
from cooperage.tasting.difference.question import SAMPLES
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.turns import progress_lines
from cooperage.tasting.difference.words import asked_words, outcome_lines, samples_words, together_lines
from cooperage.tasting.flights import Flight
from cooperage.tasting.flights.closing import peeked_words
from cooperage.tui.forms.poured import pour_question
from cooperage.tui.shared.ink import DONE, DUE
from cooperage.tui.tasting.results import Inks
from cooperage.units import Units, counted, show_date

_FLIGHT = "{:<11} {:<11} {:>7}  {:<16} "
_FLIGHT_NARROW = "{:<11} {:<7} {:>7}  {:<11} "
_NARROW = 70
"""Columns below which the parts of a flight's line stand close, so that its name has room."""
_WIDE, _NAME = 110, 34
"""From so many columns on the tasters stand in a flight's line, after so many columns for its name."""
_POURED = 60
"""Columns of the codes that are poured."""


AnyFlight = Flight | DifferenceFlight
"""A flight that is scored, or a difference test."""


def is_blind(flight: AnyFlight) -> bool:
    """Return True until the codes are revealed."""
    return flight.is_blind


def closed_codes(found: Iterable[AnyFlight]) -> set[str]:
    """Return the codes of the flights that are revealed."""
    return {each.code for each in found if not each.is_blind}


def flights_head(width: int) -> str:
    """Return the head of the list of flights at this width."""
    tasters = f"{'name':<{_NAME}}scored by" if width >= _WIDE else "name"
    return f"  {_columns(width).format('flight', 'poured', 'glasses', 'scores')}{tasters}"


def _columns(width: int) -> str:
    return _FLIGHT_NARROW if width < _NARROW else _FLIGHT


def flight_line(flight: AnyFlight, width: int, inks: Inks, now: datetime) -> Text:
    """Return a flight in one line: whether it is still blind, and then how many scores are in."""
    mark, role, state = (
        (DUE, "honey", f"blind, {_scores_in(flight)}") if flight.is_blind else (DONE, "rain", "revealed")
    )
    poured = show_date(flight.poured_at, now)
    line = Text(no_wrap=True).append(f"{mark} ", inks(role))
    line.append(_columns(width).format(flight.code, poured, len(flight.glasses), state))
    tasters = ", ".join(flight.tasters) or "none yet"
    name = _named(flight)
    line.append(f"{name:<{_NAME}}{tasters}" if width >= _WIDE else name, inks("quiet"))
    line.truncate(width, overflow="ellipsis")
    return line


def _named(flight: AnyFlight) -> str:
    """Return a flight's name, after its test where it is one."""
    if isinstance(flight, Flight):
        return flight.name
    return ": ".join(part for part in (flight.question.test, flight.name) if part)


def _scores_in(flight: AnyFlight) -> str:
    if isinstance(flight, DifferenceFlight):
        return f"{len(flight.answered)} in"
    given = sum(score.value is not None or bool(score.marks) for score in flight.scores.values())
    return f"{given} in"


def about_flight(flight: Flight, now: datetime) -> list[str]:
    """Return a flight's name, when it was poured, its scale, and who scored it or did not; only of a closed one."""
    names = flight.absent
    absent = f"{', '.join([*names[:-2], ' and '.join(names[-2:])])} did not score" if names else ""
    who = ("still blind",) if is_blind(flight) else (", ".join(flight.tasters), absent)
    named = f"{flight.code}  {flight.name}".rstrip()
    parts = (named, f"poured {show_date(flight.poured_at, now).strip()}", f"scale {flight.scale}", *who)
    return [" · ".join(part for part in parts if part)]


def blind_lines(flight: Flight) -> list[str]:
    """Return the glasses by their codes, and how many of them each taster has scored."""
    codes = "  ".join(glass.code for glass in flight.glasses)
    scored = [f"{each.name} {each.scale}" for each in flight.attributes]
    about = [f"Scored besides:  {', '.join(scored)}"] if scored else []
    known = [f"The control that all know:  {glass.code}" for glass in flight.glasses if glass.is_reference]
    return [
        f"Glasses in the order poured:  {codes}",
        *known,
        *about,
        *peeked_words(flight.peeks),
        "",
        *(_progress(flight, taster) for taster in flight.panel),
    ]


def _progress(flight: Flight, taster: str) -> str:
    scored = sum(who == taster for _, who in flight.scores)
    left = ", and left" if taster in flight.departed else ""
    return f"{taster} has scored {scored} of {counted(len(flight.glasses), 'glass', 'glasses')}{left}."


def waiting_lines(flight: Flight) -> list[str]:
    """Return what a taster who sits down may see: what is scored, and how far each of the panel is."""
    scored = [f"{each.name} {each.scale}" for each in flight.attributes]
    lines = ["", f"  {counted(len(flight.glasses), 'glass', 'glasses')}, each scored overall {flight.scale}"]
    if scored:
        lines.append(f"  and for {', '.join(scored)}")
    return [*lines, "", *(f"  {_progress(flight, taster)}" for taster in flight.panel)]


def close_question(flight: Flight) -> str:
    """Return what is asked before the codes are revealed: who has glasses left to score, and what follows.

    Verdicts are only counted: whose they are would show what stands in the glasses.
    """
    glasses = len(flight.glasses)
    left = [
        f"{taster} has scored nothing." if count == glasses else f"{taster} has {count} of {glasses} left to score."
        for taster, count in flight.left_to_give()
    ]
    none = [] if flight.scores else ["No taster has scored it."]
    lines = [f"Reveal the codes of {flight.code}?", *left, *none]
    return "\n".join([*lines, "", "This locks its scores; no more can be given.", *_verdicts_given(flight)])


def _verdicts_given(flight: Flight) -> list[str]:
    """Return how often which verdict was given, and what becomes of them; nothing where none was."""
    given = Counter(each.verdict.word for each in flight.scores.values() if each.verdict is not None)
    if not given:
        return []
    counts = ", ".join(f"{word} {count}" for word, count in given.most_common())
    return [
        f"Verdicts given: {counts}.",
        "Next, what most tasters gave each vessel is proposed; it is written when you confirm it there.",
    ]


def peek_question(flight: AnyFlight, hand: str) -> str:
    """Return what is asked before the codes of a blind flight are shown."""
    return f"{pour_question(flight.code)}\nThat {hand or 'an unnamed hand'} looked is written."


def about_test(poured: DifferenceFlight, now: datetime, units: Units) -> list[str]:
    """Return a test's name, when it was poured, and what it asks."""
    named = f"{poured.code}  {poured.name}".rstrip()
    state = "still blind" if poured.is_blind else ", ".join(poured.tasters)
    parts = (named, f"poured {show_date(poured.poured_at, now).strip()}", state)
    return [" · ".join(part for part in parts if part), asked_words(poured, units)]


def blind_test_lines(poured: DifferenceFlight) -> list[str]:
    """Return how many of their sets each taster has answered, and who looked the codes up."""
    return [*progress_lines(poured), *peeked_words(poured.peeks)]


def closed_test_lines(book: Book, poured: DifferenceFlight, units: Units) -> list[str]:
    """Return what a revealed test showed, alone and with others of the same two, then who answered; brings NumPy."""
    from cooperage.tasting.difference.outcome import difference_outcome, taken_together

    outcome = difference_outcome(poured)
    each = [f"{taster} {right} of {of}" for taster, (right, of) in outcome.by_taster.items()]
    lines = [samples_words(poured), "", *outcome_lines(outcome, units)]
    lines += together_lines(taken_together(book, poured), units)
    counts = ["", f"Right of each: {', '.join(each)}"] if outcome.is_repeated and each else []
    return [*lines, *counts, *peeked_words(poured.peeks)]


def close_test_question(poured: DifferenceFlight) -> str:
    """Return what is asked before the codes are revealed: who has sets left to answer, and what it does."""
    left = [f"{taster} has {counted(sets, 'set')} left to answer." for taster, sets in poured.left_to_give()]
    none = [] if poured.answered else ["No taster has answered it."]
    return "\n".join(
        [f"Reveal the codes of {poured.code}?", *left, *none, "", "This locks its answers; no more can be given."]
    )


def pour_test_lines(poured: DifferenceFlight) -> list[str]:
    """Return which sample goes into which glasses: only for the person who pours."""
    lines = []
    for letter in SAMPLES:
        codes = [glass.code for glass in poured.glasses if glass.role == letter]
        lines += [
            f"{poured.called(letter)} into {len(codes)}:",
            *(f"  {line}" for line in wrap(", ".join(codes), _POURED)),
        ]
    return lines
