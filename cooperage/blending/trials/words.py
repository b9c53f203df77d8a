"""A trial in sentences: what it tries, what it will be able to show, what is to be done next."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from cooperage.blending.brief.figures import figure_name, show_figure
from cooperage.blending.trials.precision import TrialPlan, needed_words
from cooperage.blending.trials.stocks import spans_of
from cooperage.blending.trials.trial import DEGREES, Trial, TrialState, TrialStock
from cooperage.units import DEFAULT, Units, counted, show_worth

NONE_YET = "No trial yet; `cooperage trial plan B-003 B-004 B-006 --keep` plans one."


def bounds_words(stocks: Sequence[TrialStock], units: Units = DEFAULT) -> str:
    """Return the stocks with their bounds: "B-003 20-60 %, B-007"."""
    return ", ".join(
        each.name
        if (each.low, each.high) == (0.0, 1.0)
        else f"{each.name} {_percent(each.low, units)}-{_percent(each.high, units)} %"
        for each in stocks
    )


def _percent(share: float, units: Units) -> str:
    return show_worth(100 * share, 3, units) if share else "0"


def limits_words(limits: Mapping[str, Any], units: Units = DEFAULT) -> str:
    """Return the limits: "strength 13.4 to 13.6 % vol, sugar at most 60 g/L"; empty without any."""
    return ", ".join(f"{figure_name(name)} {_span_words(name, span, units)}" for name, span in spans_of(limits).items())


def _span_words(name: str, span: Any, units: Units) -> str:  # noqa: ANN401 - a Bound
    if math.isinf(span.low) or math.isinf(span.high):
        end = span.high if math.isinf(span.low) else span.low
        side = "at most" if math.isinf(span.low) else "at least"
        return f"{side} {show_figure(name, end, units, short=True)}"
    low = show_figure(name, span.low, units, with_unit=False, short=True)
    return f"{low} to {show_figure(name, span.high, units, short=True)}"


def trial_words(trial: Trial, units: Units = DEFAULT) -> Iterator[str]:
    """Yield what a trial is, a line each."""
    yield f"{trial.code}  {trial.question or 'no question written'}"
    limits = limits_words(trial.limits, units)
    yield f"stocks: {bounds_words(trial.stocks, units)}{f'; {limits}' if limits else ''}"
    glasses = counted(len(trial.glasses), "glass", "glasses")
    sessions = counted(len(trial.sessions), "session")
    yield f"design: {trial.design}, {DEGREES[trial.degree]} model; {glasses} in {sessions}; scale {trial.scale}"


def plan_words(plan: TrialPlan, units: Units = DEFAULT) -> Iterator[str]:
    """Yield what a planned trial takes and what it will be able to show, a line each."""
    yield f"It takes {needed_words(plan)}."
    model = DEGREES[plan.trial.degree]
    if plan.checks > 0:
        beyond = counted(plan.checks, "blend")
        yield f"A {model} model has {plan.terms} terms; {beyond} beyond them {_check(plan.checks)} whether it fits."
    else:
        yield f"A {model} model takes all {plan.terms} blends: nothing is left to check whether it fits."
    if math.isnan(plan.shows):
        yield "One taster on so few glasses leaves nothing to judge the scores by; name more tasters or --repeats."
        return
    how = (
        f"as in {counted(plan.flights, 'flight')} here"
        if plan.flights
        else "a tenth of the scale is assumed, as no flight here used it"
    )
    usual, widest = (_points(band, units) for band in (plan.usual_band, plan.widest_band))
    known = f"the fitted score of a blend will be known to ±{usual}, at worst ±{widest} (90 %)"
    yield f"{_panel_words(plan, units)} ({how}): {known}."
    yield f"A difference of {_points(plan.shows, units)} between two of its blends is found 8 times in 10."


def _panel_words(plan: TrialPlan, units: Units) -> str:
    scores = f"whose scores stray by {_points(plan.noise, units)}"
    return f"{counted(plan.tasters, 'taster')} {scores}"


def _check(count: int) -> str:
    return "checks" if count == 1 else "check"


def _points(value: float, units: Units) -> str:
    return f"{show_worth(value, 2, units)} points"


def next_words(trial: Trial) -> str:
    """Return what is to be done next, as a command shows it."""
    left = trial.left_to_pour
    if trial.withdrawn is not None:
        return ""
    if left:
        session = f" --session {left[0]}" if len(trial.sessions) > 1 else ""
        mix, pour = f"cooperage trial sheet {trial.code}", f"cooperage trial pour {trial.code}{session}"
        return f"`{mix}` to mix the glasses, `{pour}` to pour"
    if trial.state is TrialState.SCORED:
        return f"`cooperage trial results {trial.code}`"
    blind = next(code for session, code in trial.flights.items() if session not in trial.revealed)
    return f"`cooperage taste score {blind} GLASS TASTER SCORE`, then `cooperage taste reveal {blind}`"
