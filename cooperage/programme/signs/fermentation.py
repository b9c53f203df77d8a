"""Signs of a fermentation that stands still, or is too warm or too cold for its yeast, by its batch sheet."""

from collections.abc import Iterator, Mapping

from cooperage.book import Book, Cellar, Standing
from cooperage.book.replay.rereads import Reread
from cooperage.book.replay.state import DAY, moment, seconds
from cooperage.programme.batches.gravities import Normal, Stuck, Took, stands_still
from cooperage.programme.batches.kept import standing_batches
from cooperage.programme.batches.sheet import Batch
from cooperage.programme.signs.readings import readings
from cooperage.programme.signs.sign import Sign
from cooperage.units import DEFAULT, Quantity, Units, counted, show

STUCK, WARMTH = "stuck", "ferment warmth"
_MOSTLY = 0.9
_LONGEST_DAYS = 200  # what was filled longer ago ferments no more (common practice, no source)
_FRESH_DAYS = 4.0
_NEARLY = 0.004  # so near its expected end it has ended, as far as its warmth matters


def fermentation_signs(book: Book, cellar: Cellar, units: Units = DEFAULT) -> Iterator[Sign]:
    """Find what ferments no more although sugar is left, and what is too warm or too cold for its yeast.

    Only lots with a batch sheet are judged, whose end is known, until they are registered as finished.
    """
    with book.reading() as connection:
        batches = standing_batches(connection)
    if not batches:
        return
    for standing in cellar:
        batch = _batch_in(standing, cellar, batches)
        if batch is not None:
            yield from _signs_of(standing, batch, cellar, units)


def _batch_in(standing: Standing, cellar: Cellar, batches: Mapping[str, Batch]) -> Batch | None:
    code, share = next(iter(standing.lots.items()), ("", 0.0))
    filled = standing.state.filled_at
    if not standing.ml or share < _MOSTLY or filled is None:
        return None
    lot = cellar.lots.get(code)
    is_late = seconds(standing.at) - filled > _LONGEST_DAYS * DAY
    return None if lot is None or lot.finished_on is not None or is_late else batches.get(code)


def _signs_of(standing: Standing, batch: Batch, cellar: Cellar, units: Units) -> Iterator[Sign]:
    read = readings(standing, "sg")
    if batch.end_sg is None or batch.end_sd is None or batch.target_sg is None or not read:
        return
    began = standing.state.filled_at or read[0].at
    took = [Took((each.at - began) / DAY, each.value, each.uncertainty or 0.0007) for each in read]
    original = max(batch.target_sg, *(each.sg for each in took))
    end = Normal(batch.end_sg + max(0.0, original - batch.target_sg), batch.end_sd)
    stuck = stands_still(took, original, end, (seconds(cellar.at) - began) / DAY)
    if stuck is not None:
        yield Sign(standing.tag, STUCK, _why(stuck, end, units), moment(_since(read, stuck)), stuck.sure)
    if took[-1].sg > end.mean + _NEARLY:
        yield from _warmth(standing, batch, units)


def _since(read: list[Reread], stuck: Stuck) -> float:
    return read[-1].at - stuck.days * DAY


def _why(stuck: Stuck, end: Normal, units: Units) -> str:
    stands, ends = (show(Quantity.GRAVITY, value, units) for value in (stuck.sg, end.mean))
    days = counted(round(stuck.days), "day")
    began = "no fall" if stuck.has_begun else "not begun: no fall"
    return f"{began} in {days} at {stands}, where it would end near {ends}"


def _warmth(standing: Standing, batch: Batch, units: Units) -> Iterator[Sign]:
    read = readings(standing, "temperature_c")
    if not read or seconds(standing.at) - read[-1].at > _FRESH_DAYS * DAY:
        return
    celsius = read[-1].value
    for limit, word, is_beyond in (
        (batch.warmest, "warm", batch.warmest is not None and celsius > batch.warmest),
        (batch.coolest, "cold", batch.coolest is not None and celsius < batch.coolest),
    ):
        if is_beyond:
            has, bound = (show(Quantity.TEMPERATURE, value, units) for value in (celsius, limit))
            yield Sign(standing.tag, WARMTH, f"too {word} for its yeast: {has}, limit {bound}", moment(read[-1].at))
