"""A trial in a line: at its barrel, in the list, and on the first page on the day of a flight; loads no arrays."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection

from cooperage.book import Book
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.compared.kept import trials_in, trials_of
from cooperage.programme.compared.trial import BarrelTrial


@dataclass(frozen=True, slots=True)
class SittingDue:
    """A sitting of a trial whose day has come, numbered from 1: a flight to pour, or barrels to read.

    `tags` are those of the barrels to pour; none where they are read.
    """

    trial: str
    sitting: int
    sittings: int
    day: date
    words: str
    tags: tuple[str, ...] = ()


def sittings_due(connection: Connection, today: date) -> list[SittingDue]:
    """List what trials ask for by a day: the next flight of each that is due, and readings on their day alone."""
    found = [_due(each, today) for each in trials_in(connection)]
    return sorted((each for each in found if each is not None), key=lambda each: (each.day, each.trial))


def _due(trial: BarrelTrial, today: date) -> SittingDue | None:
    if trial.withdrawn is not None:
        return None
    numbers = trial.to_pour if trial.is_tasted else range(1, len(trial.sittings) + 1)
    days = {number: trial.sittings[number - 1].day for number in numbers}
    number = next((at for at, day in days.items() if (day <= today if trial.is_tasted else day == today)), None)
    if number is None:
        return None
    of = f"{number} of {len(trial.sittings)}"
    words = f"pour flight {of}" if trial.is_tasted else f"read {PROPERTIES[trial.measure].label} of its barrels, {of}"
    tags = tuple(trial.at_sitting(number)) if trial.is_tasted else ()
    return SittingDue(trial.code, number, len(trial.sittings), days[number], f"trial {trial.code}: {words}", tags)


def state_words(trial: BarrelTrial, today: date) -> str:
    """Return how far a trial has come: withdrawn, what is next and when, or over."""
    if trial.withdrawn is not None:
        return f"withdrawn: {trial.withdrawn.why}"
    if trial.to_pour:
        day = trial.sittings[trial.to_pour[0] - 1].day
        late = "due" if day <= today else "planned"
        return f"flight {trial.to_pour[0]} of {len(trial.sittings)} {late} {day.isoformat()}"
    if trial.is_blind:
        return "a flight of it is blind"
    if trial.is_over(today):
        return "all is in"
    return f"to be read until {max(each.day for each in trial.sittings).isoformat()}"


def trial_lines_of(book: Book, tag: str) -> list[str]:
    """Return a line for each trial that a barrel is in and that is not over."""
    return [barrel_words(trial, tag) for trial in trials_of(book, tag)]


def barrel_words(trial: BarrelTrial, tag: str) -> str:
    """Return in a line that a barrel is in a trial, and its treatment unless a flight of that trial is blind."""
    treatment = trial.treatment_of(tag)
    given = treatment.name if treatment else "its treatment is not shown while a flight of it is blind"
    return f"{trial.code}, {trial.question} {given}"


def trial_of_barrel(trial: BarrelTrial, tag: str) -> dict[str, str | None]:
    """Return the same as scripts read it."""
    treatment = trial.treatment_of(tag)
    return {"trial": trial.code, "question": trial.question, "treatment": treatment.name if treatment else None}
