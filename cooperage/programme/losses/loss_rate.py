"""A barrel's loss rate as it was learned: the rate, how visits scatter about it, its season, and whether it leaks."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, overload

from cooperage.programme.air.season import NO_SEASON, Season

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SURE_ENOUGH = 0.9
"""Posterior probability from which a leak is as good as sure, and from which it is over."""


@dataclass(frozen=True, slots=True)
class Leak:
    """A barrel out of line: how sure [0 to 1], since when [seconds since 1970], from which visit, how many times.

    `odd` is how sure it is that the last visit alone was odd; `lost_ml` and `expected_ml` are what it showed and should
    have shown.
    """

    probability: float
    since: float
    from_visit: int
    times: float
    odd: float
    lost_ml: float
    expected_ml: float
    held: float = 0.0

    @property
    def sure(self) -> float:
        """How sure a leak is, or was when it was surest if it is not known to be over since."""
        return max(self.probability, self.held)

    @property
    def is_likely(self) -> bool:
        """Return True if a leak is more likely than not, so that the barrel's rate is taken for one."""
        return self.sure > 0.5


@dataclass(frozen=True, slots=True)
class Noise:
    """How visits scatter: error of a level at the bung [ml], and of a visit's loss as a share of it.

    `rounding` is how much of a jug's rounding the next visit does not pay back [share of its variance], `step_ml` the
    jug that the next topping is read from.
    """

    level_ml: float
    share: float
    rounding: float = 1.0
    step_ml: float = 0.0

    @overload
    def variance(self, expected: float, steps: float = 0.0) -> float: ...
    @overload
    def variance(self, expected: "Floats", steps: "Floats | float" = 0.0) -> "Floats": ...
    def variance(self, expected: Any, steps: Any = 0.0) -> Any:
        """Return the variance [ml2] of visits by their expected losses and the steps of their jugs [ml]."""
        return 2 * self.level_ml**2 + (self.share * expected) ** 2 + self.of_step(steps)

    @overload
    def of_step(self, steps: float) -> float: ...
    @overload
    def of_step(self, steps: "Floats") -> "Floats": ...
    def of_step(self, steps: Any) -> Any:
        """Return what a jug read to its step adds to a visit [ml2]: step^2/12, unless the next visit pays it back."""
        return self.rounding * steps**2 / 12


USUAL_NOISE = Noise(60.0, 0.1)
"""Noise until the cellar's own visits show another: a jug that shows 50 ml, a bung that is not level (no source)."""


OWN_VISITS, PEERS = "its own visits", "barrels like it"


@dataclass(frozen=True, slots=True)
class LossRate:
    """A barrel's loss rate [ml/day, mean of the year]: its own rate pooled with its peers', and one standard deviation.

    `own_ml_per_day` is what its own visits show (None without any), since a leak began where there is one; `days` and
    `visits` are what that rests on. `soaked_ml` is what new wood took in its first weeks beyond the rate. `known_at` is
    when its level was last known [seconds since 1970].
    """

    ml_per_day: float
    sd: float
    own_ml_per_day: float | None
    days: float
    capacity_ml: int
    own_sd: float | None = None
    peers_ml_per_day: float = 0.0
    peers_sd: float = 0.0
    visits: int = 0
    soaked_ml: float = 0.0
    noise: Noise = USUAL_NOISE
    season: Season = NO_SEASON
    leak: Leak | None = None
    known_at: float | None = None
    basis: str = OWN_VISITS
    """What it rests on, as text."""

    @property
    def vapour_share(self) -> float:
        """How much of the loss goes as vapour: what leaks out takes its strength and sugar along."""
        if self.leak is None or not self.leak.is_likely or self.ml_per_day <= 0:
            return 1.0
        return min(1.0, self.peers_ml_per_day / self.ml_per_day)

    @property
    def per_year_percent(self) -> float:
        """The rate as per cent of the capacity a year."""
        return 100 * self.ml_per_day * 365.25 / self.capacity_ml

    @property
    def times_peers(self) -> float | None:
        """How many times the loss of barrels like it; None where theirs is not known."""
        return self.ml_per_day / self.peers_ml_per_day if self.peers_ml_per_day > 0 else None


def rates_as_json(rates: Mapping[str, LossRate]) -> dict[str, dict[str, Any]]:
    """Return rates as JSON holds them."""
    return {tag: asdict(rate) for tag, rate in rates.items()}


def rates_from_json(kept: Mapping[str, dict[str, Any]]) -> dict[str, LossRate]:
    """Return rates from what JSON holds; raises KeyError or TypeError where that is no such thing."""
    return {tag: _rate(each) for tag, each in kept.items()}


def _rate(kept: dict[str, Any]) -> LossRate:
    season, leak = kept["season"], kept["leak"]
    spread = season["spread"]
    whole = season | {"centre": tuple(season["centre"]), "spread": spread and tuple(map(tuple, spread))}
    parts = {"noise": Noise(**kept["noise"]), "season": Season(**whole), "leak": leak and Leak(**leak)}
    return LossRate(**(kept | parts))
