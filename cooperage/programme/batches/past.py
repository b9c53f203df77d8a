"""The cellar's own fermentations that ended: what they came to, and how the forecasts of their ends would have done."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection

from cooperage.book import Lot
from cooperage.programme.batches.curve import ENDED, Came, FermentCurve, habit_of
from cooperage.programme.batches.gravities import Normal, Took
from cooperage.programme.batches.must import can_end, expected_end
from cooperage.programme.batches.readings import Fermented, fermentation_of
from cooperage.programme.batches.sheet import Batch

FORECAST_DAY = 8.0
"""The day after pitching on which a past end is forecast again, by what had been read until then."""
_FEWEST = 4
_STANDS_DAYS, _STANDS, _MOST_OF_WAY = 7.0, 0.0015, 0.6  # [days], [SG], [share] (common practice, no source)
_MOST = 12  # of the latest: older ones matter less, and each takes its time to fit


@dataclass(frozen=True, slots=True)
class PastFerment:
    """A fermentation that ended: its lot, when it began, its readings after the pitching, and where it should end."""

    lot: str
    began: datetime
    finished: datetime
    original: float
    took: tuple[Took, ...]
    end: Normal
    came: Came

    @property
    def end_day(self) -> float:
        """The day on which it came as near its last gravity as `ENDED`, on straight lines between the readings."""
        wanted = self.took[-1].sg + ENDED
        before = Took(0.0, self.original)
        for each in self.took:
            if each.sg <= wanted:
                fell = before.sg - each.sg
                part = (before.sg - wanted) / fell if fell > 0.0 else 1.0
                return before.day + min(1.0, max(0.0, part)) * (each.day - before.day)
            before = each
        return self.took[-1].day


class PastEnd(NamedTuple):
    """A past end and its forecast: the lot, gravity [SG] and day as they came, and if the 80 % bands held them."""

    lot: str
    sg: float
    day: float
    is_sg_held: bool
    is_day_held: bool


def original_of(lot: Lot, fermented: Fermented) -> float | None:
    """Return the gravity a lot began with: as it was registered, else as it was first read on its first two days."""
    if lot.original_sg is not None:
        return lot.original_sg
    took = fermented.took()
    return took[0].sg if took and took[0].day < 2.0 else None


def end_of(batch: Batch | None, original: float) -> Normal:
    """Return where a must is expected to end [SG], by the yeast of its batch sheet where there is one."""
    end = expected_end(original, None if batch is None else batch.tolerance)
    return Normal(end.sg, end.sd)


def past_ferments(connection: Connection, lots: Iterable[Lot], batches: Mapping[str, Batch]) -> list[PastFerment]:
    """Return the fermentations of lots that have ended and were read often enough, the latest 12, oldest first."""
    read = [(lot, fermentation_of(connection, lot)) for lot in lots]
    ended = [(at, lot, fermented) for lot, fermented in read if (at := _ended(lot, fermented)) is not None]
    latest = sorted(ended, key=lambda each: (each[0], each[1].code))[-_MOST:]
    return [_came(lot, fermented, at, batches.get(lot.code)) for at, lot, fermented in latest]


def _ended(lot: Lot, fermented: Fermented) -> datetime | None:
    """Return when a fermentation ended, None where it has not or was read too seldom.

    It has on the day it was registered as finished; else once its gravity stood for a week after most of the way.
    """
    original, took = original_of(lot, fermented), [each for each in fermented.took() if each.day > 0]
    if original is None or fermented.began is None or not can_end(original) or len(took) < _FEWEST:
        return None
    if lot.finished_on is not None:
        return lot.finished_on
    last = took[-1]
    stood = [each for each in took if last.day - each.day >= _STANDS_DAYS]
    has_fallen = original - last.sg >= _MOST_OF_WAY * (original - end_of(None, original).mean)
    return fermented.gravities[-1].at if stood and has_fallen and stood[-1].sg - last.sg <= _STANDS else None


def _came(lot: Lot, fermented: Fermented, at: datetime, batch: Batch | None) -> PastFerment:
    original, took = original_of(lot, fermented), tuple(each for each in fermented.took() if each.day > 0)
    if original is None or fermented.began is None:
        raise ValueError(lot.code)  # `_ended` lets none pass
    end = end_of(batch, original)
    came = Came(FermentCurve(original, took, end).shape(), took[-1].sg - end.mean)
    return PastFerment(lot.code, fermented.began, at, original, took, end, came)


def past_ends(past: Sequence[PastFerment]) -> list[PastEnd]:
    """Forecast each past end again on its eighth day, by what was known then, and hold it against what came.

    What the cellar's own had come to is that of those which were finished before it began. One that was not read twice
    by then, or had ended already, is left out.
    """
    return [scored for each in past if (scored := _scored(each, past)) is not None]


def _scored(one: PastFerment, past: Sequence[PastFerment]) -> PastEnd | None:
    known = [each for each in one.took if each.day <= FORECAST_DAY]
    if len(known) < 2 or one.end_day <= known[-1].day:
        return None
    habit = habit_of([each.came for each in past if each.finished < one.began])
    curve = FermentCurve(one.original, known, one.end, habit)
    sg, day = one.took[-1].sg, one.end_day
    return PastEnd(one.lot, sg, day, curve.end().covers(sg, 80), curve.end_day().covers(day, 80))
