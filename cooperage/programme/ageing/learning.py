"""Learn from a cellar's vessels how one property ages in it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass
from typing import Any

import numpy as np

from cooperage.book import Standing
from cooperage.programme.ageing.experience import Experience, Reached
from cooperage.programme.ageing.filtering import Passed, UsualAgeing, carry_on
from cooperage.programme.ageing.fitting import Fitted, fit
from cooperage.programme.ageing.likeness import Likeness, likeness_of
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.passage import NO_DRIFT, AirDrift
from cooperage.programme.ageing.side_by_side import Floats, trails_of
from cooperage.programme.air.warmth import UNREAD, Warmth


@dataclass(frozen=True)
class WhatIsUsual:
    """What is usual of one property here, and how sure, by which readings of any vessel can be passed through again.

    `covariance`, of shape (p + 2, p + 2), is that of the coefficients; `claimed` is the part of the squared scale of
    errors that is still what readings claim, not what they have shown.
    """

    likeness: Likeness
    usual: UsualAgeing
    covariance: Floats
    claimed: float

    def moves(self, standings: Sequence[Standing], name: str) -> Floats:
        """Return how far each figure now moves with the doubt of what is usual, of shape (vessels, p + 2).

        The columns are independent errors, one standard deviation of each: the products of two rows sum to the
        covariance of two figures.
        """
        columns = self.likeness.columns(standings)
        passed = carry_on(trails_of(standings, name), columns, AGEINGS[name], self.usual)
        moves: Floats = passed.value_by @ np.linalg.cholesky(self.covariance)
        return moves

    def as_json(self) -> list[Any]:
        """Return it as JSON holds it."""
        *words, means, doubts = astuple(self.likeness)
        coefficients, *numbers = astuple(self.usual)
        arrays = [each.tolist() for each in (means, doubts, coefficients, self.covariance)]
        return [words, numbers, arrays, self.claimed]

    @classmethod
    def from_json(cls, kept: Any) -> "WhatIsUsual":  # noqa: ANN401 - a file holds anything
        """Return it from what JSON holds; raises TypeError or ValueError where that is no such thing."""
        words, numbers, arrays, claimed = kept
        means, doubts, coefficients, covariance = (np.array(each, dtype=np.float64) for each in arrays)
        effects, lots, rooms = (tuple(each) for each in words)
        return cls(
            Likeness(effects, lots, rooms, means, doubts), UsualAgeing(coefficients, *numbers), covariance, claimed
        )


@dataclass(frozen=True)
class Learned:
    """What the vessels of a cellar have shown of one property, ready to age any of them."""

    name: str
    likeness: Likeness
    fitted: Fitted
    drifts: Mapping[str, AirDrift]
    warmth: Warmth = UNREAD

    def age(self, standings: Iterable[Standing]) -> Passed:
        """Carry vessels through their readings up to their moment, with what is usual as it was learned."""
        chosen = list(standings)
        columns = self.likeness.columns(chosen)
        trails = trails_of(chosen, self.name, self.drifts, self.warmth)
        passed = carry_on(trails, columns, AGEINGS[self.name], self.fitted.usual)
        return passed.doubting(self.fitted.covariance)

    def usual(self) -> WhatIsUsual:
        """Return what is usual as it was learned."""
        return WhatIsUsual(self.likeness, self.fitted.usual, self.fitted.covariance, self.fitted.claimed)

    def experience(self, standings: Sequence[Standing]) -> Experience:
        """Return what was learned as numbers, and where the readings left the vessels that it was learned from."""
        passed, usual, covariance = self.fitted.passed, self.fitted.usual, self.fitted.covariance
        reached, rate_by = passed.reached, passed.rate_by
        of_usual = (
            _products(reached.value_by @ covariance, reached.value_by),
            _products(reached.value_by @ covariance, rate_by),
            _products(rate_by @ covariance, rate_by),
            reached.value_by @ covariance[:, -1],
            rate_by @ covariance[:, -1],
            reached.value_by @ covariance[:, -2],
            rate_by @ covariance[:, -2],
        )
        air = [self.drifts.get(standing.tag, NO_DRIFT) for standing in standings]
        of_air = np.array(air, dtype=np.float64).reshape(len(standings), 2).T
        columns = (reached.value, passed.rate, reached.vv, reached.vr, reached.rr, *of_usual, *of_air)
        rows = np.column_stack(columns).tolist()
        return Experience(
            self.name,
            self.fitted.ended,
            passed.count,
            passed.errors,
            passed.errors_as_read,
            float(usual.coefficients[0]),
            usual.scale,
            float(usual.coefficients[-2]),
            float(usual.coefficients[-1]),
            usual.takes_varies,
            usual.of_fill,
            usual.wander,
            usual.rate_varies,
            float(covariance[-1, -1]),
            float(covariance[-1, -2]),
            float(covariance[-2, -2]),
            {standing.tag: Reached(*row) for standing, row in zip(standings, rows, strict=True)},
        )


def _products(a: Floats, b: Floats) -> Floats:
    """Return the product of each row of one with the same row of the other."""
    return np.asarray((a * b).sum(axis=1))


def learn(
    standings: Sequence[Standing],
    name: str,
    before: Learned | None = None,
    usual: float | None = None,
    drifts: Mapping[str, AirDrift] | None = None,
    warmth: Warmth = UNREAD,
) -> Learned:
    """Learn from vessels, those that are empty now too, how one property ages in this cellar.

    `before` may lend a start, `usual` is the usual rate that was learned of the property that ages alike,
    `drifts` what the air does to each, by tag, and `warmth` how warm the rooms are.
    """
    ageing = AGEINGS[name]
    likeness = likeness_of(standings, ageing)
    if usual is not None:
        likeness = likeness.moved(usual - AGEINGS[ageing.like].usual)
    near = before.fitted.usual if before is not None and before.likeness.is_like(likeness) else None
    trails, columns = trails_of(standings, name, drifts, warmth), likeness.columns(standings)
    return Learned(name, likeness, fit(trails, columns, likeness, ageing, near), drifts or {}, warmth)
