"""What a vessel remembers of one property: each reading, and what came before the next."""

from collections.abc import Iterable
from math import exp, log, nan

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.rereads import Reread, SinceRead
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.models import AGEINGS, USUAL_ML, Ageing
from cooperage.programme.ageing.passage import NO_DRIFT, AirDrift
from cooperage.programme.air.warmth import UNREAD, Warmth

_NOTHING = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
_LONG_DAYS = 1e4
"""What was not read in its fill has stood in its room for so long: it is as warm as that."""
_LEAST_DOUBT = 0.01
"""No reading is surer than this share of an ordinary one, though a person wrote that it is exact."""


def learned_from(cellar: Iterable[Standing]) -> list[Standing]:
    """Return the vessels that show how figures age: those that hold something, and empty ones that were read once.

    Else figures elsewhere would move whenever a vessel with a past is filled or emptied.
    """
    return [standing for standing in cellar if standing.ml or standing.state.rereads]


def rows_of(standing: Standing, name: str, air: AirDrift, warmth: Warmth) -> list[tuple[float, ...]]:
    """Return a vessel's steps: one for each remembered reading, and the last one up to now."""
    return [*remembered(standing, name, air, warmth), up_to_now(standing, name, air, warmth)]


def remembered(
    standing: Standing, name: str, air: AirDrift = NO_DRIFT, warmth: Warmth = UNREAD
) -> list[tuple[float, ...]]:
    """Return a vessel's steps up to each remembered reading."""
    steps, rows, before, least = _Steps(standing, name, air, warmth), [], None, _LEAST_DOUBT * ordinary_doubt(name)
    for reread in standing.state.rereads.get(name, []):
        measured = (reread.value, max(reread.uncertainty, least))
        rows.append(steps.step(before, reread.since, reread.fill, measured, reread.at))
        before = reread
    return rows


def up_to_now(standing: Standing, name: str, air: AirDrift, warmth: Warmth = UNREAD) -> tuple[float, ...]:
    """Return a vessel's last step, which has no reading."""
    state, at = standing.state, standing.at.timestamp()
    rereads = state.rereads.get(name) if name in state.reads else None
    since, measured = state.since_read(name, at), (nan, ordinary_doubt(name))
    last = rereads[-1] if rereads else None
    return _Steps(standing, name, air, warmth).step(last, since, state.fills, measured, at)


class _Steps:
    """The steps of one vessel, as rows of cells."""

    def __init__(self, standing: Standing, name: str, air: AirDrift, warmth: Warmth) -> None:
        self._air, self._ageing = air, AGEINGS[name]
        of_tank = self._ageing.of_tank
        self._room = warmth.of(standing.position[0])
        self._constant = time_constant(standing, self._ageing) if self._ageing.to_room else 1.0
        self._pace_elsewhere = exp(of_tank if standing.vessel.is_barrel else -of_tank)

    def step(
        self, before: Reread | None, since: SinceRead, fill: int, measured: tuple[float, float], until: float
    ) -> tuple[float, ...]:
        """Return the step from one reading to the next; what was not read in a fill begins with what came to it."""
        if since.expected is None:
            return self._unread(measured, until)
        is_first = before is None or before.fill != fill
        base, here = since.expected - since.added, since.age - since.elsewhere
        age = here + self._pace_elsewhere * since.elsewhere
        known = since.left_alone if before is None or is_first else since.left_alone - before.since.left_alone
        by_air = self._by_air(since.expected, here, known)
        nears = self._nears(until, age)
        happened = (age, since.added, since.added_age, since.racked, since.here, by_air, *nears)
        if before is None or is_first:
            return (1.0, *happened, *measured, base, True)
        kept = base / before.value if before.value > 0 and base > 0 else 1.0
        return (kept, *happened, *measured, nan, False)

    def _unread(self, measured: tuple[float, float], until: float) -> tuple[float, ...]:
        if not self._ageing.to_room:
            return (*_NOTHING, *measured, nan, True)
        nears = self._nears(until, _LONG_DAYS)
        return (1.0, _LONG_DAYS, *_NOTHING[2:7], *nears, *measured, nears[0], True)

    def _nears(self, until: float, age: float) -> tuple[float, float]:
        """Return the temperature of the room that it nears up to a moment, and one standard deviation."""
        return self._room.near(until - age * DAY, until, self._constant) if self._ageing.to_room else (0.0, 0.0)

    def _by_air(self, value: float, days_here: float, days_unbooked: float) -> float:
        """Return what evaporation changed: strength on every day, else what no topping has shown the book yet."""
        strength = self._air.strength * days_here if self._ageing.leaves_by_air else 0.0
        return strength + (self._air.richer * value * days_unbooked if self._ageing.grows_richer else 0.0)


def time_constant(standing: Standing, ageing: Ageing) -> float:
    """Return after how many days 1/e is left of what a vessel differs from its room by, as declared for its size."""
    smaller = log(USUAL_ML / standing.vessel.capacity_ml)
    rate = ageing.usual + ageing.of_any_size * smaller + ageing.of_tank * (not standing.vessel.is_barrel)
    return exp(-min(0.0, rate))


def known_at(standing: Standing, name: str) -> float:
    """Return since when the book's figure is known [seconds since 1970]."""
    at = standing.at.timestamp()
    return at - standing.state.since_read(name, at).age * DAY


def ordinary_doubt(name: str) -> float:
    """Return one standard deviation of an ordinary reading, in the property's unit."""
    return PROPERTIES[name].uncertainty
