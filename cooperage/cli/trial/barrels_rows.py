"""A trial across barrels as scripts read it: the trial itself, what it could find, and its answer."""

from typing import TYPE_CHECKING, Any

from cooperage.units import DEFAULT

if TYPE_CHECKING:
    from cooperage.programme.compared.outcome import TrialOutcome
    from cooperage.programme.compared.planning import PlannedTrial
    from cooperage.programme.compared.trial import BarrelTrial


def _unit(trial: "BarrelTrial") -> str:
    from cooperage.programme.compared.words import unit_of

    return unit_of(trial, DEFAULT)


def barrel_trial_row(trial: "BarrelTrial", *, is_kept: bool = True) -> dict[str, Any]:
    """Return a trial as scripts read it: no barrel's treatment before it is kept, nor while a flight of it is blind."""
    shows = is_kept and not trial.is_blind
    spread = trial.stated.spread
    poured = {each.sitting: each for each in trial.poured}
    return {
        "code": trial.code,
        "question": trial.question,
        "measure": trial.measure,
        "unit": _unit(trial),
        "treatments": [{"name": each.name, "words": each.words} for each in trial.treatments],
        "barrels": [
            {"vessel": each.vessel, "block": each.block}
            | {"treatment": trial.treatments[each.treatment].name if shows else None}
            for each in trial.barrels
        ],
        "blocked_by": trial.blocked_by,
        "is_random": trial.seed is not None,
        "seed": trial.seed if shows else None,
        "sittings": [
            {"sitting": number, "day": each.day.isoformat(), "vessels": trial.at_sitting(number)}
            | {"flight": poured[number].flight if number in poured else None}
            | {"is_blind": number in poured and poured[number].is_blind}
            for number, each in enumerate(trial.sittings, 1)
        ],
        "tasters": trial.tasters,
        "difference": trial.difference,
        "level_percent": 100 * trial.level,
        "stated": {
            "barrel_sd": spread.barrel,
            "score_sd": spread.score,
            "barrel_degrees": spread.barrel_degrees,
            "score_degrees": spread.score_degrees,
            "from": spread.of,
            "found_percent": None if trial.stated.power is None else 100 * trial.stated.power,
            "least_difference_found_80_percent": trial.stated.least,
        },
        "hand": trial.hand,
        "written": trial.written_at if is_kept else None,
        "is_kept": is_kept,
        "withdrawn": trial.withdrawn,
    }


def power_row(planned: "PlannedTrial") -> dict[str, Any]:
    """Return what a trial could find as scripts read it; differences are in the trial's own unit."""
    power, difference = planned.power, planned.trial.difference
    least, near, far = power.least()
    row: dict[str, Any] = {
        "unit": _unit(planned.trial),
        "least_difference_found_80_percent": least,
        "least_difference_low": near,
        "least_difference_high": far,
        "degrees_of_freedom": power.comparing.degrees,
        "efficiency_percent": 100 * planned.trial.layout.efficiency,
        "notes": planned.notes,
        "by_barrels_of_each": [
            {"barrels_of_each": each, "least_difference": more.least()[0]}
            for each in (2, 3, 4, 6, 8, 12)
            if (more := power.with_barrels(each)).comparing.degrees > 0
        ],
    }
    if difference is not None:
        found, low, high = (100 * each for each in power.power(difference))
        row |= {"difference": difference, "found_percent": found, "found_low_percent": low, "found_high_percent": high}
        row |= {
            "barrels_of_each_needed": power.barrels_needed(difference),
            "tasters_needed": power.tasters_needed(difference) if planned.trial.is_tasted else None,
            "flights_needed": power.flights_needed(difference) if planned.trial.is_tasted else None,
        }
    return row


def outcome_row(outcome: "TrialOutcome") -> dict[str, Any]:
    """Return an answer as scripts read it, its figures in the unit beside them."""
    from cooperage.programme.compared.words import pair_words

    trial, found = outcome.trial, outcome.compared
    names = [each.name for each in trial.treatments]
    return {
        "code": trial.code,
        "question": trial.question,
        "measure": trial.measure,
        "unit": _unit(trial),
        "level_percent": 100 * found.level,
        "means": [
            {"treatment": name, "mean": each.mean, "low": each.low, "high": each.high, "barrels": each.barrels}
            for name, each in zip(names, found.means, strict=True)
        ],
        "differences": [
            {
                "of": names[pair.first],
                "over": names[pair.second],
                "difference": pair.value,
                "low": pair.low,
                "high": pair.high,
                "standard_error": pair.standard_error,
                "is_found": pair.is_found,
                "would_be_found_80_percent": pair.least,
                "words": pair_words(outcome, pair, DEFAULT),
            }
            for pair in found.pairs
        ],
        "f": found.f,
        "p": found.p,
        "degrees_of_freedom": found.degrees,
        "barrel_sd": found.barrel_sd,
        "score_sd": found.score_sd,
        "barrels": found.barrels,
        "is_exact": found.is_exact,
        "flights": outcome.flights,
        "flights_planned": len(trial.sittings) if trial.is_tasted else 0,
        "is_random": trial.seed is not None,
        "peeks": outcome.peeks,
        "missing": outcome.missing,
    }
