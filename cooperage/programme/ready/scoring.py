"""What was forecast of each look of a panel from the looks before it, and what came: how good the curves are.

Held against the score as last tasted, and against the mean of the lot as last tasted. Only looks at a fill that was
looked at before are scored, so that all three can be had.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from statistics import NormalDist, fmean
from typing import Any

import numpy as np

from cooperage.book import Book
from cooperage.programme.ageing.scoring.scores import PROBABILITIES, crps_normal
from cooperage.programme.ready.forecasting import CellarCurves
from cooperage.programme.ready.looks import PanelLook
from cooperage.programme.ready.tasted import panel_looks
from cooperage.units import DEFAULT, Quantity, Units, show

NOTHING_SCORED = "No barrel was scored twice in one fill yet: there is nothing to hold a forecast against."
HOW_SCORED = (
    "Each was forecast from the flights before it, in points of its own scale.\n"
    "Off by: the mean error; in 50 %: how many came within the band that should\n"
    "hold half of them; score (CRPS): lower is nearer and surer. Beside it: how far\n"
    "off it was as last tasted, and the mean of its lot as last tasted."
)
SCORE_HEAD = ("scored", "scale", "count", "off by", "bias", *(f"in {100 * p:g} %" for p in PROBABILITIES), "score",
              "as last", "of its lot")  # fmt: skip


@dataclass(frozen=True, slots=True)
class LookOutcome:
    """One look that came: what was forecast for it, one standard deviation of that, and what else was to be had.

    All in points of the scale. `as_last` is the score of this fill as last tasted, `of_lot` the mean of its lot.
    """

    attribute: str
    scale: str
    vessel: str
    flight: str
    at: datetime
    forecast: float
    sd: float
    came: float
    as_last: float
    of_lot: float


@dataclass(frozen=True, slots=True)
class RipeningScore:
    """How the forecasts of one attribute on one scale did: error, bias, shares of bands that held it, score (CRPS)."""

    attribute: str
    scale: str
    count: int
    error: float
    bias: float
    held: tuple[float, ...]
    crps: float
    as_last_error: float
    of_lot_error: float


def look_outcomes(looks: Sequence[PanelLook]) -> list[LookOutcome]:
    """List what came of every forecast, oldest first, without looking ahead."""
    found: list[LookOutcome] = []
    before: list[PanelLook] = []
    curves: CellarCurves | None = None
    in_turn = sorted(looks, key=lambda look: (look.at, look.flight, look.attribute, look.cask.tag))
    for _, group in groupby(in_turn, key=lambda look: (look.at, look.flight)):
        own = list(group)
        if before:
            curves = CellarCurves(before, curves)
            found += (outcome for look in own if (outcome := _outcome(look, before, curves)) is not None)
        before += own
    return found


def _outcome(look: PanelLook, before: Sequence[PanelLook], curves: CellarCurves) -> LookOutcome | None:
    alike = [each for each in before if (each.attribute, each.scale) == (look.attribute, look.scale)]
    last = {each.cask.stay: each for each in alike}
    if look.cask.stay not in last:
        return None
    curve = curves.curve((look.attribute, look.scale))
    mean, covariance = curve.ahead(look.cask, np.array([look.days]))
    sd = float(np.hypot(np.sqrt(max(0.0, covariance[0, 0])), curve.error(max(1, look.tasters))))
    of_lot = fmean(each.value for each in last.values() if each.cask.lot == look.cask.lot)
    figures = float(mean[0]), sd, look.value, last[look.cask.stay].value, of_lot
    return LookOutcome(look.attribute, look.scale, look.cask.tag, look.flight, look.at, *figures)


def ripening_scores(outcomes: Iterable[LookOutcome]) -> list[RipeningScore]:
    """Score what came of forecasts, each attribute and scale by itself, in the order in which they first came."""
    by_pair: dict[tuple[str, str], list[LookOutcome]] = defaultdict(list)
    for outcome in outcomes:
        by_pair[outcome.attribute, outcome.scale].append(outcome)
    return [_scored(*pair, own) for pair, own in by_pair.items()]


def _scored(attribute: str, scale: str, own: Sequence[LookOutcome]) -> RipeningScore:
    off = [each.forecast - each.came for each in own]
    return RipeningScore(
        attribute,
        scale,
        len(own),
        fmean(map(abs, off)),
        fmean(off),
        tuple(fmean(abs(each.forecast - each.came) <= _reach(p) * each.sd for each in own) for p in PROBABILITIES),
        fmean(crps_normal(each.came, each.forecast, each.sd) for each in own),
        fmean(abs(each.as_last - each.came) for each in own),
        fmean(abs(each.of_lot - each.came) for each in own),
    )


def _reach(probability: float) -> float:
    return NormalDist().inv_cdf(0.5 + probability / 2)


def ripening_scoreboard(book: Book, tags: Iterable[str] = ()) -> list[RipeningScore]:
    """Score what was forecast of every look of every panel, of the barrels named or of all."""
    wanted = set(tags)
    with book.reading() as connection:
        looks = panel_looks(book, connection)
    return ripening_scores(each for each in look_outcomes(looks) if not wanted or each.vessel in wanted)


def ripening_cells(score: RipeningScore, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a score in the columns of `SCORE_HEAD`."""
    off_by, bias, crps, as_last, of_lot = (
        show(Quantity.NUMBER, value, units, digits=2)
        for value in (score.error, score.bias, score.crps, score.as_last_error, score.of_lot_error)
    )
    held = (f"{100 * share:.0f} %" for share in score.held)
    return (score.attribute, score.scale, str(score.count), off_by, bias, *held, crps, as_last, of_lot)


def ripening_row(score: RipeningScore) -> dict[str, Any]:
    """Return a score as scripts read it; errors in points of the scale."""
    held = {f"held_{100 * p:g}_percent": 100 * share for p, share in zip(PROBABILITIES, score.held, strict=True)}
    return {
        "scored": score.attribute,
        "scale": score.scale,
        "looks": score.count,
        "error_points": score.error,
        "bias_points": score.bias,
        **held,
        "score_points": score.crps,
        "as_last_tasted_error_points": score.as_last_error,
        "mean_of_lot_error_points": score.of_lot_error,
    }
