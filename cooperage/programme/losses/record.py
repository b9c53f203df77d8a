"""What is known of one barrel when its loss rate is to be learnt."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cooperage.book.declared.places import SOAK_DAYS
from cooperage.programme.losses.visits import LossVisit

Floats = NDArray[np.float64]

_LEAST_DAYS, _LEAST_VISITS = 14.0, 2


@dataclass(frozen=True)
class VisitRecord:
    """What is known of one barrel: its wood [m2], where it lies, what it is, whether it soaks, and its visits."""

    tag: str
    area_m2: float
    room: str
    wood: str
    size: float  # logarithm of the capacity over 225 L
    age: float | None  # fills before the present one; None is unknown
    visits: Sequence[LossVisit]
    soaks: bool = False
    looked_at: float = 0.0
    """When the bung was last looked at and found tight [seconds since 1970]."""

    @cached_property
    def settled(self) -> tuple[LossVisit, ...]:
        """Visits that inform the rate: those after the soak."""
        return tuple(visit for visit in self.visits if not self._is_soaking(visit))

    @property
    def soaking(self) -> tuple[LossVisit, ...]:
        """Visits in which new wood still took up mead."""
        return tuple(visit for visit in self.visits if self._is_soaking(visit))

    def _is_soaking(self, visit: LossVisit) -> bool:
        """Return True if it began in the first weeks of the first fill that was seen, in wood that soaks."""
        return self.soaks and visit.filled_at == self.visits[0].filled_at and _age(visit) < SOAK_DAYS

    @cached_property
    def columns(self) -> tuple[Floats, Floats, Floats]:
        """Litres lost [ml], beginnings and ends [seconds since 1970] of the settled visits."""
        rows = np.array([(v.lost_ml, v.began, v.ended) for v in self.settled], dtype=np.float64).reshape(-1, 3)
        return rows[:, 0], rows[:, 1], rows[:, 2]

    @cached_property
    def kegs(self) -> tuple[str | None, ...]:
        """The kegs that the settled visits were topped from; None where a visit was no topping."""
        return tuple(visit.keg for visit in self.settled)

    @property
    def has_enough_visits(self) -> bool:
        """Return True if the visits are enough for a rate of the barrel's own."""
        lost, began, ended = self.columns
        return len(lost) >= _LEAST_VISITS and float((ended - began).sum()) >= _LEAST_DAYS * 86_400


def _age(visit: LossVisit) -> float:
    """Return how old the fill was when a visit began [days]."""
    return visit.days_in_fill - visit.days
