"""A trial across barrels in sentences and rows, the same at every door: never more than its figures show."""

import math

from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.compared.analysis import TreatmentDifference, TreatmentMean
from cooperage.programme.compared.outcome import TrialOutcome
from cooperage.programme.compared.planning import PlannedTrial
from cooperage.programme.compared.power import MOST_EACH, MOST_FLIGHTS, MOST_TASTERS, BarrelSpread, TrialPower
from cooperage.programme.compared.trial import BarrelTrial
from cooperage.tasting.flights.scales import bounds
from cooperage.tasting.panel import p_words
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_spread, unit_written

TABLE_OF_BARRELS = (2, 3, 4, 6, 8, 12)
"""Barrels of a treatment for which the least difference is shown beside those that are planned."""
NO_TRIALS = "No trial across barrels yet; `cooperage trial barrels plan` shows what one could find."
_WIDE = 10
_ALL = 0.995


def unit_of(trial: BarrelTrial, units: Units = DEFAULT) -> str:
    """Return the unit of a trial's figures: points of its scale, or that of what is read."""
    return f"points of {trial.scale}" if trial.is_tasted else unit_written(PROPERTIES[trial.measure].quantity, units)


def measure_words(trial: BarrelTrial) -> str:
    """Return what is measured: "overall score, 0-20", "oak, 0-10", "volatile acidity"."""
    if not trial.is_tasted:
        return PROPERTIES[trial.measure].label
    return f"{'overall score' if trial.measure == 'overall' else trial.measure}, {trial.scale}"


def level_words(trial: BarrelTrial, value: float, units: Units = DEFAULT) -> str:
    """Return a mean in the user's unit: points without a word for them."""
    if trial.is_tasted:
        return show(Quantity.NUMBER, value, units, digits=_digits(trial))
    return show(PROPERTIES[trial.measure].quantity, value, units)


def apart_words(trial: BarrelTrial, size: float, units: Units = DEFAULT, *, with_unit: bool = True) -> str:
    """Return how far two are apart, whichever is higher, in the user's unit: "1.2 points"."""
    if not math.isfinite(size):
        return "?"
    if trial.is_tasted:
        number = show(Quantity.NUMBER, abs(size), units, digits=_digits(trial))
        return f"{number} points" if with_unit else number
    declared = PROPERTIES[trial.measure]
    middle = sum(declared.usual) / 2
    text = show_spread(declared.quantity, abs(size), middle, units, like=declared.uncertainty)
    return text if with_unit else text.removesuffix(unit_written(declared.quantity, units)).strip()


def _width(trial: BarrelTrial) -> float:
    low, high = bounds(trial.scale)
    return high - low


def _digits(trial: BarrelTrial) -> int:
    return 1 if _width(trial) >= _WIDE else 2


def _signed(trial: BarrelTrial, value: float, units: Units, *, with_unit: bool) -> str:
    return f"{'-' if value < 0 else ''}{apart_words(trial, value, units, with_unit=with_unit)}"


def _between(trial: BarrelTrial, low: float, high: float, units: Units) -> str:
    return f"{apart_words(trial, low, units, with_unit=False)} to {apart_words(trial, high, units)}"


def _least_words(trial: BarrelTrial, power: TrialPower, units: Units) -> tuple[str, str]:
    """Return the least difference found in 8 of 10, and its band; neither where it is wider than the scale."""
    least, near, far = power.least()
    if trial.is_tasted and least > _width(trial):
        return "none on this scale", ""
    return apart_words(trial, least, units), _between(trial, near, far, units)


def _in_100(share: float) -> str:
    """Return a share as "62 of 100", and never that it is all or none."""
    if share > _ALL:
        return "over 99 of 100"
    return "under 1 of 100" if share < 1 - _ALL else f"{100 * share:.0f} of 100"


def design_words(trial: BarrelTrial) -> str:
    """Return the layout in a sentence: barrels, treatments, blocks, how often and by whom."""
    layout = trial.layout
    given = layout.given
    of = f"{counted(given[0], 'barrel')} each" if len(set(given)) == 1 else f"{', '.join(map(str, given))} barrels"
    blocks = f"in {layout.blocks} blocks by {' and '.join(trial.blocked_by)}" if layout.blocks > 1 else "in one block"
    drawn = "not drawn at random" if trial.seed is None else "drawn at random"
    if trial.seed is not None and trial.id and not trial.is_blind:  # whoever has the seed can draw them again
        drawn += f" with seed {trial.seed}"
    days = len({each.day for each in trial.sittings})
    if not trial.is_tasted:
        how = f"read on {counted(days, 'day')}"
    else:
        sittings = counted(len(trial.sittings), "flight")
        how = f"each tasted {'once' if days == 1 else f'{days} times'} by {', '.join(trial.tasters)}, in {sittings}"
    return f"{layout.barrels} barrels; {layout.treatments} treatments of {of}, {drawn}, {blocks}; {how}."


def spread_words(trial: BarrelTrial, spread: BarrelSpread, units: Units = DEFAULT) -> str:
    """Return how far barrels and scores are expected to differ, and what that is learned from."""
    barrel, score = (apart_words(trial, each, units) for each in (spread.barrel, spread.score))
    one = "one score" if trial.is_tasted else "one reading"
    return (
        f"Expected: like barrels differ by {barrel}, {one} strays by {score} (standard deviations; from {spread.of})."
    )


def power_lines(planned: PlannedTrial, units: Units = DEFAULT) -> list[str]:
    """Return what a planned trial can find, and what it would need for the difference asked about."""
    trial, power = planned.trial, planned.power
    least, band = _least_words(trial, power, units)
    lines = [spread_words(trial, power.spread, units)]
    if trial.difference is not None:
        found, low, high = power.power(trial.difference)
        wanted = apart_words(trial, trial.difference, units)
        known = f"{_in_100(low).removesuffix(' of 100')} to {_in_100(high)}, as far as the spread is known"
        lines.append(f"A difference of {wanted} would be found in {_in_100(found)} such trials ({known}).")
    lines.append(f"The least difference found in 8 of 10: {least}{f' ({band})' if band else ''}.")
    if trial.difference is not None:
        lines.append(_needed_words(trial, power, trial.difference, units))
    return [*lines, *planned.notes]


def _needed_words(trial: BarrelTrial, power: TrialPower, difference: float, units: Units) -> str:
    each = power.barrels_needed(difference)
    ways = [
        f"{each} barrels of each treatment" if each else f"not even {MOST_EACH} barrels of each treatment",
    ]
    if trial.is_tasted:
        tasters, flights = power.tasters_needed(difference), power.flights_needed(difference)
        ways.append(counted(tasters, "taster") if tasters else f"not even {MOST_TASTERS} tasters")
        ways.append(f"{counted(flights, 'flight')} of each" if flights else f"not even {MOST_FLIGHTS} flights of each")
    wanted = apart_words(trial, difference, units)
    return f"To find {wanted} in 8 of 10, one of these with the rest as planned: {'; '.join(ways)}."


BARRELS_HEAD = ("barrels of each", "found in 8 of 10", "as the spread may be")


def barrels_cells(planned: PlannedTrial, units: Units = DEFAULT) -> list[tuple[str, ...]]:
    """Return for some numbers of barrels of each treatment the least difference found in 8 of 10 trials, as cells."""
    rows: list[tuple[str, ...]] = []
    for each in TABLE_OF_BARRELS:
        power = planned.power.with_barrels(each)
        if power.comparing.degrees > 0:
            rows.append((str(each), *_least_words(planned.trial, power, units)))
    return rows


SITTINGS_HEAD = ("sitting", "day", "barrels", "flight")


def sittings_cells(trial: BarrelTrial) -> list[tuple[str, ...]]:
    """Return the planned sittings as cells: day, barrels, and the flight that was poured, blind or revealed."""
    poured = {each.sitting: each for each in trial.poured}
    rows: list[tuple[str, ...]] = []
    for number, sitting in enumerate(trial.sittings, 1):
        there = poured.get(number)
        flight = "" if there is None else f"{there.flight}{' (blind)' if there.is_blind else ''}"
        rows.append((str(number), sitting.day.isoformat(), " ".join(trial.at_sitting(number)), flight))
    return rows


def treatment_lines(trial: BarrelTrial) -> list[str]:
    """Return the treatments with what is done, and their barrels unless a flight of the trial is blind."""
    lines = []
    for treatment, tags in zip(trial.treatments, trial.by_treatment().values(), strict=True):
        barrels = counted(len(tags), "barrel") if trial.is_blind else " ".join(tags)
        lines.append(f"{treatment.name}: {treatment.words + '; ' if treatment.words else ''}{barrels}")
    if trial.is_blind:
        lines.append("Which barrel got which is not shown while a flight of this trial is blind.")
    return lines


MEANS_HEAD = ("treatment", "barrels", "mean", "from", "to")


def means_cells(outcome: TrialOutcome, units: Units = DEFAULT) -> list[tuple[str, ...]]:
    """Return the means of the treatments with their intervals, as cells, the highest first."""
    trial = outcome.trial
    rows = sorted(zip(trial.treatments, outcome.compared.means, strict=True), key=lambda each: -each[1].mean)
    return [(treatment.name, str(mean.barrels), *_interval_cells(trial, mean, units)) for treatment, mean in rows]


def _interval_cells(trial: BarrelTrial, mean: TreatmentMean, units: Units) -> tuple[str, ...]:
    return tuple(level_words(trial, each, units) for each in (mean.mean, mean.low, mean.high))


def outcome_lines(outcome: TrialOutcome, units: Units = DEFAULT) -> list[str]:
    """Return the answer in sentences, and what it stands on."""
    found = outcome.compared
    lines = [pair_words(outcome, pair, units) for pair in found.pairs]
    if len(found.means) > 2 and math.isfinite(found.f):
        f = show(Quantity.NUMBER, found.f, units, digits=2)
        freedom = (
            f"{len(found.means) - 1} and {show(Quantity.NUMBER, found.degrees, units, digits=_few(found.degrees))}"
        )
        lines.append(f"All treatments together: F {f} with {freedom} degrees of freedom, p {p_words(found.p, units)}.")
    return [*lines, _error_words(outcome, units), *_stands_on(outcome)]


def pair_words(outcome: TrialOutcome, pair: TreatmentDifference, units: Units = DEFAULT) -> str:
    """Return a difference of two treatments with its interval; or that none is found, and what would have been."""
    trial = outcome.trial
    higher, lower = trial.treatments[pair.first].name, trial.treatments[pair.second].name
    value, low, high = pair.value, pair.low, pair.high
    if value < 0:
        higher, lower, value, low, high = lower, higher, -value, -high, -low
    between = f"{_signed(trial, low, units, with_unit=False)} to {_signed(trial, high, units, with_unit=True)}"
    sure = f"{100 * outcome.compared.level:g} %"
    if pair.is_found:
        return f"{higher} is {apart_words(trial, value, units)} higher than {lower} ({between}, {sure})."
    least = apart_words(trial, pair.least, units)
    return (
        f"No difference found between {higher} and {lower} ({between}, {sure}); "
        f"one of {least} would have been found in 8 of 10 such trials."
    )


def _few(degrees: float) -> int:
    return 0 if float(degrees).is_integer() else 1


def _error_words(outcome: TrialOutcome, units: Units) -> str:
    trial, found = outcome.trial, outcome.compared
    degrees = show(Quantity.NUMBER, found.degrees, units, digits=_few(found.degrees))
    words = f"Held against {found.barrels} barrels, {degrees} degrees of freedom"
    if math.isfinite(found.barrel_sd):
        one = "one score" if trial.is_tasted else "one reading"
        spread = (apart_words(trial, each, units) for each in (found.barrel_sd, found.score_sd))
        words += f"; barrels treated alike differ by {next(spread)}, {one} strays by {next(spread)}"
    return f"{words}{'' if found.is_exact else '; glasses are missing, so by a mixed model'}."


def _stands_on(outcome: TrialOutcome) -> list[str]:
    trial = outcome.trial
    lines = []
    if trial.is_tasted:
        seen, planned = len(outcome.flights), len(trial.sittings)
        lines.append(f"By {seen} of {planned} planned flights: {', '.join(outcome.flights)}; it holds for this panel.")
        if seen < planned and trial.withdrawn is None:
            lines.append("More flights are planned: to stop at the first difference that shows would find too many.")
    if trial.seed is None:
        lines.append(
            "The treatments were not drawn at random: what is found may be something else the barrels differ in."
        )
    if outcome.missing:
        lines.append(f"Nothing is known yet of {', '.join(outcome.missing)}.")
    if trial.withdrawn is not None:
        lines.append(f"The trial was withdrawn: {trial.withdrawn.why}")
    return [*lines, *outcome.peeks]


def stated_words(trial: BarrelTrial, units: Units = DEFAULT) -> str:
    """Return what was stated before the trial began."""
    least = apart_words(trial, trial.stated.least, units)
    words = f"the least difference found in 8 of 10 was to be {least}"
    if trial.difference is None or trial.stated.power is None:
        return f"Stated beforehand: {words}."
    wanted = apart_words(trial, trial.difference, units)
    return f"Stated beforehand: {wanted} was to be found in {_in_100(trial.stated.power)} such trials; {words}."
