"""How sure the figures of several vessels are together: what the errors of one have in common with those of others.

A reading errs with its instrument, which errs alike on every vessel, and on its own. A figure that came with the mead
errs with the reading it came from, as do the other vessels filled from there. What is usual is learned once for all,
and what sulphite has done since it was read goes by the lot and by the season. So the errors of n figures have the
covariance F F' + diag(own): one column of F for each common error, one row a vessel (JCGM 100:2008, F.1.2.3: quantities
that were got with one instrument are correlated by its own uncertainty).

Approximate: errors of different properties are taken for independent; a mixture of several readings is as doubtful as
one of them; which reading a figure came from is judged by its lot and the day since which it is known, which
toppings move by days.
"""

from collections.abc import Iterator, Sequence
from math import exp
from typing import NamedTuple

import numpy as np

from cooperage.book import Standing
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.course import Course
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.ageing.learning import WhatIsUsual
from cooperage.programme.ageing.models import AGEINGS
from cooperage.programme.ageing.side_by_side import Floats
from cooperage.programme.ageing.trails import known_at, ordinary_doubt

OF_INSTRUMENT = 0.7
"""Part of a reading's variance that all readings with its instrument have in common.

That of volatile acidity is 1 - (0.7/1.3)^2 = 0.71 between laboratories, by repeatability and reproducibility in meq/L
(OIV-MA-AS313-02). What holds for one cellar's instruments, and for other properties: common practice, no source.
"""
OF_LOT, OF_SEASON = 0.5, 0.25
"""Parts of what time, doses and rackings have made doubtful since a reading of sulphite that all vessels of a lot, and
all of the cellar, have in common: a lot binds alike, a warm season takes from all (common practice, no source)."""
_ONE_READING_DAYS = 14.0  # known since moments no farther apart: from one reading (common practice, no source)
_SOME = 0.01  # of a vessel's litres: less of a lot does not show where a figure comes from


class Doubts(NamedTuple):
    """How sure the figures of n vessels are, in the property's unit; NaN where a figure is unknown.

    `sd`, of shape (n,), is one standard deviation of each. `common`, of shape (n, k), is how far one standard deviation
    of each common error moves each figure, and `again` how far it would move another reading of the vessel, which errs
    by `noise` on its own besides.
    """

    sd: Floats
    common: Floats
    again: Floats
    noise: float


class CarriedOn(NamedTuple):
    """What ageing has left of n figures: one standard deviation, rate (see `models`), and how common errors move them.

    `usual`, of shape (n, p), is how far one standard deviation of what is usual moves each. `scale` is how large the
    errors of readings are against what they claim, `claimed` the part of that square that is still their claim.
    """

    sd: Floats
    rate: Floats
    usual: Floats
    scale: float
    claimed: float

    def alone(self, variance: Floats, stated: Floats | float) -> Floats:
        """Return the part of a figure's variance that its readings do not have in common, as sure as was `stated`.

        What readings claim is all of their doubt; what they have shown among themselves is their own part, since an
        instrument errs alike on all of them. So its part goes out of what is claimed, and comes on top of what is
        shown. Of figures that many readings agree on, their own part is left.
        """
        part = self.claimed * OF_INSTRUMENT
        return np.maximum(variance - part * np.asarray(stated) ** 2, (1 - min(1.0, part / self.scale**2)) * variance)


def doubts_of(
    standings: Sequence[Standing], courses: Sequence[Course | None], experience: Experience, usual: WhatIsUsual
) -> Doubts:
    """Return how sure the figures of some vessels are together; their courses are None where they are unknown."""
    name, is_aged = experience.name, not experience.is_set_aside
    sd = np.array([course.after(0.0)[1] if course else np.nan for course in courses])
    rate = np.array([course.rate if course and is_aged else -np.inf for course in courses])
    moves = usual.moves(standings, name) if is_aged else np.zeros((len(standings), 0))
    return _together(standings, name, CarriedOn(sd, rate, moves, experience.scale, usual.claimed))


def _together(standings: Sequence[Standing], name: str, carried: CarriedOn) -> Doubts:
    ordinary, lots = ordinary_doubt(name), _by_lot(standings)
    noise = float(carried.alone(np.array((carried.scale * ordinary) ** 2), ordinary)) ** 0.5
    left = np.array([_left(standing, name, rate) for standing, rate in zip(standings, carried.rate, strict=True)])
    stated = np.array([_stated(standing, name) for standing in standings])
    method = OF_INSTRUMENT**0.5 * _by_method(standings, name)
    settled = carried.sd**2 - (carried.usual**2).sum(axis=1)
    gain = np.clip(settled / (carried.scale * stated) ** 2, 0.0, 1.0)
    # Its own error goes along when a reading's mead does; what has grown since the reading goes by lot and season.
    came = (noise * left)[:, None] * _one_reading(standings, name, lots, gain)
    grown = np.maximum(settled - (carried.scale * left * stated) ** 2, 0.0) * AGEINGS[name].fades
    since = np.sqrt(grown)[:, None] * np.hstack([OF_LOT**0.5 * lots, np.full((len(lots), 1), OF_SEASON**0.5)])
    shared = np.hstack([came, since])
    alone = np.maximum(carried.alone(settled, left * stated) - (shared**2).sum(axis=1), 0.0)
    common = np.hstack([method * (left * stated)[:, None], shared, carried.usual])
    again = np.zeros_like(common)
    again[:, : method.shape[1]] = method * ordinary
    unknown = np.isnan(carried.sd)
    common[unknown] = 0.0
    sd = np.where(unknown, np.nan, np.sqrt(alone + (common**2).sum(axis=1)))
    moves_some = common.any(axis=0)
    return Doubts(sd, common[:, moves_some], again[:, moves_some], noise)


def _left(standing: Standing, name: str, rate: float) -> float:
    """Return what is left now of an error of the reading that a figure comes from: what fades, fades with its error."""
    if not AGEINGS[name].fades:
        return 1.0
    read = standing.state.reads.get(name)
    since = known_at(standing, name) if read is None else read.at
    return exp(-exp(min(rate, 0.0)) * max(0.0, (standing.at.timestamp() - since) / DAY))


def _stated(standing: Standing, name: str) -> float:
    """Return how sure the last reading was said to be, one standard deviation."""
    read = standing.state.reads.get(name)
    return ordinary_doubt(name) if read is None else max(read.uncertainty, 0.01 * ordinary_doubt(name))


def _by_method(standings: Sequence[Standing], name: str) -> Floats:
    """Return a column of ones and zeros for each method: which figures were read by it.

    A reading without a method is by the only one named, if there is just one.
    """
    reads = [standing.state.reads.get(name) for standing in standings]
    given = ["" if read is None else read.method.strip().casefold() for read in reads]
    named = sorted(set(given) - {""})
    usual = named[0] if len(named) == 1 else ""
    columns = dict.fromkeys(method or usual for method in given)
    return np.array([[float((method or usual) == column) for column in columns] for method in given])


def _by_lot(standings: Sequence[Standing]) -> Floats:
    """Return a column for each lot: its part of each vessel's mead."""
    lots = {origin for standing in standings for origin in standing.state.contents.origins if _is_lot(standing, origin)}
    shares = [
        [standing.state.contents.origins.get(lot, 0.0) / standing.ml for lot in sorted(lots)] for standing in standings
    ]
    return np.array(shares, dtype=np.float64).reshape(len(standings), len(lots))


def _is_lot(standing: Standing, origin: str) -> bool:
    return origin in standing.lots_by_id


def _one_reading(standings: Sequence[Standing], name: str, lots: Floats, gain: Floats) -> Floats:
    """Return the part of each figure that comes from a reading which others come from too, a column for each reading.

    Where one other vessel alone is known since then, it is the source, which shares as much as its last reading
    counted, its `gain`.
    """
    since = np.array([known_at(standing, name) / DAY for standing in standings])
    has_come = np.array([_has_come(standing, name) for standing in standings])
    columns = [np.zeros((len(standings), 0))]
    for shares in lots.T:
        is_of_lot = shares > _SOME
        for came in _known_together(since, np.flatnonzero(is_of_lot & has_come).tolist()):
            near = [at for at in np.flatnonzero(is_of_lot & ~has_come) if _is_near(since, int(at), came)]
            column = np.zeros((len(standings), 1))
            column[came, 0] = shares[came]
            if len(near) == 1:
                column[near, 0] = shares[near] * gain[near]
            if np.count_nonzero(column) > 1:
                columns.append(column)
    return np.hstack(columns)


def _is_near(since: Floats, at: int, came: list[int]) -> bool:
    return bool((np.abs(since[came] - since[at]) <= _ONE_READING_DAYS).any())


def _known_together(since: Floats, places: list[int]) -> Iterator[list[int]]:
    """Yield the places of figures that are known since about the same moment [days]."""
    together: list[int] = []
    for at in sorted(places, key=since.__getitem__):
        if together and since[at] - since[together[-1]] > _ONE_READING_DAYS:
            yield together
            together = []
        together.append(at)
    if together:
        yield together


def _has_come(standing: Standing, name: str) -> bool:
    """Return True if a figure came with the mead and nothing has been read since."""
    filled = standing.state.filled_at
    return name not in standing.state.reads and filled is not None and known_at(standing, name) < filled
