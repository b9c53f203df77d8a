"""Honeys behind a bottling: by the batch sheets of its lots, by hand."""

import pytest

from cooperage.book import Book
from cooperage.programme.batches.kept import keep_batch, keep_honey
from cooperage.programme.batches.sheet import Batch, Honey, HoneyUsed
from cooperage.programme.recall.asked import RecallQuestion, recall
from cooperage.programme.recall.claims import label_claims
from cooperage.programme.recall.words import claim_lines, row_lines
from cooperage.units import DEFAULT


@pytest.fixture
def sweetened(bottled: Book) -> Book:
    """LIME was made with 30 kg of lime-blossom and 10 kg of heather honey; 75 L of it were received."""
    keep_honey(bottled, Honey("", "HB-1", 200_000, floral="heather", producer="moor hives"))
    keep_honey(bottled, Honey("", "HB-2", 200_000, floral="lime-blossom", supplier_lot="25-31"))
    used = (HoneyUsed("HB-2", 30_000), HoneyUsed("HB-1", 10_000))
    keep_batch(bottled, Batch("", "LIME", 60_000, used), hand="Iko")
    return bottled


def test_a_bottling_joins_the_honeys_of_its_lots(sweetened: Book) -> None:
    """54 of 75 L of LIME are in RUN, 40 % of it: so are 54/75 of 30 kg and of 10 kg."""
    found = recall(sweetened, RecallQuestion("RUN"))
    lime, heather = found.honeys
    assert (lime.honey, lime.lot, lime.hand, heather.producer) == ("HB-2", "LIME", "Iko", "moor hives")
    assert lime.grams == pytest.approx(30_000 * 54 / 75)
    assert heather.grams == pytest.approx(10_000 * 54 / 75)
    assert (lime.of_lot, heather.of_lot) == (0.75, 0.25)
    assert (lime.ml, heather.fraction) == pytest.approx((0.75 * 54_000, 0.25 * 0.4))
    assert lime.share is None, "the honey of HEATHER is in no batch sheet"
    assert "Iko" in found.hands
    assert [branch.place for branch in found.tree if branch.depth and branch.place.startswith("HB")] == [
        "HB-2 lime-blossom",
        "HB-1 heather",
    ]
    text = "\n".join(row_lines(found, DEFAULT))
    assert "honey HB-2 lime-blossom (lot 25-31), in LIME, 21.6 kg, 75.0 % of the honey of LIME" in text


def test_the_claim_on_honey_is_by_the_batch_sheets(sweetened: Book) -> None:
    """HEATHER as it was registered 60 %, and 10 of 40 kg of LIME's 40 %."""
    claims = label_claims(sweetened, "RUN")
    assert {each.name: each.fraction for each in claims.honeys} == pytest.approx({"heather": 0.7, "lime-blossom": 0.3})
    assert sum(each.fraction for each in claims.honeys) == pytest.approx(1)
    assert any("21.6 kg" in line for line in claim_lines(claims, DEFAULT))


def test_where_all_batches_are_known_the_shares_of_the_honey_sum_to_one(sweetened: Book) -> None:
    """HEATHER had 90 kg in the litres that were received of it: shares are by mass, not by litres."""
    keep_batch(sweetened, Batch("", "HEATHER", 60_000, (HoneyUsed("HB-1", 90_000),)), hand="Iko")
    found = recall(sweetened, RecallQuestion("RUN"))
    assert sum(each.share or 0.0 for each in found.honeys) == pytest.approx(1)
    masses = [each.grams or 0.0 for each in found.honeys]
    assert [each.share for each in found.honeys] == pytest.approx([mass / sum(masses) for mass in masses])
