"""How each vessel stands at a glance: what is due at it, how short of full it is by now, and its state in one word."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from cooperage.book import Book, Cellar, Standing
from cooperage.book.plans import SOAK_DAYS
from cooperage.programme.losses import loss_rates
from cooperage.programme.rounds import Due, next_due
from cooperage.programme.upkeep import upkeep_of
from cooperage.units import DEFAULT, Units

FULL_WITHIN_ML = 50
"""A vessel this little short of full is called full: no bung is read more finely (common practice, no source)."""


class State(StrEnum):
    """One thing that is so of a vessel; several may be."""

    RETIRED = "retired"
    EMPTY = "empty"
    LOW = "low"
    SOAKING = "soaking"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class Marks:
    """What is due by tag, what barrels are expected to be short of full by now [ml], and which are low."""

    due: Mapping[str, list[Due]] = field(default_factory=dict)
    short: Mapping[str, int] = field(default_factory=dict)
    low: frozenset[str] = frozenset()

    def short_ml(self, standing: Standing) -> int:
        """Return what a vessel is short of full by now [ml]: expected of a barrel, else as the book has it."""
        return self.short.get(standing.tag, standing.headspace_ml)

    def level_ml(self, standing: Standing) -> int:
        """Return what a vessel holds by now [ml], never below nothing."""
        return max(0, standing.vessel.capacity_ml - self.short_ml(standing)) if standing.ml else 0

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
            State.FULL: self.short_ml(standing) < FULL_WITHIN_ML,
        }
        return tuple(state for state, is_so in so.items() if is_so)


def is_soaking(standing: Standing) -> bool:
    """Say whether it is new wood in its first weeks, which drinks."""
    days = standing.days_in_wood
    return standing.fill_number == 1 and days is not None and days <= SOAK_DAYS


def marks_of(book: Book, cellar: Cellar, units: Units = DEFAULT) -> Marks:
    """Reckon what is due and what each barrel is expected to be short of full by now; reasons are in `units`."""
    rates = {tag: rate.ml_per_day for tag, rate in loss_rates(book, cellar).items()}
    due: dict[str, list[Due]] = {}
    short: dict[str, int] = {}
    for standing in cellar.barrels:
        for each in next_due(standing, rates=rates, units=units):
            if each.expected_ml is not None:
                short[standing.tag] = each.expected_ml
            if each.due <= cellar.at:
                due.setdefault(standing.tag, []).append(each)
    low = {tag for tag, ml in short.items() if ml > (upkeep_of(cellar[tag]).top_below_ml or 0)}
    return Marks(due, short, frozenset(low))
