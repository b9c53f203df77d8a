"""What barrels would usually have lost in a time, from their own history pooled with their peers': the norm."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from statistics import NormalDist
from typing import NamedTuple

from cooperage.book import Cellar
from cooperage.book.declared.places import Outside
from cooperage.book.replay.state import DAY
from cooperage.programme.losses.ledger import grouping_named
from cooperage.programme.losses.level import BAND, expected_loss
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.losses.stays import Stay, Stays
from cooperage.units import next_month

_DEVIATIONS = NormalDist().inv_cdf(0.5 + BAND / 2)


class UsualLoss(NamedTuple):
    """What is usually lost [ml], and how far on either side of it 90 times of 100 lie [ml]."""

    ml: int
    reach_ml: int

    @property
    def low(self) -> int:
        """The least of the band [ml], no less than nothing."""
        return max(0, self.ml - self.reach_ml)

    @property
    def high(self) -> int:
        """The most of the band [ml]."""
        return self.ml + self.reach_ml


def usual_by(
    cellar: Cellar,
    spent: Stays,
    rates: Mapping[str, LossRate],
    by: str,
    since: datetime | None = None,
    until: datetime | None = None,
) -> dict[str, int]:
    """Sum what barrels usually lose [ml] while they hold mead, by a grouping of `losses_by`; raises UnknownGrouping.

    Only barrels with a rate count, so those that have left the programme do not. A barrel that leaks is held against
    its peers. By cause, all of it stands under evaporated.
    """
    return {what: usual.ml for what, usual in usual_bands(cellar, spent, rates, by, since, until).items()}


def usual_bands(
    cellar: Cellar,
    spent: Stays,
    rates: Mapping[str, LossRate],
    by: str,
    since: datetime | None = None,
    until: datetime | None = None,
) -> dict[str, UsualLoss]:
    """Sum what barrels usually lose likewise, each sum with its band: as if each barrel erred by itself."""
    group = grouping_named(by)
    began = 0.0 if since is None else since.timestamp()
    ended = (until or cellar.at).timestamp()
    summed: dict[str, float] = defaultdict(float)
    variances: dict[str, float] = defaultdict(float)
    for stay in spent:
        rate = rates.get(stay.tag)
        if rate is not None:
            for part in _parts(stay.within(began, ended), by):
                at = datetime.fromtimestamp(part.began, UTC)
                what = Outside.EVAPORATED.value if by == "cause" else group(cellar[stay.tag], at, stay)
                lost, sd = expected_loss(sound(rate), part.began, part.ended)
                summed[what] += lost
                variances[what] += sd**2
    return {what: UsualLoss(round(ml), round(_DEVIATIONS * variances[what] ** 0.5)) for what, ml in summed.items()}


def usual_so_far(cellar: Cellar, rates: Mapping[str, LossRate], since: datetime) -> UsualLoss:
    """Sum what the barrels that hold mead now usually lose since a moment, or since their fill began if that is later.

    A barrel that leaks is held against its peers. Errors of rates and visits are each barrel's own; a season that was
    otherwise is all of them at once, so those errors add up.
    """
    lost = own = seasons = 0.0
    for standing in cellar.barrels:
        rate, filled = rates.get(standing.tag), standing.state.filled_at
        if rate is None or filled is None or standing.ml == 0:
            continue
        peer, began = sound(rate), max(since.timestamp(), filled)
        ended = cellar.at.timestamp()
        ml, sd = expected_loss(peer, began, ended)
        season = peer.season.doubt(began, ended) * peer.ml_per_day * max(0.0, ended - began) / DAY
        lost, own, seasons = lost + ml, own + max(0.0, sd**2 - season**2), seasons + season
    return UsualLoss(round(lost), round(_DEVIATIONS * (own + seasons**2) ** 0.5))


def sound(rate: LossRate) -> LossRate:
    """Return the rate a barrel would have without its leak."""
    is_leaking = rate.leak is not None and rate.leak.is_likely
    return replace(rate, ml_per_day=rate.peers_ml_per_day) if is_leaking else rate


def _parts(stay: Stay, by: str) -> Iterator[Stay]:
    """Cut a stay where a month ends, if the grouping is by month."""
    began = stay.began
    while by == "month" and (ends := _next_month(began)) < stay.ended:
        yield stay.within(began, ends)
        began = ends
    if stay.ended > began:
        yield stay.within(began, stay.ended)


def _next_month(moment: float) -> float:
    return next_month(datetime.fromtimestamp(moment, UTC)).timestamp()
