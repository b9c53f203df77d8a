"""Difference tests as lines on the screen of tasting: which codes are alike only once one is revealed."""

from datetime import datetime
from textwrap import wrap

from cooperage.tasting.difference.question import SAMPLES
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.turns import progress_lines
from cooperage.tasting.difference.words import asked_words, outcome_lines, samples_words
from cooperage.tasting.flights.closing import peeked_words
from cooperage.units import counted, show_date

_WIDTH = 60


def about_test(poured: DifferenceFlight, now: datetime) -> list[str]:
    """Return a test's name, when it was poured, and what it asks."""
    named = f"{poured.code}  {poured.name}".rstrip()
    state = "still blind" if poured.is_blind else ", ".join(poured.tasters)
    parts = (named, f"poured {show_date(poured.poured_at, now).strip()}", state)
    return [" · ".join(part for part in parts if part), asked_words(poured)]


def blind_test_lines(poured: DifferenceFlight) -> list[str]:
    """Return how many of their sets each taster has answered, and who looked the codes up."""
    return [*progress_lines(poured), *peeked_words(poured.peeks)]


def closed_test_lines(poured: DifferenceFlight) -> list[str]:
    """Return what a revealed test showed, then who answered how many; brings NumPy."""
    from cooperage.tasting.difference.outcome import difference_outcome

    outcome = difference_outcome(poured)
    each = [f"{taster} {right} of {of}" for taster, (right, of) in outcome.by_taster.items()]
    lines = [samples_words(poured), "", *outcome_lines(outcome)]
    counts = ["", f"Right of each: {', '.join(each)}"] if outcome.is_repeated and each else []
    return [*lines, *counts, *peeked_words(poured.peeks)]


def close_test_question(poured: DifferenceFlight) -> str:
    """Return what is asked before the codes are revealed: who has sets left to answer, and what it does."""
    left = [f"{taster} has {counted(sets, 'set')} left to answer." for taster, sets in poured.left_to_answer()]
    none = [] if poured.answered else ["Nobody answered it."]
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
            *(f"  {line}" for line in wrap(", ".join(codes), _WIDTH)),
        ]
    return lines
