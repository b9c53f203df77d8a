"""What a difference test of so many tasters found: figures, and sentences that claim no more than the figures do."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cooperage.tasting.statistics.difference.counts import DifferenceTest, NotAChance, by_guessing, fewest_correct
from cooperage.tasting.statistics.difference.power import (
    MOST_TASTERS_IN_A_TEST,
    TastersNeeded,
    chance_of_so_few,
    most_correct,
    power,
    tasters_needed,
)
from cooperage.tasting.statistics.difference.thurstone import Distinguished, distinguished
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_worth


@dataclass(frozen=True, slots=True)
class DifferenceFound:
    """A difference test that was run, one trial a taster.

    `p` is the chance of so many right answers or more by guessing; `needed` the fewest that are significant at `alpha`,
    None if none are. `power` is the chance that so many tasters find a difference that a `share` of them tastes;
    `panel` how many find it with chance `wanted`. `so_few` is the chance of so few right answers if `share` tasted it,
    and `most_alike` the most that show, at `alpha`, that fewer do; None if none would.
    """

    test: DifferenceTest
    correct: int
    tasters: int
    alpha: float
    share: float
    wanted: float
    p: float
    needed: int | None
    estimate: Distinguished
    power: float
    panel: TastersNeeded | None
    so_few: float
    most_alike: int | None

    @property
    def is_shown(self) -> bool:
        """Return True if more were right than guessing explains, at `alpha`."""
        return self.needed is not None and self.correct >= self.needed

    @property
    def is_shown_alike(self) -> bool:
        """Return True if too few were right for `share` of the tasters to taste a difference, at `alpha`."""
        return self.most_alike is not None and self.correct <= self.most_alike

    def taste_it(self, units: Units = DEFAULT) -> str:
        """How many of such tasters taste a difference, and how large it is."""
        return _taste_it(self.estimate, units)

    def words(self, units: Units = DEFAULT) -> list[str]:
        """A sentence for each finding."""
        return [
            line
            for line in (_verdict(self, units), self.taste_it(units), _alike(self, units), _panel(self, units))
            if line
        ]


def difference_found(
    test: DifferenceTest, correct: int, tasters: int, *, alpha: float = 0.05, share: float = 0.5, wanted: float = 0.8
) -> DifferenceFound:
    """Work out what a difference test shows; raises NotACount, NotAChance.

    `share` [0 to 1] of the tasters is what the question is about: a difference that fewer taste may be missed.
    """
    if not 0 < wanted < 1:
        raise NotAChance(wanted)
    panel = tasters_needed(test, share, alpha, 1 - wanted)
    level = max(1 - 2 * alpha, 0.5)  # of an interval above guessing just where the test is significant
    return DifferenceFound(
        test,
        correct,
        tasters,
        alpha,
        share,
        wanted,
        by_guessing(test, correct, tasters),
        fewest_correct(test, tasters, alpha),
        distinguished(test, correct, tasters, level),
        power(test, tasters, alpha, share),
        panel,
        chance_of_so_few(test, correct, tasters, share),
        most_correct(test, tasters, alpha, share),
    )


def _verdict(found: DifferenceFound, units: Units) -> str:
    who, right = counted(found.tasters, "taster"), f"{found.correct} right of {found.tasters}"
    level = show_worth(found.alpha, 2, units)
    if found.needed is None:
        return f"{who} cannot show a difference: even all right comes by guessing more often than {level}."
    by_chance = f"guessing alone gives as many or more {per_cent(found.p, units)} of the time"
    if found.is_shown:
        return f"{right}: {by_chance}, so there is a difference at {level}."
    return f"{right}: {by_chance}, so no difference is shown; {found.needed} right would be needed at {level}."


def _taste_it(estimate: Distinguished, units: Units) -> str:
    low, high = (per_cent(end, units) for end in estimate.share_between)
    sure = per_cent(estimate.level, units)
    near, far = (show(Quantity.NUMBER, end, units, digits=1) for end in estimate.d_prime_between)
    apart = f"d' is no less than {near}" if math.isinf(estimate.d_prime_between[1]) else f"d' from {near} to {far}"
    return f"Between {low} and {high} of such tasters taste it, {sure} sure; {apart}."


def _alike(found: DifferenceFound, units: Units) -> str:
    share = per_cent(found.share, units)
    if found.is_shown:
        return ""
    if found.is_shown_alike:
        return f"Fewer than {share} of such tasters taste a difference, at {show_worth(found.alpha, 2, units)}."
    if found.most_alike is None:
        who = counted(found.tasters, "taster")
        few = f"That does not show the two alike: {who} are too few to show that fewer than {share} taste a difference."
        is_under_guessing = found.correct < found.test.guess * found.tasters
        poured = " Fewer are right than guessing gives: look at how the test was poured." if is_under_guessing else ""
        return few + poured
    return (
        f"That does not show the two alike: no more than {found.most_alike} right would show that fewer than {share} "
        "taste a difference."
    )


def _panel(found: DifferenceFound, units: Units) -> str:
    missed, wanted = per_cent(1 - found.power, units), per_cent(found.wanted, units)
    share, who = per_cent(found.share, units), counted(found.tasters, "taster")
    seldom = f"Where {share} taste a difference, {who} would miss it {missed}"
    if found.panel is None:
        return f"{seldom} of the time; finding it {wanted} of the time takes more than {MOST_TASTERS_IN_A_TEST}."
    first, stable = found.panel.first, found.panel.stable
    later = "" if stable == first else f", and all numbers from {stable} on"
    return f"{seldom} of the time; at least {first} are needed to find it {wanted} of the time{later}."


def per_cent(chance: float, units: Units = DEFAULT) -> str:
    """Return a chance in per cent: "3.1 %", and "< 0.1 %" for one that is smaller and not nothing."""
    if 0 < chance < 0.0005:
        return f"< {show(Quantity.PERCENT, 0.1, units)}"
    if chance >= 0.0995:
        return show(Quantity.PERCENT, 100 * chance, units, digits=0)
    return show(Quantity.PERCENT, 100 * chance, units, digits=1).replace(f"{units.decimal}0 %", " %")
