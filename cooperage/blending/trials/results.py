"""What the scores of a trial show: the fitted surface, whether it fits, and the best blend with how sure that is."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cooperage.blending.mixture.best import BestBlend, Goal, best_blend
from cooperage.blending.mixture.degree import ChosenDegree, choose_degree
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.scheffe import ScheffeFit, fit_scheffe
from cooperage.blending.mixture.surfaces import Surfaces, draw_surfaces
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.kept import find_trial
from cooperage.blending.trials.region import region_of
from cooperage.blending.trials.stocks import GivenStock, find_stocks
from cooperage.blending.trials.trial import Trial, TrialStock
from cooperage.book import Book, Cellar
from cooperage.errors import Refused
from cooperage.tasting.flights import Flight, score_table_of
from cooperage.tasting.flights.line import scale_of
from cooperage.tasting.flights.outcome import scorers
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.stored import flights_in
from cooperage.units import DEFAULT, Units

LEVEL = 0.8
"""How often an interval that is shown holds the truth."""


class TrialUnscored(Refused):
    """A trial of which no session shows a score yet."""


@dataclass(frozen=True, slots=True)
class TastedBlend:
    """A blend that was tasted: its shares, how many scores it has, their mean, the fitted score and its interval."""

    shares: tuple[float, ...]
    scores: int
    mean: float
    fitted: float
    interval: tuple[float, float]


@dataclass(frozen=True)
class TrialResults:
    """What the revealed sessions of a trial show of one attribute, on its scale.

    `blends` are those tasted, best first; `awaited` the sessions that are not revealed. `surfaces` are drawn from what
    the scores leave possible, of which `best` is the best blend; None where nothing is left over to judge scores by.
    `why` is how the model was chosen.
    """

    trial: Trial
    what: str
    scale: str
    tasters: tuple[str, ...]
    scores: int
    awaited: tuple[int, ...]
    fit: ScheffeFit
    why: str
    blends: tuple[TastedBlend, ...]
    region: Region
    surfaces: Surfaces | None
    best: BestBlend | None


@dataclass(frozen=True, slots=True)
class _Scored:
    """Scores of revealed sessions, one a row: blends of shape (n, q), scores (n,), and in which block each stands."""

    points: Floats
    scores: Floats
    tasters: list[str]
    sessions: list[int]

    @property
    def blends(self) -> Floats:
        """The blends, each once, of shape (m, q)."""
        return np.unique(np.round(self.points, 9), axis=0)

    @property
    def left_over(self) -> int:
        """How many scores there are beyond one for each taster and session."""
        return len(self.scores) - len(set(self.tasters)) - len(set(self.sessions)) + 1


def trial_results(
    book: Book,
    code: str,
    what: str = OVERALL,
    *,
    goal: Goal = "high",
    degree: int | None = None,
    limits: Mapping[str, Any] | None = None,
    cellar: Cellar | None = None,
    units: Units = DEFAULT,
) -> TrialResults:
    """Return what a trial's scores show of an attribute, or overall.

    `degree` is the model's; the simplest that fits by default. `limits` narrow the blends further than the plan did, by
    the figures of the `cellar`. Raises NoSuchTrial, TrialUnscored, NotInThisFlight, NoBlendWithin, CannotFit.
    """
    with book.reading() as connection:
        trial = find_trial(connection, code)
        poured = {each.code: each for each in flights_in(connection)}
    trial = _narrowed(trial, limits or {}, cellar)
    revealed = {number: poured[flight] for number, flight in trial.flights.items() if number in trial.revealed}
    given = _scored(trial, revealed, what)
    chosen = _fitted(given, degree)
    region = region_of(trial.stocks, trial.limits, units)
    surfaces = draw_surfaces(chosen.fit, region) if given.left_over > 0 else None
    return TrialResults(
        trial,
        what,
        scale_of(next(iter(revealed.values())), what),
        tuple(sorted(set(given.tasters))),
        len(given.scores),
        tuple(number for number in trial.sessions if number not in trial.revealed),
        chosen.fit,
        chosen.reason,
        _blends(given, chosen.fit, surfaces),
        region,
        surfaces,
        None if surfaces is None else best_blend(surfaces, region, goal=goal, tasted=given.blends, level=LEVEL),
    )


def _narrowed(trial: Trial, limits: Mapping[str, Any], cellar: Cellar | None) -> Trial:
    """Return a trial with more limits than it was planned with; what the plan set stands."""
    if not limits or cellar is None:
        return trial
    both = {**limits, **trial.limits}
    found = find_stocks(cellar, [GivenStock(each.name, each.low, each.high) for each in trial.stocks], both)
    stocks = tuple(_with_figures(each, now) for each, now in zip(trial.stocks, found, strict=True))
    return replace(trial, limits=both, stocks=stocks)


def _with_figures(stock: TrialStock, now: TrialStock) -> TrialStock:
    return replace(stock, figures={**now.figures, **stock.figures})


def _scored(trial: Trial, revealed: Mapping[int, Flight], what: str) -> _Scored:
    """Gather the scores of the sessions that are revealed; raises TrialUnscored where there is none."""
    rows = [row for number, poured in revealed.items() for row in _rows(trial, number, poured, what)]
    if not rows:
        raise TrialUnscored(_why_nothing(trial, what))
    points, scores, tasters, sessions = zip(*rows, strict=True)
    return _Scored(np.array(points), np.array(scores), list(tasters), list(sessions))


def _rows(trial: Trial, number: int, poured: Flight, what: str) -> Iterable[tuple[tuple[float, ...], float, str, int]]:
    table, tasters = score_table_of(poured, what), scorers(poured, what)
    for glass, row in zip(poured.glasses, table, strict=True):
        tried = trial.glass_named(glass.called)
        if tried is not None:
            given = zip(tasters, row, strict=True)
            yield from ((tried.shares, float(score), name, number) for name, score in given if np.isfinite(score))


def _why_nothing(trial: Trial, what: str) -> str:
    if trial.revealed:
        return f"no glass of trial {trial.code} was given a score for {what}"
    if not trial.flights:
        return f"trial {trial.code} is not poured yet; `cooperage trial pour {trial.code}` pours it"
    blind = ", ".join(trial.flights.values())
    return f"trial {trial.code} is still blind; once all have scored, reveal {blind}: `cooperage taste reveal`"


def _fitted(given: _Scored, degree: int | None) -> ChosenDegree:
    blocks = {
        kind: labels
        for kind, labels in (("taster", given.tasters), ("session", given.sessions))
        if len(set(labels)) > 1
    }
    if degree is None:
        return choose_degree(given.points, given.scores, blocks=blocks)
    fit = fit_scheffe(given.points, given.scores, degree, blocks=blocks)
    return ChosenDegree(fit, "it was asked for", (fit,), {})


def _blends(given: _Scored, fit: ScheffeFit, surfaces: Surfaces | None) -> tuple[TastedBlend, ...]:
    """Return the blends that were tasted, by their fitted scores, the highest first."""
    distinct = given.blends
    fitted, spans = fit.predict(distinct), fit.confidence(distinct, LEVEL)
    if surfaces is not None:
        drawn = surfaces.at(distinct)
        fitted, spans = drawn.mean(axis=0), np.quantile(drawn, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0).T
    found = []
    for point, expected, span in zip(distinct, fitted, spans, strict=True):
        mine = given.scores[np.abs(given.points - point).max(axis=1) < _ALIKE]
        shares = tuple(float(share) for share in point)
        found.append(
            TastedBlend(shares, len(mine), float(mine.mean()), float(expected), (float(span[0]), float(span[1])))
        )
    return tuple(sorted(found, key=lambda each: -each.fitted))


_ALIKE = 1e-8


def surface_at(found: TrialResults, points: Sequence[Sequence[float]] | Floats) -> Floats:
    """Return the fitted score at blends, of shape (n,); NaN outside the bounds and limits of the trial."""
    x = np.atleast_2d(np.asarray(points, dtype=np.float64))
    drawn = found.surfaces
    fitted = found.fit.predict(x) if drawn is None else drawn.rows(x) @ drawn.mean
    return np.where(found.region.holds(x), fitted, np.nan)
