"""Each barrel's loss rate: its own visits, lent the experience of barrels like it.

The rate is calculated per square metre of wood, since it is the wood that lets the mead out; so large and small barrels
can be compared. It is learnt in these steps, none of which needs more than a straight fit:

1. Visits in new wood's first weeks are soak, and are left out (they are recorded as such).
2. The room's season and spells are taken out (`season`, or what a first year has shown of it, `first_year`), so that a
   hot summer is not mistaken for leaking barrels.
3. A barrel's own rate is all it lost over all it was exposed. Errors of single levels cancel between visits, because
   what one topping left short the next one finds; only the first and the last level count in full.
4. Its peers' rate is a weighted straight fit over room, wood, size and age of the barrel, as far as the cellar has
   barrels to separate them. Barrels that are far out of line are left out of it.
5. The two are weighed by their variances (`pooling`, Fay and Herriot 1979). A barrel that leaks (`leaks`) keeps the
   rate it has shown since it began, whatever its peers do, and no rate is moved by more than two standard errors
   (limited translation; Efron and Morris (1972), J. Am. Stat. Assoc. 67, 130-139).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.air.harmonic import mean_multiples
from cooperage.programme.air.season import NO_SEASON, Season
from cooperage.programme.losses.leaks import BarrelVisits, Peers, weigh_accounts
from cooperage.programme.losses.loss_rate import Leak, Noise
from cooperage.programme.losses.noise import LEAST, LEAST_TO_COME, LEAST_VISITS, jug_step, learn_noise, visited
from cooperage.programme.losses.peers import LEAST_SPREAD, PeerRate, peers_of
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.room_effects import Room, rooms_of
from cooperage.programme.losses.worth_a_look import are_worth_a_look

Floats = NDArray[np.float64]

_MOST_MOVED = 2.0
# Visits' worth of trust that a barrel's scatter is like the cellar's: Smyth (2004), Stat. Appl. Genet. Mol. Biol. 3, 3.
_MODERATION = 8.0


@dataclass(frozen=True)
class BarrelRate:
    """A barrel's rate [ml/(m2 day), mean of the year] and one standard deviation, its own and its peers' beside it.

    `noise` is how a visit to come will scatter: its room's spells are part of that, since no one knows them ahead.
    """

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
    """A barrel's visits as arrays, its exposures [m2 day] with season and spells or the season alone, its own rate."""

    lost: Floats
    began: Floats
    ended: Floats
    exposure: Floats
    seasonal: Floats
    area_m2: float
    steps: Floats
    room: str
    looked_at: float

    @cached_property
    def days(self) -> float:
        return float((self.ended - self.began).sum() / 86_400)

    @property
    def visited(self) -> BarrelVisits:
        """The same as a leak is looked for in it."""
        return BarrelVisits(self.lost, self.exposure, self.began, self.ended, self.steps, self.flat)

    @cached_property
    def flat(self) -> Floats:
        """Exposures [m2 day] without season or spells, which a leak does not know."""
        return np.asarray(self.area_m2 * (self.ended - self.began) / 86_400)

    @cached_property
    def rate(self) -> float:
        return float(self.lost.sum() / self.exposure.sum())

    def spread(self, noise: Noise, typical: float) -> Floats:
        """Variance of each visit; the typical rate sets the noise, so that a high rate is not a noisy one."""
        return noise.variance(typical * self.exposure, self.steps)

    def variance(self, noise: Noise, spread: Floats) -> float:
        """Sampling variance of the rate, from that of its visits; the level between two of them cancels."""
        followed = np.count_nonzero(self.began[1:] == self.ended[:-1])
        return float(spread.sum() - 2 * followed * noise.level_ml**2) / float(self.exposure.sum()) ** 2

    def scatter(self, spread: Floats) -> float:
        """How much more or less than the cellar's noise this barrel's visits scatter, moderated (1 is the same)."""
        squares = float(((self.lost - self.rate * self.exposure) ** 2 / spread).sum())
        return (_MODERATION + squares) / (_MODERATION + len(self.lost) - 1)

    def leaking(self, first: int) -> "_Own":
        """The same from one visit on, and without the season."""
        began, ended = self.began[first:], self.ended[first:]
        flat = self.flat[first:]
        return _Own(
            self.lost[first:], began, ended, flat, flat, self.area_m2, self.steps[first:], self.room, self.looked_at
        )


def estimate_rates(records: Sequence[VisitRecord], by_air: Mapping[str, Season] | None = None) -> dict[str, BarrelRate]:
    """Estimate every barrel's loss rate; a barrel without visits of its own gets its peers'. Empty without any visits.

    `by_air` is the season that each room's air makes, for rooms whose barrels have not shown one yet.
    """
    if not records:
        return {}
    rooms, steps = rooms_of(records, by_air), _steps(records)
    own = {record.tag: made for record in records if (made := _own(record, rooms[record.room], steps)) is not None}
    if not own:
        return {}
    noise, typical = _noise(own.values()), _typical(own.values())
    spreads = {tag: each.spread(noise, typical) for tag, each in own.items()}
    shown = {tag: (each.rate, each.variance(noise, spreads[tag])) for tag, each in own.items()}
    peers = peers_of(records, shown, typical)
    leaks, coming = _leaks(own, peers, noise), _noise_to_come(own, rooms, noise)
    found = {}
    for record in records:
        tag, room = record.tag, record.room
        ahead = _Ahead(coming[room], rooms[room].season)
        if tag not in own:
            found[tag] = _of_peers(peers[tag], ahead)
            continue
        leak = leaks.get(tag)
        if leak is not None and leak.is_likely:
            found[tag] = _leaking_rate(own[tag], peers[tag], leak, noise, ahead)
        else:
            variance = shown[tag][1] * own[tag].scatter(spreads[tag])
            found[tag] = _sound_rate(own[tag], peers[tag], leak, variance, ahead)
    return found


def _steps(records: Sequence[VisitRecord]) -> dict[str | None, float]:
    """Return the step of the jug at each keg [ml]: its own, or that of all where it was too seldom topped from."""
    poured: dict[str | None, list[float]] = defaultdict(list)
    for record in records:
        for visit in record.settled:
            if (keg := visit.keg) is not None:
                poured[keg].append(visit.lost_ml if visit.poured_ml is None else visit.poured_ml)
    every = jug_step(np.array([ml for each in poured.values() for ml in each]))
    return {None: 0.0} | {keg: jug_step(np.array(each)) or every for keg, each in poured.items()}


def _own(record: VisitRecord, room: Room, steps: Mapping[str | None, float]) -> _Own | None:
    if not record.has_enough_visits:
        return None
    lost, began, ended = record.columns
    seasonal = record.area_m2 * (ended - began) / 86_400 * mean_multiples(room.season, began, ended)
    exposure, of_jug = seasonal * room.spell(began, ended), np.array([steps[keg] for keg in record.kegs])
    return _Own(lost, began, ended, exposure, seasonal, record.area_m2, of_jug, record.room, record.looked_at)


def _typical(own: Iterable[_Own]) -> float:
    typical = median(each.rate for each in own)
    return typical if typical > 0 else 1.0


def _noise(own: Iterable[_Own], *, spells: bool = True) -> Noise:
    """Learn the noise of visits with their rooms' spells taken out, or left in as for visits to come."""
    known = [each for each in own if len(each.lost) >= LEAST_VISITS]
    return learn_noise(
        [
            visited(each.lost, each.exposure if spells else each.seasonal, each.began, each.ended, each.steps)
            for each in known
        ],
        LEAST if spells else LEAST_TO_COME,
    )


@dataclass(frozen=True, slots=True)
class _Ahead:
    """How visits to come will scatter in a room, and its season."""

    noise: Noise
    season: Season

    def noise_of(self, own: _Own) -> Noise:
        """The same for the jug that a barrel was last topped from."""
        return Noise(self.noise.level_ml, self.noise.share, self.noise.rounding, float(own.steps[-1]))


def _noise_to_come(own: Mapping[str, _Own], rooms: Mapping[str, Room], noise: Noise) -> dict[str, Noise]:
    """Count spells as noise of the visits to come; where nothing was seen of a season, that has its own doubt."""
    seen = {name for name, room in rooms.items() if room.season.is_known or room.season.spread is not None}
    coming = _noise([each for each in own.values() if each.room in seen], spells=False)
    return {name: coming if name in seen else noise for name in rooms}


def _leaks(own: Mapping[str, _Own], peers: Mapping[str, PeerRate], noise: Noise) -> dict[str, Leak | None]:
    """Look for a leak in each barrel's visits, held against its peers without itself."""
    others = [peers[tag].others or peers[tag] for tag in own]
    among = [Peers(each.rate, max(each.spread, (LEAST_SPREAD * each.rate) ** 2)) for each in others]
    seen = [each.visited for each in own.values()]
    worth = are_worth_a_look(seen, among, noise).tolist()
    return {
        tag: weigh_accounts(seen[nth], among[nth], noise, own[tag].looked_at)
        for nth, tag in enumerate(own)
        if worth[nth]
    }


def _of_peers(like: PeerRate, ahead: _Ahead) -> BarrelRate:
    """Lend a barrel without enough visits of its own what its peers lose."""
    sd = like.spread**0.5
    return BarrelRate(like.rate, sd, None, None, like.rate, sd, 0.0, 0, None, ahead.noise, ahead.season)


def _leaking_rate(own: _Own, like: PeerRate, leak: Leak, noise: Noise, ahead: _Ahead) -> BarrelRate:
    """Return what a barrel has lost since it leaks, whatever its peers do and the season."""
    shown = own.leaking(leak.from_visit)
    sd = shown.variance(noise, shown.spread(noise, shown.rate)) ** 0.5
    known = (like.rate, like.spread**0.5, shown.days, len(shown.lost), leak, ahead.noise_of(own), NO_SEASON)
    return BarrelRate(shown.rate, sd, shown.rate, sd, *known)


def _sound_rate(own: _Own, like: PeerRate, leak: Leak | None, variance: float, ahead: _Ahead) -> BarrelRate:
    """Return a barrel's own rate, lent its peers' by the variance of its own."""
    rate, sd = _weighed(own.rate, variance, like)
    known = (like.rate, like.spread**0.5, own.days, len(own.lost), leak, ahead.noise_of(own), ahead.season)
    return BarrelRate(rate, sd, own.rate, variance**0.5, *known)


def _weighed(rate: float, variance: float, like: PeerRate) -> tuple[float, float]:
    """Weigh a barrel's own rate against its peers', the move limited to some of its own standard errors."""
    if not np.isfinite(like.between):  # too few barrels to learn from
        return rate, variance**0.5
    between = max(like.between, (0.05 * like.rate) ** 2)
    noise = variance / (variance + between)
    weighed = (1 - noise) * rate + noise * like.rate
    reach = _MOST_MOVED * variance**0.5
    sd = (variance * (1 - noise) + noise**2 * like.fit_variance) ** 0.5
    return float(np.clip(weighed, rate - reach, rate + reach)), sd
