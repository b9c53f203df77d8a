"""The outcome of a difference test in sentences."""

import math
from collections.abc import Iterator

from cooperage.tasting.difference.outcome import DifferenceOutcome, Together
from cooperage.tasting.difference.question import ALIKE
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.statistics.difference.found import DifferenceFound, per_cent
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_when, show_worth

_DIFFER = 0.05
"""Tests that differ so seldom by chance have no distance in common."""


def asked_words(poured: DifferenceFlight, units: Units = DEFAULT) -> str:
    """Return what a test asks and how surely: "triangle: which is the odd one? ..."."""
    question = poured.question
    share, wrongly = per_cent(question.share, units), f"wrongly {per_cent(question.alpha, units)} of the time"
    if question.aim == ALIKE:
        aim = f"to show that fewer than {share} taste a difference, {wrongly}"
    elif question.is_two_sided:
        aim = f"to show a difference either way, {wrongly}"
    else:
        aim = f"to show a difference, {wrongly}"
    return f"{question.test}, {aim}: {question.words}"


def samples_words(poured: DifferenceFlight) -> str:
    """Return the two samples of a revealed test, and what was expected of them."""
    question, names = poured.question, [poured.called(letter) for letter in ("A", "B")]
    said = (
        f"; {poured.called(question.expected)} was expected to have more {question.asked}" if question.expected else ""
    )
    known = f"; {poured.called(question.reference)} was the reference" if question.reference else ""
    return f"{names[0]} against {names[1]}{said}{known}"


def outcome_lines(outcome: DifferenceOutcome, units: Units = DEFAULT) -> list[str]:
    """Return the sentences of an outcome, the answer first."""
    if not outcome.answers:
        return [f"{outcome.flight.code} was revealed without an answer."]
    if outcome.flight.question.is_two_sided:
        lines = [*_chosen(outcome, units)]
    elif outcome.is_repeated:
        lines = [*_repeated(outcome, units)]
    else:
        lines = [*_once(outcome, units)]
    return [*lines, *missing_lines(outcome.flight)]


def together_lines(together: Together | None, units: Units = DEFAULT) -> list[str]:
    """Return the sentences of several tests of the same two; none where there is one."""
    if together is None:
        return []
    found, codes = together.found, ", ".join(together.codes)
    whole = (
        f"{counted(found.tests, 'test')} of these two ({codes}) have {found.answers} answers: together "
        f"{_apart(*found.between, units)}, {per_cent(found.level, units)} sure, each answer taken for another taster's."
    )
    if found.p_alike > _DIFFER:
        return [whole]
    apart = f"But the tests differ by more than chance ({per_cent(found.p_alike, units)} of the time)"
    return [whole, f"{apart}: the mead may have changed between them, so go by each test alone."]


def missing_lines(poured: DifferenceFlight) -> list[str]:
    """Return who did not answer every set, and who left before the end, a line each."""
    open_sets = {taster: sum(not each.answer for each in poured.sets_of(taster)) for taster in poured.panel}
    lines = []
    for taster, count in open_sets.items():
        if taster in poured.departed:
            left = f", {counted(count, 'set')} unanswered" if count else ""
            lines.append(f"{taster} left before the end, {show_when(poured.departed[taster])}{left}.")
        elif count:
            lines.append(f"{taster} left {counted(count, 'set')} unanswered.")
    return lines


def _once(outcome: DifferenceOutcome, units: Units) -> Iterator[str]:
    """Yield what right answers show of tasters who answered once each."""
    found = outcome.found
    if found is None:
        return
    if outcome.flight.question.aim != ALIKE:
        yield from found.words(units)
        return
    yield _alike(found, units)
    if found.is_shown:
        yield f"More are right than guessing explains ({per_cent(found.p, units)} of the time): there is a difference."
    yield found.taste_it(units)
    yield outcome.planned.words(units)


def _alike(found: DifferenceFound, units: Units) -> str:
    share, right = per_cent(found.share, units), f"{found.correct} right of {found.tasters}"
    if found.is_shown_alike:
        so_few = f"so few would be right {per_cent(found.so_few, units)} of the time"
        sure = f"so fewer than {share} do, {per_cent(1 - found.alpha, units)} sure"
        return f"{right}: if {share} of such tasters tasted a difference, {so_few}; {sure}."
    if found.most_alike is None:
        return f"{right}: with so few answers nothing can show that fewer than {share} taste a difference."
    most = f"no more than {found.most_alike} right would"
    return f"{right} does not show that fewer than {share} taste a difference; {most}."


def _repeated(outcome: DifferenceOutcome, units: Units) -> Iterator[str]:
    """Yield what answers show of which some are of one taster."""
    question, tasters = outcome.flight.question, counted(len(outcome.by_taster), "taster")
    right = f"{outcome.right} right of {outcome.answers} answers of {tasters}"
    shown = (
        f"so some taste a difference, at {show_worth(question.alpha, 2, units)}"
        if outcome.is_shown
        else "so no difference is shown"
    )
    yield f"{right}: if all guessed every time, as many or more come {per_cent(outcome.p, units)} of the time, {shown}."
    yield f"Answers of one taster resemble each other: {outcome.answers} answers are not as many tasters."
    found = outcome.repeated
    if found is None:
        yield f"All are of {next(iter(outcome.by_taster))}; of other tasters they show nothing."
    else:
        low, high = (per_cent(end, units) for end in found.share_between)
        sure = per_cent(found.level, units)
        yield (
            f"On average such a taster tastes it in {low} to {high} of the sets, about {sure} sure; "
            f"{_apart(*found.d_prime_between, units)}."
        )
        if found.p_spread <= 0.05:
            yield f"Tasters differ in that by more than chance ({per_cent(found.p_spread, units)} of the time)."
        yield from _alike_repeated(outcome, units)
    yield f"{outcome.planned.words(units)} That counts each answer as another taster's, which they are not."


def _alike_repeated(outcome: DifferenceOutcome, units: Units) -> Iterator[str]:
    question = outcome.flight.question
    if question.aim != ALIKE:
        return
    share = per_cent(question.share, units)
    if outcome.is_shown_alike:
        yield f"It is fewer than {share} of the sets, about {per_cent(1 - question.alpha, units)} sure."
    else:
        yield f"That does not show that it is fewer than {share} of the sets."


def _apart(low: float, high: float, units: Units) -> str:
    near, far = (show(Quantity.NUMBER, end, units, digits=1) for end in (low, high))
    return f"d' is no less than {near}" if math.isinf(high) else f"d' from {near} to {far}"


def _chosen(outcome: DifferenceOutcome, units: Units) -> Iterator[str]:
    """Yield what choices show of which either was possible."""
    flight, question = outcome.flight, outcome.flight.question
    names = flight.called("A"), flight.called("B")
    find = "prefer it" if question.is_preference else f"find more {question.asked} in it"
    others = outcome.answers - outcome.right
    chose = f"{outcome.right} of {outcome.answers} chose {names[1]}, {others} {names[0]}"
    level = show_worth(question.alpha, 2, units)
    by_chance = f"chance alone parts them so unevenly {per_cent(outcome.p, units)} of the time"
    if not outcome.is_shown:
        yield f"{chose}: {by_chance}, which does not show of either that more tasters {find}."
    elif outcome.is_repeated:
        yield f"{chose}: {by_chance}, so it is not chance alone, at {level}."
    else:
        chosen = names[outcome.right > others]
        yield f"{chose}: {by_chance}, so of {chosen} more such tasters {find}, at {level}."
    if outcome.chosen_between is not None:
        low, high = (per_cent(end, units) for end in outcome.chosen_between)
        yield f"Between {low} and {high} of such tasters would choose {names[1]}, {per_cent(outcome.sure, units)} sure."
    else:
        yield f"Choices of one taster resemble each other: {outcome.answers} choices are not as many tasters."
    yield outcome.planned.words(units)
