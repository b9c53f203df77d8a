"""A leak as a sign: sure where visits agree on one, doubtful where only the last of them was odd."""

from collections.abc import Iterator

from cooperage.book import Standing
from cooperage.book.replay.state import moment
from cooperage.programme.losses.loss_rate import SURE_ENOUGH, Leak, LossRate
from cooperage.programme.signs.sign import ODD_LOSS, Sign
from cooperage.programme.upkeep.dips import dip_that_disagrees
from cooperage.programme.upkeep.verdicts import sure_words
from cooperage.units import DEFAULT, Quantity, Units, show

# Thresholds are common practice (no source): they decide what is shown, never what is written.
ODD_ENOUGH = 0.95
"""Posterior probability, of a leak or of a slip together, from which one odd visit is shown."""


def leak_sign(standing: Standing, rate: LossRate | None, units: Units = DEFAULT) -> Iterator[Sign]:
    """Yield a leak where visits agree on one, and a single odd visit until the next one settles what it was."""
    if rate is None or rate.leak is None or standing.ml == 0:
        return
    leak = rate.leak
    if is_sure_leak(leak):
        losing, usual = (_monthly(a_day, units) for a_day in (rate.ml_per_day, rate.peers_ml_per_day))
        why = f"losing {losing} a month; similar barrels lose {usual}. Leak? ({_how_sure(leak)})"
        yield Sign(standing.tag, "leak", why, moment(leak.since), leak.sure)
    elif is_odd_visit(leak) and dip_that_disagrees(standing) is None:  # a dip has a sign of its own
        lost, usual = (show(Quantity.VOLUME, round(ml), units) for ml in (leak.lost_ml, leak.expected_ml))
        why = f"lost {lost} at the last visit; {usual} expected. Leak, or a typing error?"
        sure, more_l = leak.probability + leak.odd, (leak.lost_ml - leak.expected_ml) / 1000
        yield Sign(standing.tag, ODD_LOSS, why, moment(rate.known_at), sure, about_l=more_l)


def is_sure_leak(leak: Leak) -> bool:
    """Return True if visits agree on a leak, surely enough to show it, or did and none has shown it over."""
    return leak.sure >= SURE_ENOUGH


def is_odd_visit(leak: Leak) -> bool:
    """Return True if the last visit is too much to be chance, whether it was a leak or a slip."""
    return leak.probability + leak.odd >= ODD_ENOUGH and leak.lost_ml > leak.expected_ml


def _monthly(ml_per_day: float, units: Units) -> str:
    return show(Quantity.VOLUME, round(ml_per_day * 30), units)


def _how_sure(leak: Leak) -> str:
    if leak.probability >= SURE_ENOUGH:
        return sure_words(leak.probability)
    return f"{sure_words(leak.held)} before the last visits, which do not show it sound"
