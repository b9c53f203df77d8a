"""What a trial shows, in sentences that claim no more than the figures do."""

import math
from collections.abc import Iterator, Sequence

from cooperage.blending.brief.figures import format_chance
from cooperage.blending.mixture.best import BestBlend
from cooperage.blending.trials.results import TrialResults
from cooperage.blending.trials.trial import blend_words
from cooperage.tasting.panel import p_words
from cooperage.units import DEFAULT, Quantity, Units, counted, show

LACKS = 0.05
RESULT_HEAD = ("blend", "scores", "mean", "fitted", "80 % within")
_SURE = 0.9


def result_rows(found: TrialResults, units: Units = DEFAULT) -> list[tuple[str, ...]]:
    """Return a row of cells for each blend that was tasted, best first."""
    return [
        (
            blend_words(found.trial.names, each.shares, units.decimal),
            str(each.scores),
            _one(each.mean, units),
            _one(each.fitted, units),
            _span(each.interval, units),
        )
        for each in found.blends
    ]


def fit_words(found: TrialResults, units: Units = DEFAULT) -> Iterator[str]:
    """Yield what the fit rests on, and whether the model fits."""
    panel = f"{counted(found.scores, 'score')} of {counted(len(found.tasters), 'taster')}"
    levels = ", each taster's level taken out" if len(found.tasters) > 1 else ""
    yield f"{panel}{levels}; {found.fit.degree} model: {found.why}."
    yield (
        "Fitted scores, the best blend and the picture allow for bends beyond that model, and are drawn together as "
        "far as the scores do not bear their differences out."
    )
    lack = found.fit.lack_of_fit
    if math.isnan(lack.p):
        yield "Nothing is left over to check whether the model fits."
    elif lack.p < LACKS:
        yield f"The model lacks fit (p {p_words(lack.p, units)}): take the surface as a rough guide."
    else:
        yield f"The scores show no lack of fit (p {p_words(lack.p, units)})."
    if found.awaited:
        yield f"Not in it: {counted(len(found.awaited), 'session')} that {_are(found.awaited)} not revealed yet."


def _are(sessions: Sequence[int]) -> str:
    return "is" if len(sessions) == 1 else "are"


def best_words(found: TrialResults, units: Units = DEFAULT) -> Iterator[str]:
    """Yield the best blend and how sure it is, a line each."""
    best, names = found.best, found.trial.names
    if best is None:
        yield "Nothing is left over to judge the scores by, so no blend can be called best: taste more glasses."
        return
    yield f"Best blend: {blend_words(names, best.shares, units.decimal)}"
    expected = f"{found.what} {_one(best.expected, units)} on {found.scale}"
    yield f"  expected {expected}, 80 % within {_span(best.interval, units)}"
    yield from _over_stocks(best, units)
    ranges = (f"{name} {_range(low, high, units)} %" for name, (low, high) in zip(names, best.share_range, strict=True))
    yield f"  where the true best lies, 80 % for each: {', '.join(ranges)}"


def _over_stocks(best: BestBlend, units: Units) -> Iterator[str]:
    if best.chance_over_stocks is None or best.gain is None or best.gain_interval is None:
        yield "  no stock may stand alone within the bounds, so that it is not held against one"
        return
    alone = bool((best.shares > 1 - 1e-6).any())
    if alone:
        yield "  it is one stock alone: the scores do not show that blending gains anything"
        return
    gain = f"{_one(best.gain, units)} points (80 % within {_span(best.gain_interval, units)})"
    chance = format_chance(best.chance_over_stocks)
    yield f"  better than the best single stock that the bounds allow: chance {chance}, by {gain}"
    if best.chance_over_stocks < _SURE:
        yield "  the scores leave it open whether blending gains anything; more glasses or tasters would show it"


def _range(low: float, high: float, units: Units) -> str:
    return "-".join(dict.fromkeys(_percent(end, units) for end in (low, high)))


def _percent(share: float, units: Units) -> str:
    return show(Quantity.NUMBER, 100 * share, units, digits=0)


def _one(value: float, units: Units) -> str:
    return show(Quantity.NUMBER, value, units, digits=1)


def _span(ends: tuple[float, float], units: Units) -> str:
    return " to ".join(_one(each, units) for each in ends)
