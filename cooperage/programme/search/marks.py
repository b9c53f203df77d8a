"""How each vessel stands at a glance: what is due at it, how short of full it is by now, and its state in one word."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from cooperage.book import Book, Cellar, Standing
from cooperage.book.declared.places import SOAK_DAYS
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import FULL_WITHIN_ML, Level, level_now
from cooperage.programme.ready.readiness import Readiness, ReadyState, looks_of, readiness
from cooperage.programme.rounds.due import Due, next_due
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.sign import Sign
from cooperage.programme.signs.waiting import worst_first
from cooperage.programme.upkeep.defaults import upkeep_of
from cooperage.units import DEFAULT, Units


class State(StrEnum):
    """One thing that is so of a vessel; several may be."""

    RETIRED = "retired"
    EMPTY = "empty"
    LOW = "low"
    SOAKING = "soaking"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class Marks:
    """What is due by tag, what vessels hold by now, which are low, and the signs at each, the worst first.

    `ready` is how barrels stand to the cellar's definition of ready; empty where there is none.
    """

    due: Mapping[str, list[Due]] = field(default_factory=dict)
    levels: Mapping[str, Level] = field(default_factory=dict)
    low: frozenset[str] = frozenset()
    signs: Mapping[str, Sequence[Sign]] = field(default_factory=dict)
    ready: Mapping[str, Readiness] = field(default_factory=dict)

    def trouble(self, tag: str) -> list[Sign]:
        """List what is wrong at a vessel."""
        return [sign for sign in self.signs.get(tag, ()) if sign.is_trouble]

    @property
    def troubled(self) -> frozenset[str]:
        """The tags of vessels where something is wrong."""
        return frozenset(tag for tag in self.signs if self.trouble(tag))

    def level(self, standing: Standing) -> Level:
        """Return what a vessel holds by now; by the prior where its own rate is not calculated yet."""
        return self.levels.get(standing.tag) or level_now(standing)

    def stands_ready(self, tag: str, state: ReadyState) -> bool:
        """Return whether a vessel stands so to its definition of ready."""
        return tag in self.ready and self.ready[tag].state is state

    def short_ml(self, standing: Standing) -> int:
        """Return what a vessel is short of full by now [ml]: expected of a barrel, else as the book has it."""
        return self.level(standing).short_ml

    def level_ml(self, standing: Standing) -> int:
        """Return what a vessel holds by now [ml]."""
        return self.level(standing).ml

    def percent_full(self, standing: Standing) -> float:
        """Return how full a vessel is by now [%]."""
        return 100 * self.level_ml(standing) / standing.vessel.capacity_ml

    def states(self, standing: Standing) -> tuple[State, ...]:
        """List what is so of a vessel, the most pressing first."""
        if standing.is_retired:
            return (State.RETIRED,)
        if standing.ml == 0:
            return (State.EMPTY,)
        so = {
            State.LOW: standing.tag in self.low,
            State.SOAKING: is_soaking(standing),
            State.FULL: self.short_ml(standing) < FULL_WITHIN_ML and not self.level(standing).is_at_most,
        }
        return tuple(state for state, is_so in so.items() if is_so)


def is_soaking(standing: Standing) -> bool:
    """Return True if it is new wood in its first weeks, which soaks up mead."""
    days = standing.days_in_wood
    return standing.fill_number == 1 and days is not None and days <= SOAK_DAYS


def marks_of(book: Book, cellar: Cellar, units: Units = DEFAULT) -> Marks:
    """Calculate what is due and what each barrel is expected to be short of full by now; reasons are in `units`."""
    rates = loss_rates(book, cellar)
    levels = {standing.tag: level_now(standing, rates.get(standing.tag)) for standing in cellar}
    due: dict[str, list[Due]] = {}
    ready = readiness(book, cellar)
    looks = looks_of(ready)
    for standing in cellar.barrels:
        coming = [each for each in next_due(standing, rates=rates, units=units, looks=looks) if each.due <= cellar.at]
        if coming:
            due[standing.tag] = coming
    low = frozenset(s.tag for s in cellar.barrels if _is_low(s, levels[s.tag]))
    found: dict[str, list[Sign]] = defaultdict(list)
    for sign in worst_first(signs(book, cellar, rates, units)):
        found[sign.vessel].append(sign)
    return Marks(due, levels, low, dict(found), ready)


def _is_low(standing: Standing, level: Level) -> bool:
    """Return True if it is short by its limit, or was seen so, whoever knows by how much."""
    if standing.ml == 0:
        return False
    return level.is_at_most or level.short_ml > (upkeep_of(standing).top_below_ml or 0)
