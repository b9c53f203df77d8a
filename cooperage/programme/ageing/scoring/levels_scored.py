"""Levels forecast and found: what each visit found missing, held against what was expected then and against last time.

What is usual is learned again every four weeks, each time from the book as it stood then, so that nothing looks ahead.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from cooperage.book import Book, Standing
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.scoring.scored import ForecastOutcome
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import expected_loss
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.visits import LossVisit, visits

LEVEL = "level"
"""The name under which levels are scored; their unit is ml."""
_LEARN_AGAIN = timedelta(days=28)


def level_outcomes(book: Book) -> list[ForecastOutcome]:
    """List what came of every forecast of what a barrel would be short by at its next visit [ml], oldest first.

    Left out are the first visit of a fill, which has no last time, visits in which new wood still soaked, and barrels
    of which no rate had been learned.
    """
    cellar = book.cellar()
    pairs = [
        (last, visit, cellar[tag])
        for tag, seen in visits(book, cellar).items()
        for last, visit in _followed(cellar[tag], seen)
    ]
    pairs.sort(key=lambda pair: (pair[1].ended, pair[2].tag))
    found: list[ForecastOutcome] = []
    rates: Mapping[str, LossRate] = {}
    learned_at = 0.0
    for last, visit, standing in pairs:
        if visit.ended - learned_at >= _LEARN_AGAIN.total_seconds():
            learned_at = visit.ended - 1.0
            rates = loss_rates(book, book.cellar(datetime.fromtimestamp(learned_at, UTC)))
        if standing.tag in rates:
            found.append(_outcome(last, visit, standing, rates[standing.tag]))
    return found


def _followed(standing: Standing, seen: list[LossVisit]) -> Iterator[tuple[LossVisit, LossVisit]]:
    """Yield each settled visit with the one before it, in the same fill and room."""
    soaks = standing.vessel.barrel is not None and standing.vessel.barrel.fills_before == 0
    settled = VisitRecord(standing.tag, 0.0, "", "", 0.0, None, seen, soaks=soaks).settled
    for last, visit in pairwise(settled):
        if (last.filled_at, last.room) == (visit.filled_at, visit.room):
            yield last, visit


def _outcome(last: LossVisit, visit: LossVisit, standing: Standing, rate: LossRate) -> ForecastOutcome:
    lost, sd = expected_loss(rate, visit.began, visit.ended)
    capacity = float(standing.vessel.capacity_ml)
    as_last = last.lost_ml / last.days * visit.days
    at = datetime.fromtimestamp(visit.ended, UTC)
    levels = (capacity - lost, sd, capacity - visit.lost_ml, capacity - as_last)
    return ForecastOutcome(LEVEL, standing.tag, at, (visit.ended - visit.began) / DAY, *levels)
