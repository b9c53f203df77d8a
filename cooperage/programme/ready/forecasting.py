"""What the panels of a cellar have shown, and what follows for one barrel: when all limits of its definition hold."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import inf

import numpy as np

from cooperage.programme.ready.chances import Expected, Moments, WindowAhead, ahead_of, moments
from cooperage.programme.ready.curves import Pair, RipeningCurve, learn_curve
from cooperage.programme.ready.limits import AGE, ReadyLimit, called
from cooperage.programme.ready.looks import Cask, PanelLook
from cooperage.programme.ready.mixed import Floats

MONTH_WEEKS = 365.25 / 12 / 7
_FEWEST_STAYS = 3
"""Fills of other barrels that must have been scored before one that was not is foreseen by them (common practice)."""
_OWN_WORTH = 20.0
"""Pairs of looks that weigh as much as the expectation that errors of attributes have nothing in common."""

_LEAST_APART = 0.02
"""The least that any mix of attributes varies, so that what is drawn has a root."""

Surprises = Mapping[tuple[tuple[str, float], str], float]
FigureAhead = Callable[[str, float], tuple[float, float] | None]
"""A figure of the book by its name so many days ahead, and one standard deviation; None where it is unknown."""


@dataclass(frozen=True, slots=True)
class WantedWindow:
    """What one barrel must meet: its limits, the chance of a window, and the risk of missing its end."""

    limits: tuple[ReadyLimit, ...]
    chance: float = 0.5
    risk: float = 0.1


@dataclass(frozen=True)
class Foreseen:
    """What is foreseen of one barrel: the weeks ahead, and each tasted limit's value now with one standard deviation.

    `missing` is what is not known, as text; then there are no weeks. `untasted` are attributes that were not scored
    in this fill: only by other barrels are they known.
    """

    ahead: WindowAhead | None
    now: Mapping[str, tuple[float, float]]
    missing: tuple[str, ...] = ()
    untasted: tuple[str, ...] = ()


class CellarCurves:
    """The curves of one cellar, learned from the looks of its panels; learned when first asked for.

    `before` are those of the same cellar a while ago, whose spreads are kept, which makes it quicker.
    """

    def __init__(self, looks: Sequence[PanelLook], before: "CellarCurves | None" = None) -> None:
        self.looks = sorted(looks, key=lambda look: (look.at, look.flight, look.cask.tag))
        self._before: Mapping[Pair, RipeningCurve] = {} if before is None else before.curves
        self.curves: dict[Pair, RipeningCurve] = {}
        self._alike_by: dict[tuple[Pair | None, ...], Floats] = {}

    @cached_property
    def _scales(self) -> dict[str, str]:
        return {look.attribute: look.scale for look in self.looks}

    @cached_property
    def _pairs(self) -> set[Pair]:
        return {(look.attribute, look.scale) for look in self.looks}

    @cached_property
    def last_looked(self) -> dict[tuple[str, float], datetime]:
        """When each fill was scored last, on whatever attribute."""
        return {look.cask.stay: look.at for look in self.looks}

    def pair_of(self, limit: ReadyLimit) -> Pair | None:
        """Return attribute and scale of a limit: its own scale, else that of the last flight; None if never scored."""
        pair = limit.name, limit.scale or self._scales.get(limit.name, "")
        return pair if pair in self._pairs else None

    def curve(self, pair: Pair) -> RipeningCurve:
        """Return the curve of an attribute on a scale."""
        if pair not in self.curves:
            self.curves[pair] = learn_curve(pair, self._own(pair), self._before.get(pair))
        return self.curves[pair]

    def _own(self, pair: Pair) -> list[PanelLook]:
        return [look for look in self.looks if (look.attribute, look.scale) == pair]

    def foresee(self, cask: Cask, at: datetime, wanted: WantedWindow, figure: FigureAhead) -> Foreseen:
        """Return when a barrel meets what is wanted; `figure` gives those of the book."""
        missing = [words for limit in wanted.limits if (words := self._missing(cask, limit, figure))]
        if missing:
            return Foreseen(None, {}, tuple(dict.fromkeys(missing)))
        days, looked = cask.days_at(at), self.last_looked.get(cask.stay)
        since = days if looked is None else (at - looked).total_seconds() / 86_400
        grid = moments(days, since)
        expected = [self._expected(cask, days, grid, name, own, figure) for name, own in _by_name(wanted.limits)]
        now = {each.name: (float(each.mean[grid.now]), _sd(each, grid.now)) for each in expected}
        alike = self._alike(tuple(self._pair(wanted.limits, each.name) for each in expected))
        found = ahead_of(expected, grid, wanted=wanted.chance, risk=wanted.risk, alike=alike, seed=cask.tag)
        pairs = [pair for limit in wanted.limits if limit.is_tasted and (pair := self.pair_of(limit)) is not None]
        untasted = dict.fromkeys(name for name, scale in pairs if not self.curve((name, scale)).looks_at(cask))
        return Foreseen(found, now, untasted=tuple(untasted))

    def _pair(self, limits: Iterable[ReadyLimit], name: str) -> Pair | None:
        limit = next(limit for limit in limits if limit.name == name)
        return self.pair_of(limit) if limit.is_tasted else None

    def _missing(self, cask: Cask, limit: ReadyLimit, figure: FigureAhead) -> str:
        if limit.name == AGE:
            return ""
        if not limit.is_tasted:
            return "" if figure(limit.name, 0.0) is not None else f"{called(limit.name)} was never measured"
        pair = self.pair_of(limit)
        if pair is None:
            return f"{limit.name} was never scored" + (f" on {limit.scale}" if limit.scale else "")
        curve = self.curve(pair)
        is_known = curve.looks_at(cask) or curve.stays >= _FEWEST_STAYS
        return "" if is_known else f"{limit.name} was not scored in this fill, nor in {_FEWEST_STAYS} others"

    def _expected(
        self, cask: Cask, days: float, grid: Moments, name: str, limits: Sequence[ReadyLimit], figure: FigureAhead
    ) -> Expected:
        least = max((limit.value for limit in limits if limit.sign < 0), default=-inf)
        most = min((limit.value for limit in limits if limit.sign > 0), default=inf)
        if name == AGE:
            months = days / 7 / MONTH_WEEKS + grid.weeks / MONTH_WEEKS
            return Expected(name, months, np.zeros((len(months), len(months))), least, most, is_figure=True)
        pair = self._pair(limits, name)
        if pair is not None:
            mean, covariance = self.curve(pair).ahead(cask, np.maximum(0.0, days + 7 * grid.weeks))
            return Expected(name, mean, covariance, least, most)
        known = [figure(name, max(0.0, 7 * float(week))) for week in grid.weeks]  # what it was is not asked
        values = np.array([value for value, _ in filter(None, known)])
        spreads = np.array([sd for _, sd in filter(None, known)])
        return Expected(name, values, np.diag(spreads**2), least, most, is_figure=True)

    def _alike(self, pairs: tuple[Pair | None, ...]) -> Floats:
        """Return the correlation of errors of what is tasted, drawn towards none; a figure's has nothing in common."""
        if pairs not in self._alike_by:
            off = [{} if pair is None else self.curve(pair).surprises(self._own(pair)) for pair in pairs]
            self._alike_by[pairs] = _in_common(off)
        return self._alike_by[pairs]


def _in_common(off: Sequence[Surprises]) -> Floats:
    """Return the correlation of what several attributes surprised by at the same looks."""
    found = np.eye(len(off))
    for i, one in enumerate(off):
        for j, other in enumerate(off[:i]):
            both = sorted(one.keys() & other.keys())
            x, y = np.array([one[key] for key in both]), np.array([other[key] for key in both])
            size = float(np.sqrt((x**2).sum() * (y**2).sum()))
            if size > 0:
                found[i, j] = found[j, i] = len(both) / (len(both) + _OWN_WORTH) * float((x * y).sum()) / size
    values, vectors = np.linalg.eigh(found)  # attributes that were scored at different looks need not fit together
    fitting = (vectors * np.maximum(values, _LEAST_APART)) @ vectors.T
    scale = np.sqrt(np.diagonal(fitting))
    return np.asarray(fitting / np.outer(scale, scale))


def _by_name(limits: Iterable[ReadyLimit]) -> list[tuple[str, list[ReadyLimit]]]:
    found: dict[str, list[ReadyLimit]] = {}
    for limit in limits:
        found.setdefault(limit.name, []).append(limit)
    return list(found.items())


def _sd(expected: Expected, place: int) -> float:
    return float(np.sqrt(max(0.0, expected.covariance[place, place])))
