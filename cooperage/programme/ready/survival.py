"""How long fills took until they met a definition, those that have not yet counted as far as they were seen.

The product-limit estimate of Kaplan and Meier (1958), J. Am. Stat. Assoc. 53, 457-481, with Greenwood's variance.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

from cooperage.programme.ready.limits import ReadyLimit
from cooperage.programme.ready.looks import PanelLook
from cooperage.units import counted

_MONTH = 365.25 / 12


@dataclass(frozen=True, slots=True)
class SurvivalStep:
    """After `time` a share `left` has not met it, with its standard error."""

    time: float
    left: float
    standard_error: float


def kaplan_meier(times: Sequence[tuple[float, bool]]) -> list[SurvivalStep]:
    """Return the steps of the share left; `times` are those to the event, or (False) to where it was last seen without.

    What was lost at the moment of an event counts as seen at it.
    """
    left, greenwood, steps = 1.0, 0.0, []
    for time in sorted({time for time, came in times if came}):
        there = sum(each >= time for each, _ in times)
        events = sum(came and each == time for each, came in times)
        left *= 1 - events / there
        greenwood += events / (there * (there - events)) if events < there else 0.0
        steps.append(SurvivalStep(time, left, left * sqrt(greenwood)))
    return steps


def median_time(steps: Iterable[SurvivalStep]) -> float | None:
    """Return the first time at which no more than half are left; None where more than half always were."""
    return next((step.time for step in steps if step.left <= 0.5), None)


def times_until_met(looks: Iterable[PanelLook], limits: Sequence[ReadyLimit]) -> list[tuple[float, bool]]:
    """Return for each fill the days until a flight's scores met all tasted limits, or (False) to its last flight.

    A flight that left out one of the attributes shows nothing of a fill.
    """
    tasted = [limit for limit in limits if limit.is_tasted]
    flights: dict[tuple[str, float], dict[str, list[PanelLook]]] = defaultdict(lambda: defaultdict(list))
    for look in looks:
        flights[look.cask.stay][look.flight].append(look)
    found = []
    for by_flight in flights.values():
        seen = [(own[0].days, met) for own in by_flight.values() if (met := _is_met(own, tasted)) is not None]
        if seen:
            met_after = min((days for days, met in seen if met), default=None)
            found.append((max(days for days, _ in seen), False) if met_after is None else (met_after, True))
    return found


def _is_met(own: Iterable[PanelLook], tasted: Sequence[ReadyLimit]) -> bool | None:
    """Return whether one flight's scores of a barrel met all limits; None where one of them was not scored."""
    given = {look.attribute: look for look in own}
    looked = [(limit, given.get(limit.name)) for limit in tasted]
    if not looked or any(look is None or limit.scale not in ("", look.scale) for limit, look in looked):
        return None
    return all(look is not None and limit.holds(look.value) for limit, look in looked)


def usual_time_words(times: Sequence[tuple[float, bool]]) -> str:
    """Return how long fills took, as a sentence; empty for fewer than three."""
    if len(times) < 3:
        return ""
    middle, fills = median_time(kaplan_meier(times)), counted(len(times), "fill")
    met = sum(came for _, came in times)
    if middle is None:
        return f"Of {fills} that panels scored, {met} met the limits on what is tasted; less than half have so far."
    return f"Of {fills} that panels scored, half met the limits on what is tasted after {middle / _MONTH:.0f} months."
