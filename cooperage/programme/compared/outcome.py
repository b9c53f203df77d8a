"""The answer of a kept trial: what its revealed flights gave, or what was read, held against its barrels."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from sqlalchemy import Connection, select

from cooperage.book import Book
from cooperage.book.store.tables import ENTRY, READING, VESSEL
from cooperage.programme.compared.analysis import BarrelValues, TreatmentComparison, compare
from cooperage.programme.compared.kept import find_trial
from cooperage.programme.compared.trial import BarrelTrial, NothingSeenYet
from cooperage.tasting.flights.closing import peeked_words
from cooperage.tasting.flights.outcome import score_table_of, scorers
from cooperage.tasting.flights.scales import bounds
from cooperage.tasting.flights.shape import Flight
from cooperage.tasting.flights.stored import flights_in
from cooperage.units import local_day, midnight

_Value = tuple[str, int, str, float]
"""The tag of a barrel, the occasion, whose column there, and the value."""


@dataclass(frozen=True, slots=True)
class TrialOutcome:
    """The answer of a trial so far, the flights it stands on, and who looked up codes before they were revealed.

    `missing` are the tags of barrels without any score or reading.
    """

    trial: BarrelTrial
    compared: TreatmentComparison
    flights: tuple[str, ...]
    peeks: tuple[str, ...]
    missing: tuple[str, ...]


def trial_outcome(book: Book, code: str) -> TrialOutcome:
    """Return the answer of a trial by its revealed flights alone.

    Raises NoSuchBarrelTrial, NothingSeenYet, TooFewTrialBarrels, TreatmentsApart.
    """
    with book.reading() as connection:
        trial = find_trial(connection, code)
        revealed = [each.flight for each in trial.poured if not each.is_blind]
        flights = [each for each in reversed(flights_in(connection)) if each.code in revealed]
        values = list(_scores(trial, flights) if trial.is_tasted else _read(connection, trial))
    if not values:
        raise NothingSeenYet(trial.code, is_tasted=trial.is_tasted)
    low, high = bounds(trial.scale) if trial.is_tasted else (0.0, math.inf)
    layout = trial.layout
    compared = compare(_observed(trial, values, high - low), layout.treatment, layout.block, level=trial.level)
    seen = {tag for tag, *_ in values}
    return TrialOutcome(
        trial,
        compared,
        tuple(each.code for each in flights),
        tuple(line for each in flights for line in peeked_words(each.peeks)),
        tuple(each.vessel for each in trial.barrels if each.vessel not in seen),
    )


def _scores(trial: BarrelTrial, flights: list[Flight]) -> Iterator[_Value]:
    own = {each.vessel for each in trial.barrels}
    for occasion, poured in enumerate(flights):
        table, tasters = score_table_of(poured, trial.measure), scorers(poured, trial.measure)
        for glass, row in zip(poured.glasses, table, strict=True):
            for taster, value in zip(tasters, row.tolist(), strict=True):
                if glass.vessel in own and not math.isnan(value):
                    yield glass.vessel, occasion, taster, value


def _read(connection: Connection, trial: BarrelTrial) -> Iterator[_Value]:
    """Yield what was read of every barrel since the first planned day; a reading belongs to the last day before it."""
    days = sorted({each.day for each in trial.sittings})
    own = {each.vessel for each in trial.barrels}
    struck = select(ENTRY.c.strikes_id).where(ENTRY.c.strikes_id.is_not(None))
    query = (
        select(VESSEL.c.tag, ENTRY.c.happened_at, READING.c.value)
        .join(ENTRY, ENTRY.c.id == READING.c.entry_id)
        .join(VESSEL, VESSEL.c.id == READING.c.vessel_id)
        .where(READING.c.property == trial.measure, ENTRY.c.happened_at >= midnight(days[0]), ENTRY.c.id.not_in(struck))
        .order_by(ENTRY.c.happened_at, ENTRY.c.id)
    )
    for tag, at, value in connection.execute(query):
        if tag in own:
            yield tag, sum(day <= local_day(at) for day in days) - 1, "", value


def _observed(trial: BarrelTrial, values: list[_Value], width: float) -> BarrelValues:
    places = {each.vessel: at for at, each in enumerate(trial.barrels)}
    columns = {key: at for at, key in enumerate(dict.fromkeys((occasion, who) for _, occasion, who, _ in values))}
    return BarrelValues(
        np.array([value for *_, value in values]),
        np.array([places[tag] for tag, *_ in values]),
        np.array([columns[occasion, who] for _, occasion, who, _ in values]),
        np.array([occasion for _, occasion, _, _ in values]),
        width,
    )
