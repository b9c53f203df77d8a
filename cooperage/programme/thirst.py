"""Each barrel's thirst: its own visits, lent the experience of barrels like it.

The rate is reckoned per square metre of wood, since it is the wood that lets the mead out; so large and small barrels
can be compared. It is learnt in these steps, none of which needs more than a straight fit:

1. Visits in new wood's first weeks are soak, and are left out (they are told apart as such).
2. The room's season and spells are taken out (`season`), so that a hot summer is not mistaken for thirsty barrels.
3. A barrel's own rate is all it lost over all it was exposed. Errors of single levels cancel between visits, because
   what one topping left short the next one finds; only the first and the last level count in full.
4. Its peers' rate is a weighted straight fit over room, wood, size and age of the barrel, as far as the cellar has
   barrels to tell them apart. Barrels that are far out of line have no say in it.
5. The two are weighed by their variances (`pooling`, Fay and Herriot 1979). A barrel that leaks (`leaks`) keeps the
   rate it has shown since it began, whatever its peers do, and no rate is moved by more than two standard errors
   (limited translation; Efron and Morris (1972), J. Am. Stat. Assoc. 67, 130-139).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.leaks import USUAL_NOISE, Leak, Noise, Peers, find_leak
from cooperage.programme.peers import LEAST_SPREAD, Like, peers_of
from cooperage.programme.record import Record
from cooperage.programme.season import NO_SEASON, Season
from cooperage.programme.weather import Room, rooms_of

Floats = NDArray[np.float64]

_LEAST_LEVEL_ML, _LEAST_SHARE = 30.0, 0.05
_MOST_MOVED = 2.0
# Visits' worth of trust that a barrel's scatter is like the cellar's: Smyth (2004), Stat. Appl. Genet. Mol. Biol. 3, 3.
_MODERATION = 8.0
_SURE = 0.5


@dataclass(frozen=True)
class Thirst:
    """A barrel's rate [ml/(m2 day), mean of the year] and one standard deviation, its own and its peers' beside it."""

    rate: float
    sd: float
    own: float | None
    own_sd: float | None
    peers: float
    peers_sd: float
    days: float
    visits: int
    leak: Leak | None
    noise: Noise
    season: Season


@dataclass(frozen=True)
class _Own:
    """A barrel's visits as arrays, its exposures [m2 day] with the season in them, and its own rate."""

    lost: Floats
    began: Floats
    ended: Floats
    exposure: Floats
    area_m2: float

    @property
    def days(self) -> float:
        return float((self.ended - self.began).sum() / 86_400)

    @property
    def rate(self) -> float:
        return float(self.lost.sum() / self.exposure.sum())

    def variance(self, noise: Noise, typical: float) -> float:
        """Sampling variance of the rate; the typical rate sets the noise, so that a high rate is not a noisy one."""
        covariance = noise.covariance(typical * self.exposure, self.began, self.ended)
        return float(covariance.sum()) / float(self.exposure.sum()) ** 2

    def scatter(self, noise: Noise, typical: float) -> float:
        """How much more or less than the cellar's noise this barrel's visits scatter, moderated (1 is the same)."""
        spread = np.diag(noise.covariance(typical * self.exposure, self.began, self.ended))
        squares = float(((self.lost - self.rate * self.exposure) ** 2 / spread).sum())
        return (_MODERATION + squares) / (_MODERATION + len(self.lost) - 1)

    def leaking(self, first: int) -> "_Own":
        """The same from one visit on, and without the season, which a leak does not know."""
        began, ended = self.began[first:], self.ended[first:]
        return _Own(self.lost[first:], began, ended, self.area_m2 * (ended - began) / 86_400, self.area_m2)


def thirsts(records: Sequence[Record]) -> dict[str, Thirst]:
    """Estimate every barrel's thirst; a barrel without visits of its own gets its peers'. Empty without any visits."""
    if not records:
        return {}
    rooms = rooms_of(records)
    own = {record.tag: made for record in records if (made := _own(record, rooms[record.room])) is not None}
    if not own:
        return {}
    noise, typical = _noise(list(own.values()))
    shown = {tag: (each.rate, each.variance(noise, typical)) for tag, each in own.items()}
    peers = peers_of(records, shown, typical)
    return {
        record.tag: _thirst(own.get(record.tag), peers[record.tag], noise, typical, rooms[record.room].season)
        for record in records
    }


def _own(record: Record, room: Room) -> _Own | None:
    if not record.says_something:
        return None
    lost, began, ended = record.columns
    exposure = record.area_m2 * (ended - began) / 86_400 * room.factor(began, ended)
    return _Own(lost, began, ended, exposure, record.area_m2)


def _middling(own: _Own) -> float:
    """Return a barrel's rate so that a leak in part of its record does not pass for a season."""
    ordered = np.sort(own.lost / own.exposure)  # np.median takes ten times as long on so few
    middle = len(ordered) // 2
    return max(float(ordered[middle] + ordered[~middle]) / 2, 1e-9)


def _noise(own: Sequence[_Own]) -> tuple[Noise, float]:
    """Learn the cellar's noise from how visits scatter about their barrel's rate, and its typical rate."""
    typical = float(np.median([each.rate for each in own]))
    typical = typical if typical > 0 else 1.0
    residual, beside, expected = [], [], []
    for each in own:
        if len(each.lost) < 3:
            continue
        middling = _middling(each)
        r = each.lost - middling * each.exposure
        correct = (len(r) / (len(r) - 1)) ** 0.5
        residual.append(r * correct)
        expected.append(middling * each.exposure)
        beside.append(np.where(each.began[1:] == each.ended[:-1], r[1:] * r[:-1] * correct**2, np.nan))
    if not residual:
        return USUAL_NOISE, typical
    r, m, pairs = np.concatenate(residual), np.concatenate(expected), np.concatenate(beside)
    reach = 3 * 1.4826 * float(np.median(np.abs(r))) + _LEAST_LEVEL_ML
    keep = np.abs(r) <= reach
    near = pairs[np.isfinite(pairs) & (np.abs(pairs) <= reach**2)]
    level = max(_LEAST_LEVEL_ML, max(0.0, -float(near.mean()) if len(near) else 0.0) ** 0.5)
    share = max(0.0, float((r[keep] ** 2 - 2 * level**2).sum() / (m[keep] ** 2).sum())) ** 0.5
    return Noise(level, max(share, _LEAST_SHARE)), typical


def _thirst(own: _Own | None, like: Like, noise: Noise, typical: float, of_room: Season) -> Thirst:
    peers_sd = like.spread**0.5
    if own is None:
        return Thirst(like.rate, peers_sd, None, None, like.rate, peers_sd, 0.0, 0, None, noise, of_room)
    among = Peers(like.rate, max(like.spread, (LEAST_SPREAD * like.rate) ** 2))
    leak = find_leak(own.lost, own.exposure, own.began, own.ended, among, noise)
    is_leaking = leak is not None and leak.probability > _SURE
    if leak is not None and is_leaking:
        shown, of_room = own.leaking(leak.from_visit), NO_SEASON
    else:
        shown = own
    variance = shown.variance(noise, shown.rate if is_leaking else typical)
    if not is_leaking:
        variance *= shown.scatter(noise, typical)
    rate, sd = (shown.rate, variance**0.5) if is_leaking else _weighed(shown.rate, variance, like)
    return Thirst(
        rate, sd, shown.rate, variance**0.5, like.rate, peers_sd, shown.days, len(shown.lost), leak, noise, of_room
    )


def _weighed(rate: float, variance: float, like: Like) -> tuple[float, float]:
    """Weigh a barrel's own rate against its peers', the move limited to some of its own standard errors."""
    if not np.isfinite(like.between):  # too few barrels to learn from
        return rate, variance**0.5
    between = max(like.between, (0.05 * like.rate) ** 2)
    noise = variance / (variance + between)
    weighed = (1 - noise) * rate + noise * like.rate
    reach = _MOST_MOVED * variance**0.5
    sd = (variance * (1 - noise) + noise**2 * like.fit_variance) ** 0.5
    return float(np.clip(weighed, rate - reach, rate + reach)), sd
