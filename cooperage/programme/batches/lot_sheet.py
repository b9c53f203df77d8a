"""All of a lot in one place: honey, batch, fermentation with its curve, status, and its figures over the vessels."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cooperage.book import Book, Cellar, Lot
from cooperage.book.errors import NoSuchLot
from cooperage.book.lots import LotNow, lots_now
from cooperage.programme.batches.curve import ENDED, Banded, FermentCurve, Habit, habit_of
from cooperage.programme.batches.gravities import Stuck, stands_still
from cooperage.programme.batches.kept import standing_batches, standing_honeys, used_grams
from cooperage.programme.batches.must import can_end
from cooperage.programme.batches.nitrogen import nitrogen_given, nitrogen_need
from cooperage.programme.batches.past import PastEnd, PastFerment, end_of, original_of, past_ends, past_ferments
from cooperage.programme.batches.readings import Fermented, fermentation_of
from cooperage.programme.batches.sheet import Batch, Honey
from cooperage.programme.batches.spread import VesselSpread, spread_of
from cooperage.programme.batches.status import LotStatus, status_of

_DAY = timedelta(days=1)
_QUIET_DAYS = 60


@dataclass(frozen=True, slots=True)
class FermentCourse:
    """How a fermentation goes on: its end [SG] and the day of it since the pitching, each with its bands.

    `habit` is what was expected before it was read; `stuck` is set where it stands still, `has_ended` where its last
    gravity lies as low as the curve ends. `past` are the cellar's other ends, each with how its forecast did; none are
    given where it has ended.
    """

    curve: FermentCurve
    end: Banded
    end_day: Banded
    habit: Habit
    stuck: Stuck | None
    has_ended: bool
    past: tuple[PastEnd, ...] = ()


@dataclass(frozen=True, slots=True)
class LotSheet:
    """All of a lot. `original` is the gravity it began with as typed or first read, None where neither is known.

    `honeys` are those of its batch as they stand, in its sequence. `nitrogen_need` and `nitrogen_given` [mg/L] are None
    where unknown; `honey_cost` is what its honey cost, None where the price of one is not known. `wood_ml` is how much
    of it lies in barrels.
    """

    lot: Lot
    now: LotNow
    status: LotStatus
    batch: Batch | None
    honeys: tuple[Honey, ...]
    fermented: Fermented
    original: float | None
    course: FermentCourse | None
    nitrogen_need: float | None
    nitrogen_given: float | None
    honey_cost: float | None
    spread: tuple[VesselSpread, ...]
    wood_ml: int = 0


def lot_sheet(book: Book, cellar: Cellar, code: str) -> LotSheet:
    """Return all of a lot by its code, in any case; raises NoSuchLot. `cellar` is the cellar now."""
    with book.reading() as connection:
        batches, honeys = standing_batches(connection), standing_honeys(connection)
        wanted = next((each for each in lots_now(cellar) if each.lot.code.upper() == code.strip().upper()), None)
        if wanted is None:
            raise NoSuchLot(code, [each.lot.code for each in lots_now(cellar)])
        fermented = fermentation_of(connection, wanted.lot)
        others = [lot for lot in cellar.lots.values() if lot.code != wanted.lot.code]
        past = past_ferments(connection, others, batches) if fermented.gravities else []
    return _sheet(wanted, cellar, batches.get(wanted.lot.code), honeys, fermented, past)


def _sheet(
    now: LotNow,
    cellar: Cellar,
    batch: Batch | None,
    honeys: Mapping[str, Honey],
    fermented: Fermented,
    past: Sequence[PastFerment],
) -> LotSheet:
    original = original_of(now.lot, fermented)
    course = _course(now.lot, batch, fermented, original, past, cellar.at)
    status = _status(now, cellar, batch, fermented, course)
    in_it = tuple(honeys[each.code.upper()] for each in batch.honeys) if batch is not None else ()
    return LotSheet(
        now.lot,
        now,
        status,
        batch,
        in_it,
        fermented,
        original,
        course,
        _need(batch, original),
        nitrogen_given(fermented.given, batch.nutrient_n, fermented.received_ml / 1000) if batch is not None else None,
        _honey_cost(batch, in_it),
        tuple(spread_of(now, cellar)),
        sum(each.ml for each in now.holdings if cellar[each.vessel].vessel.is_barrel),
    )


def _status(
    now: LotNow, cellar: Cellar, batch: Batch | None, fermented: Fermented, course: FermentCourse | None
) -> LotStatus:
    ferments = (
        _is_unread(now.lot, batch, fermented, cellar.at)
        if course is None
        else (not course.has_ended and _is_recent(fermented, cellar.at))
    )
    return status_of(now, cellar, was_received=bool(fermented.received_ml), ferments=ferments)


def _need(batch: Batch | None, original: float | None) -> float | None:
    sg = original if original is not None else batch.target_sg if batch is not None else None
    if sg is None or not can_end(sg):
        return None
    from cooperage.liquid import brix_from_sg

    return nitrogen_need(float(brix_from_sg(sg)))


def _honey_cost(batch: Batch | None, honeys: Iterable[Honey]) -> float | None:
    if batch is None or not batch.honeys:
        return None
    total = 0.0
    for used, honey in zip(batch.honeys, honeys, strict=True):
        if honey.price_per_kg is None:
            return None
        total += used.grams / 1000 * honey.price_per_kg
    return total


# --- the curve --------------------------------------------------------------------------------------------------------


def _course(
    lot: Lot,
    batch: Batch | None,
    fermented: Fermented,
    original: float | None,
    past: Sequence[PastFerment],
    at: datetime,
) -> FermentCourse | None:
    """Return how it goes on; None without a first gravity, or where no gravity was read after it."""
    took = fermented.took()
    began = fermented.began
    if original is None or not can_end(original) or began is None or not any(each.day > 0 for each in took):
        return None
    end = end_of(batch, original)
    habit = habit_of([each.came for each in past])
    curve = FermentCurve(original, took, end, habit)
    last = curve.end()
    stuck = None if lot.finished_on is not None else stands_still(took, original, end, (at - began) / _DAY)
    has_ended = lot.finished_on is not None or (stuck is None and took[-1].sg <= last.middle + ENDED)
    scored = () if has_ended else tuple(past_ends(past))
    return FermentCourse(curve, last, curve.end_day(), habit, stuck, has_ended, scored)


def _is_unread(lot: Lot, batch: Batch | None, fermented: Fermented, at: datetime) -> bool:
    """Return True for a must of a batch that came lately and was not read yet: it may ferment."""
    began = fermented.began
    return batch is not None and lot.finished_on is None and began is not None and at - began < _QUIET_DAYS * _DAY


def _is_recent(fermented: Fermented, at: datetime) -> bool:
    return at - fermented.gravities[-1].at < _QUIET_DAYS * _DAY


# --- the list ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class HoneyNow:
    """A honey as it stands, and how much of it the batches have [g]."""

    honey: Honey
    used: int

    @property
    def left(self) -> int:
        """What is left of it [g]."""
        return self.honey.grams - self.used


def honeys_now(book: Book) -> list[HoneyNow]:
    """List the honeys that stand with what the batches have of each, in order of code."""
    with book.reading() as connection:
        used = used_grams(standing_batches(connection).values())
        return [HoneyNow(each, used.get(code, 0)) for code, each in standing_honeys(connection).items()]


def lot_statuses(book: Book, cellar: Cellar) -> dict[str, LotStatus]:
    """Return how far each lot has come, by its code; fermentations are read of those alone that may still ferment."""
    with book.reading() as connection:
        batches, found = standing_batches(connection), {}
        for each in lots_now(cellar):
            status = status_of(each, cellar, was_received=True, ferments=True)
            if status in (LotStatus.FERMENTING, LotStatus.BOTTLED):
                fermented = fermentation_of(connection, each.lot)
                lot, batch = each.lot, batches.get(each.lot.code)
                course = _course(lot, batch, fermented, original_of(lot, fermented), (), cellar.at)
                status = _status(each, cellar, batch, fermented, course)
            found[each.lot.code] = status
    return found


def lot_sheets(book: Book, cellar: Cellar) -> list[LotSheet]:
    """Return all of every lot, in order of code."""
    with book.reading() as connection:
        batches, honeys = standing_batches(connection), standing_honeys(connection)
        known = [(each, fermentation_of(connection, each.lot)) for each in lots_now(cellar)]
    return [_sheet(each, cellar, batches.get(each.lot.code), honeys, fermented, ()) for each, fermented in known]
