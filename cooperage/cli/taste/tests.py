"""A difference test on the command line: as it is poured, as scripts read it, and what it showed."""

import math
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.shared.desk import print_json, settings
from cooperage.cli.taste.shown import glass_name
from cooperage.tasting.difference.question import SAMPLES
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet
from cooperage.tasting.difference.words import asked_words, missing_lines, outcome_lines, samples_words, together_lines
from cooperage.tasting.flights.closing import peeked_words

if TYPE_CHECKING:
    from cooperage.book import Book
    from cooperage.tasting.difference.outcome import DifferenceOutcome, Together

_WIDTH = 100


def difference_row(poured: DifferenceFlight, *, is_open: bool = False) -> dict[str, Any]:
    """Return a difference test as scripts read it: which codes are alike only once it is revealed, or `is_open`."""
    question = poured.question
    row: dict[str, Any] = {"code": poured.code, "name": poured.name, "test": question.test}
    row |= {"aim": question.aim, "asked": question.words, "rounds": question.rounds, "alpha": question.alpha}
    row |= {"share": question.share, "power_wanted": question.power}
    row |= {"poured_at": poured.poured_at, "revealed_at": poured.revealed_at, "revealed_by": poured.revealed_by}
    is_shown = is_open or not poured.is_blind
    samples = {letter: glass_name(glass).partition(" (")[0] for letter, glass in poured.samples.items()}
    row |= {
        "samples": samples if is_shown else None,
        "sets": [_set_row(each, poured, is_open=is_shown) for each in poured.sets],
    }
    row |= {"tasters": poured.panel, "left_to_answer": dict(poured.left_to_give()) if poured.is_blind else {}}
    row |= {"left_early": poured.departed, "peeks": [{"hand": each.hand, "at": each.at} for each in poured.peeks]}
    return row


def _set_row(each: PresentedSet, poured: DifferenceFlight, *, is_open: bool) -> dict[str, Any]:
    row: dict[str, Any] = {"taster": each.taster, "round": each.round, "glasses": each.codes}
    shown = not poured.is_blind
    return row | {
        "order": each.order if is_open else None,
        "answer": each.answer if shown else None,
        "counts": each.is_right(poured.question) if shown and each.answer else None,
    }


def print_pour(poured: DifferenceFlight) -> None:
    """Print which sample goes into which glasses: for the person who pours."""
    for letter in SAMPLES:
        codes = [glass.code for glass in poured.glasses if glass.role == letter]
        lines = wrap(", ".join(codes), _WIDTH - 4) or ["no glass"]
        click.echo(f"  {poured.called(letter)} into {len(codes)}:")
        for line in lines:
            click.echo(f"    {line}")


def print_started(poured: DifferenceFlight, planned: str) -> None:
    """Print a test that was poured: what it can show, what goes into which glass, who tastes in which order."""
    click.echo(f"{poured.code}  {asked_words(poured, settings().units)}")
    click.echo(planned)
    print_pour(poured)
    click.echo("Only the person who pours should see this, and should not taste; to look it up again is written down.")
    for each in poured.sets:
        click.echo(f"  {each.taster} tastes {', '.join(each.codes)}")


def print_outcome(book: "Book", poured: DifferenceFlight, *, as_json: bool) -> None:
    """Print what a revealed test showed, alone and with others of the same two; raises StillBlind."""
    from cooperage.tasting.difference.outcome import difference_outcome, taken_together  # brings NumPy

    outcome, together = difference_outcome(poured), taken_together(book, poured)
    units = settings().units
    lines = [*outcome_lines(outcome, units), *together_lines(together, units)]
    if as_json:
        row = difference_row(poured) | _outcome_row(outcome) | {"together": _together_row(together)}
        print_json(row | {"words": lines})
        return
    click.echo(f"{samples_words(poured)}; {asked_words(poured, settings().units)}")
    for line in (*lines, *_each(outcome), *peeked_words(poured.peeks)):
        click.echo(line)


def _each(outcome: "DifferenceOutcome") -> list[str]:
    """Return how many answers of each taster counted, in one line, where some answered more than once."""
    if not outcome.is_repeated:
        return []
    return [", ".join(f"{taster} {right} of {of}" for taster, (right, of) in outcome.by_taster.items())]


def _outcome_row(outcome: "DifferenceOutcome") -> dict[str, Any]:
    shares, distances = outcome.shares, outcome.distances
    needed = outcome.planned.needed
    return {
        "result": outcome.brief(settings().units),
        "right": outcome.right,
        "answers": outcome.answers,
        "by_taster": {taster: {"right": right, "answers": of} for taster, (right, of) in outcome.by_taster.items()},
        "p": outcome.p if outcome.answers else None,
        "difference_shown": bool(outcome.answers) and outcome.is_shown,
        "alike_shown": bool(outcome.answers) and outcome.is_shown_alike,
        "share_who_taste_it": shares[0] if shares else None,
        "share_between": shares[1:] if shares else None,
        "d_prime": _finite(distances[0]) if distances else None,
        "d_prime_between": [_finite(end) for end in distances[1:]] if distances else None,
        "chosen_between": outcome.chosen_between,
        "sure": outcome.sure,
        "spread_of_tasters": round(outcome.repeated.spread, 4) if outcome.repeated else None,
        "power": outcome.planned.power if outcome.answers else None,
        "tasters_needed": needed.first if needed else None,
        "not_answered": missing_lines(outcome.flight),
    }


def _together_row(together: "Together | None") -> dict[str, Any] | None:
    if together is None:
        return None
    found = together.found
    return {
        "tests": together.codes,
        "answers": found.answers,
        "d_prime": _finite(found.d_prime),
        "d_prime_between": [_finite(end) for end in found.between],
        "sure": found.level,
        "p_alike": found.p_alike,
    }


def _finite(d_prime: float) -> float | None:
    """Return a distance, or None where every answer was right: JSON has no infinity."""
    return None if math.isinf(d_prime) else d_prime
