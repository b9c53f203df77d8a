"""What was forecast and what came: every reading of the book held against the figure as it was known just before it.

The book is replayed once. Before each reading is applied, its vessel is aged to that moment with what had been learned
by then; what is usual is learned again on each day that has readings.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import sqrt

from cooperage.book import Book, Cellar, Standing
from cooperage.book.facts import USUAL, Facts, facts_of
from cooperage.book.replay.events import Event, Observed, events
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.state import DAY, VesselState
from cooperage.book.store.registry import Lot, Registry
from cooperage.programme.ageing.learning import Learned, learn
from cooperage.programme.ageing.leaving import air_drifts
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import AirDrift
from cooperage.programme.ageing.trails import known_at, learned_from
from cooperage.programme.air.climate import days_read, room_airs
from cooperage.programme.air.warmth import UNREAD, Warmth, warmth_of

_LEARN_AGAIN = DAY
"""[s] What was learned on an earlier day is learned again: what a day's own readings would add moves the errors by a
fiftieth at most, and takes three times as long."""
_AIR_AGAIN = 30 * DAY
"""[s] What evaporates is worked out again after so long: a season at most is missed by a few weeks."""
_LEAST_DAYS = 1.0
"""A reading sooner than this after another is about the instrument, not the mead."""


@dataclass(frozen=True, slots=True)
class ForecastOutcome:
    """One reading that came: what was forecast for it, one standard deviation of that, and the figure as last read.

    All in the property's unit; `days` since the figure was known.
    """

    name: str
    vessel: str
    at: datetime
    days: float
    forecast: float
    sd: float
    came: float
    as_last_read: float


def outcomes(book: Book, names: Iterable[str] = tuple(AGEINGS), until: datetime | None = None) -> list[ForecastOutcome]:
    """List what came of every forecast, oldest first, without looking ahead."""
    return list(_Replayed(book, set(names), until).run())


class _Replayed:
    """One replay of the book, with what had been learned at each moment."""

    def __init__(self, book: Book, names: set[str], until: datetime | None) -> None:
        self._book, self._names, self._until = book, names, until
        self._learned: dict[str, tuple[int, Learned]] = {}
        self._drifts: tuple[int, Mapping[str, AirDrift]] = -1, {}
        self._lots: Mapping[str, Lot] = {}
        self._facts: Facts = USUAL

    def run(self) -> Iterator[ForecastOutcome]:
        with self._book.reading() as connection:
            registry = Registry(connection)
            vessels = {vessel.id: vessel for vessel in registry.load()}
            states = {key: VesselState(vessel.barrel_ml) for key, vessel in vessels.items()}
            self._lots, self._facts = registry.lots, facts_of(connection)
            replay = Replay(states.__getitem__, registry.lot_by_id)
            for event in events(connection, until=self._until):
                at = datetime.fromtimestamp(event.at, UTC)

                def standing(key: str, at: datetime = at) -> Standing:
                    return Standing(vessels[key], states[key], at, registry.lots)

                if any(read.property in self._names for read in event.readings):
                    everything = [standing(key) for key in vessels]
                    yield from self._of_event(event, everything, standing)
                replay.apply(event)

    def _of_event(
        self, event: Event, everything: Sequence[Standing], standing: Callable[[str], Standing]
    ) -> Iterator[ForecastOutcome]:
        for read in event.readings:
            if read.property in self._names:
                yield from self._of_reading(read, event, standing(read.vessel), everything)

    def _of_reading(
        self, read: Observed, event: Event, standing: Standing, everything: Sequence[Standing]
    ) -> Iterator[ForecastOutcome]:
        figure = standing.figure(read.property)
        if figure.value is None:
            return
        days = (event.at - known_at(standing, read.property)) / DAY
        if days < _LEAST_DAYS:
            return
        learned = self._known(read.property, int(event.at // _LEARN_AGAIN), everything)
        passed = learned.age([standing])
        noise = learned.fitted.usual.scale * read.uncertainty
        sd = sqrt(float(passed.vv[0]) + noise**2)
        value = float(passed.value[0])
        yield ForecastOutcome(read.property, standing.tag, standing.at, days, value, sd, read.value, figure.value)

    def _known(self, name: str, span: int, everything: Sequence[Standing]) -> Learned:
        """Return what had been learned of a property by a day, from the readings before it."""
        when, before = self._learned.get(name, (-1, None))
        if before is not None and when == span:
            return before
        like = AGEINGS[name].like
        alike = self._known(like, span, everything).fitted.usual if like else None
        usual = None if alike is None else float(alike.coefficients[0])
        drifts = self._by_air(everything) if AGEINGS[name].is_moved_by_air else None
        warmth = self._warmth(everything) if AGEINGS[name].to_room else UNREAD
        learned = learn(learned_from(everything), name, before, usual, drifts, warmth)
        self._learned[name] = span, learned
        return learned

    def _warmth(self, everything: Sequence[Standing]) -> Warmth:
        """Return how warm the rooms are, by what was read in them until now."""
        return warmth_of(days_read(room_airs(self._book, everything[0].at)), self._facts)

    def _by_air(self, everything: Sequence[Standing]) -> Mapping[str, AirDrift]:
        """Return what the air does to each barrel, by the visits up to this month."""
        month = int(everything[0].at.timestamp() // _AIR_AGAIN)
        if self._drifts[0] != month:
            cellar = Cellar(list(everything), self._lots, everything[0].at)
            self._drifts = month, air_drifts(self._book, cellar, self._facts)
        return self._drifts[1]
