"""What is calculated of a batch when its sheet is written: the gravity and litres to be, and where it would end."""

from collections.abc import Mapping
from dataclasses import replace

from cooperage.programme.batches.must import Must, can_end, expected_end, honey_part, juice_part, must_of, water_part
from cooperage.programme.batches.sheet import Batch, Honey


def must_in(batch: Batch, honeys: Mapping[str, Honey]) -> Must | None:
    """Return the must of a batch; None where the moisture of a honey is not known. Raises NoMust.

    `honeys` are those that stand, by code in capitals.
    """
    parts = [water_part(batch.water_ml), *(juice_part(each.ml, each.sg) for each in batch.others)]
    for used in batch.honeys:
        moisture = honeys[used.code.upper()].moisture
        if moisture is None:
            return None
        parts.append(honey_part(used.grams, moisture))
    return must_of(parts)


def calculated(batch: Batch, honeys: Mapping[str, Honey]) -> Batch:
    """Return a batch with its target gravity and litres, and the gravity where it would end; raises NoMust."""
    must = must_in(batch, honeys)
    if must is None:
        return replace(batch, target_sg=None, target_l=None, end_sg=None, end_sd=None)
    batch = replace(batch, target_sg=round(must.sg, 5), target_l=round(must.litres, 3), end_sg=None, end_sd=None)
    if not can_end(must.sg):
        return batch
    end = expected_end(must.sg, batch.tolerance)
    return replace(batch, end_sg=round(end.sg, 5), end_sd=round(end.sd, 5))
