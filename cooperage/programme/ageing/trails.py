"""What a vessel remembers of one property: each reading, and what came before the next."""

from math import exp, nan

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.rereads import Reread, SinceRead
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.models import AGEINGS

_NOTHING = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
_LEAST_DOUBT = 0.01
"""No reading is surer than this share of an ordinary one, though a person wrote that it is exact."""


def rows_of(standing: Standing, name: str) -> list[tuple[float, ...]]:
    """Return a vessel's steps: one for each remembered reading, and the last one up to now."""
    return [*remembered(standing, name), up_to_now(standing, name)]


def remembered(standing: Standing, name: str) -> list[tuple[float, ...]]:
    """Return a vessel's steps up to each remembered reading."""
    rows, before, least = [], None, _LEAST_DOUBT * ordinary_doubt(name)
    pace = _pace_elsewhere(standing, name)
    for reread in standing.state.rereads.get(name, []):
        measured = (reread.value, max(reread.uncertainty, least))
        rows.append(_step_of(before, reread.since, reread.fill, measured, pace))
        before = reread
    return rows


def up_to_now(standing: Standing, name: str) -> tuple[float, ...]:
    """Return a vessel's last step, which has no reading."""
    state = standing.state
    rereads = state.rereads.get(name) if name in state.reads else None
    since = state.since_read(name, standing.at.timestamp())
    measured = (nan, ordinary_doubt(name))
    return _step_of(rereads[-1] if rereads else None, since, state.fills, measured, _pace_elsewhere(standing, name))


def _step_of(
    before: Reread | None, since: SinceRead, fill: int, measured: tuple[float, float], pace: float
) -> tuple[float, ...]:
    """Return the step from one reading to the next; what was not read in a fill begins with what came with the mead."""
    if since.expected is None:
        return (*_NOTHING, *measured, nan, True)
    base = since.expected - since.added
    age = since.age - since.elsewhere + pace * since.elsewhere
    happened = (age, since.added, since.added_age, since.racked, since.here)
    if before is None or before.fill != fill:
        return (1.0, *happened, *measured, base, True)
    kept = base / before.value if before.value > 0 and base > 0 else 1.0
    return (kept, *happened, *measured, nan, False)


def _pace_elsewhere(standing: Standing, name: str) -> float:
    """Return how many days here are like one in a vessel of the other kind: in a tank for a barrel, in wood for it."""
    of_tank = AGEINGS[name].of_tank
    return exp(of_tank if standing.vessel.is_barrel else -of_tank)


def known_at(standing: Standing, name: str) -> float:
    """Return since when the book's figure is known [seconds since 1970]."""
    at = standing.at.timestamp()
    return at - standing.state.since_read(name, at).age * DAY


def ordinary_doubt(name: str) -> float:
    """Return one standard deviation of an ordinary reading, in the property's unit."""
    return PROPERTIES[name].uncertainty
