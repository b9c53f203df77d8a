"""How an attribute goes on in each barrel: learned from every panel, barrels alike drawn towards each other.

One curve per attribute and scale: scores of different scales are never mixed. Inside, scores are shares of their scale.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import log, sqrt

import numpy as np

from cooperage.liquid.wood import AREA_225, wood_extraction
from cooperage.programme.ready.looks import Cask, PanelLook
from cooperage.programme.ready.mixed import Declared, Fit, Floats, Series, Spreads, ahead, fit, refit, surprises
from cooperage.programme.ready.ripening import Ripening, ripening_of
from cooperage.tasting.flights import bounds

YEAR = 365.25
USUAL_ML = 225_000
_LONG = 7300.0  # days: in the long run
_LEAST_CEILING = 0.05
_UNKNOWN_FILL = 4
"""A barrel of unknown past is taken to have given most of what it had (common practice, no source)."""
_SURENESS = (0.5, 0.5, 0.8, 0.3)
"""One standard deviation of the logarithm of what is declared: levels, gains, what wanders, errors."""
_TWOFOLD = log(2.0)

Pair = tuple[str, str]
"""An attribute and the scale it was scored on."""


@dataclass(frozen=True)
class RipeningCurve:
    """What the cellar's panels have shown of one attribute on one scale, and how it goes on in any barrel.

    `days` is the time constant that was found; `heads` names the columns, `fitted` has the coefficients.
    """

    attribute: str
    scale: str
    days: float
    heads: tuple[tuple[str, str], ...]
    fitted: Fit
    seen: Mapping[tuple[str, float], Series]
    stays: int

    @property
    def ended(self) -> str:
        """How the fit ended."""
        return self.fitted.ended

    def looks_at(self, cask: Cask) -> int:
        """Return how often this fill of a barrel was scored."""
        series = self.seen.get(cask.stay)
        return 0 if series is None else len(series.values)

    def ahead(self, cask: Cask, days: Floats) -> tuple[Floats, Floats]:
        """Return mean (k,) and covariance (k, k) of it in points of the scale, after so many days in this wood."""
        ripening = ripening_of(self.attribute)
        shape = _shape(ripening, self.days, cask, days)
        columns = _columns(self.heads, cask, shape, "")
        mean, covariance = ahead(self.seen.get(cask.stay), shape, columns, days / YEAR, self.fitted)
        if not self.looks_at(cask):
            covariance = covariance + _of_unseen_kinds(self.heads, ripening, cask, shape)
        low, high = bounds(self.scale)
        return low + (high - low) * mean, (high - low) ** 2 * covariance

    def error(self, tasters: int) -> float:
        """Return one standard deviation of a panel's mean, in points of the scale."""
        low, high = bounds(self.scale)
        of_flight = ripening_of(self.attribute).of_flight
        return (high - low) * sqrt(self.fitted.spreads.error**2 / tasters + of_flight**2)

    def surprises(self, looks: Iterable[PanelLook]) -> dict[tuple[tuple[str, float], str], float]:
        """Return how far each look lies from barrels alike, in standard deviations, by stay and flight."""
        flights: dict[tuple[str, float], list[str]] = defaultdict(list)
        for look in _in_turn(looks):
            flights[look.cask.stay].append(look.flight)
        stays = list(self.seen)
        found = surprises([self.seen[stay] for stay in stays], self.fitted)
        return {
            (stay, flight): float(off)
            for stay, offs in zip(stays, found, strict=True)
            for flight, off in zip(flights[stay], offs, strict=True)
        }


def learn_curve(pair: Pair, looks: Sequence[PanelLook], near: RipeningCurve | None = None) -> RipeningCurve:
    """Learn from looks at one attribute on one scale; without any, what is declared of it.

    `near` is an earlier result, whose spreads are kept: quicker, where little has come since.
    """
    ripening = ripening_of(pair[0])
    middle = ripening.days[len(ripening.days) // 2]
    learned = _learned(pair, looks, ripening, middle, None if near is None else near.fitted.spreads)
    if not looks:
        return learned
    others = [_learned(pair, looks, ripening, days, learned.fitted.spreads) for days in ripening.days if days != middle]

    def worth(curve: RipeningCurve) -> float:
        return curve.fitted.likelihood - 0.5 * (log(curve.days / middle) / _TWOFOLD) ** 2

    best = max([learned, *others], key=worth)
    if best is learned or near is not None:
        return best
    return _learned(pair, looks, ripening, best.days, None)


def _learned(
    pair: Pair, looks: Sequence[PanelLook], ripening: Ripening, days: float, spreads: Spreads | None
) -> RipeningCurve:
    heads = _heads(looks, ripening)
    stays: dict[tuple[str, float], list[PanelLook]] = defaultdict(list)
    for look in _in_turn(looks):
        stays[look.cask.stay].append(look)
    low, high = bounds(pair[1])
    seen = {stay: _series(own, heads, ripening, days, low, high) for stay, own in stays.items()}
    declared = _declared(heads, ripening)
    series = list(seen.values())
    fitted = fit(series, declared) if spreads is None else refit(series, declared, spreads)
    return RipeningCurve(pair[0], pair[1], days, heads, fitted, seen, len(stays))


def _in_turn(looks: Iterable[PanelLook]) -> list[PanelLook]:
    return sorted(looks, key=lambda look: (look.at, look.flight, look.cask.tag))


def _series(
    own: Sequence[PanelLook], heads: Sequence[tuple[str, str]], ripening: Ripening, days: float, low: float, high: float
) -> Series:
    cask, at = own[0].cask, np.array([look.days for look in own])
    shape = _shape(ripening, days, cask, at)
    rows = [_columns(heads, cask, shape[i : i + 1], look.flight)[0] for i, look in enumerate(own)]
    values = np.array([(look.value - low) / (high - low) for look in own])
    tasters = np.array([float(max(1, look.tasters)) for look in own])
    return Series(shape, np.array(rows), at / YEAR, values, tasters)


def _shape(ripening: Ripening, constant: float, cask: Cask, days: Floats) -> Floats:
    """Return how much of its gain there is after so many days: of the long run for wood, of a year for the rest."""
    approach = -np.expm1(-np.maximum(days, 0.0) / constant)
    if ripening.group is None:
        return np.asarray(approach * (constant / YEAR))
    area = AREA_225 * (USUAL_ML / cask.capacity_ml) ** (1 / 3)
    fill = _UNKNOWN_FILL if cask.fill is None else max(1, cask.fill)
    gives = float(wood_extraction(_LONG, fill, ripening.group, min(max(area, 5.0), 1000.0)).percent) / 100
    return np.asarray(approach * max(gives, _LEAST_CEILING))


_EFFECTS: dict[str, Callable[[Cask], float]] = {
    "new": lambda cask: float(cask.fill == 1),
    "late": lambda cask: float(cask.fill is None or cask.fill > 2),
    "size": lambda cask: log(USUAL_ML / cask.capacity_ml),
}
_KINDS: dict[str, Callable[[Cask], str]] = {
    "lot": lambda cask: cask.lot,
    "lot gain": lambda cask: cask.lot,
    "wood": lambda cask: cask.wood,
    "toast": lambda cask: cask.toast,
}


def _heads(looks: Sequence[PanelLook], ripening: Ripening) -> tuple[tuple[str, str], ...]:
    """Return the columns: what all have, and those by which barrels differ in this cellar."""
    casks = list({look.cask.stay: look.cask for look in looks}.values())
    heads = [("level", ""), ("gain", "")]
    if ripening.bends:
        heads.append(("bend", ""))
    heads += [(name, "") for name, of in _EFFECTS.items() if len({of(cask) for cask in casks}) > 1]
    for name, of in _KINDS.items():
        kinds = {of(cask) for cask in casks}
        heads += [(name, kind) for kind in sorted(kinds - {""})]
    flights = sorted({look.flight for look in looks})
    return (*heads, *(("flight", flight) for flight in flights))


def _of_unseen_kinds(heads: Sequence[tuple[str, str]], ripening: Ripening, cask: Cask, shape: Floats) -> Floats:
    """Return what a lot, a wood or a toast that no panel has met yet may differ by, as covariance of moments."""
    of_level, of_gain = ripening.of_lot
    doubts = {"lot": of_level, "lot gain": of_gain}
    found = np.zeros((len(shape), len(shape)))
    for name, of in _KINDS.items():
        if (kind := of(cask)) and (name, kind) not in heads:
            moved = doubts.get(name, ripening.of_kind) * (np.ones(len(shape)) if name == "lot" else shape)
            found += np.outer(moved, moved)
    return found


def _columns(heads: Sequence[tuple[str, str]], cask: Cask, shape: Floats, flight: str) -> Floats:
    """Return the columns of moments, of shape (moments, columns)."""
    one, found = np.ones(len(shape)), []
    for name, kind in heads:
        if name == "level":
            found.append(one)
        elif name == "gain":
            found.append(shape)
        elif name == "bend":
            found.append(shape**2)
        elif name in _EFFECTS:
            found.append(_EFFECTS[name](cask) * shape)
        elif name == "flight":
            found.append(one * float(kind == flight))
        else:
            found.append((one if name == "lot" else shape) * float(_KINDS[name](cask) == kind))
    return np.column_stack(found)


def _declared(heads: Sequence[tuple[str, str]], ripening: Ripening) -> Declared:
    of_level, of_gain = ripening.of_lot
    doubts = {
        "level": ripening.level_doubt,
        "gain": ripening.gain_doubt,
        "bend": ripening.bends,
        "lot": of_level,
        "lot gain": of_gain,
        "flight": ripening.of_flight,
    }
    means = {"level": ripening.level, "gain": ripening.gain}
    precisions = [doubts.get(name, ripening.of_kind) ** -2 for name, _ in heads]
    spreads = Spreads(ripening.level_varies, ripening.gain_varies, ripening.wander, ripening.error)
    return Declared(np.array([means.get(name, 0.0) for name, _ in heads]), np.array(precisions), spreads, _SURENESS)
