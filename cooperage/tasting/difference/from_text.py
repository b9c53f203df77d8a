"""A difference test as it is typed into a form: each field read, and what they ask together."""

from collections.abc import Mapping

from cooperage.book import Book
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import ALIKE, DIFFER, DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.units import Quantity, read

TEST_FIELDS = ("test", "vessel", "against", "bench", "tasters", "rounds", "share", "alike", "more", "expect", "name")
"""The fields of such a form."""


def question_typed(texts: Mapping[str, str]) -> DifferenceQuestion:
    """Return what is asked; a blank field is as usual. Raises NotAQuantity."""
    usual = DifferenceQuestion(texts["test"])
    rounds = int(read(Quantity.COUNT, texts["rounds"])) if texts["rounds"] else usual.rounds
    share = float(read(Quantity.PERCENT, texts["share"])) / 100 if texts["share"] else usual.share
    aim = ALIKE if texts["alike"] else DIFFER
    return DifferenceQuestion(usual.test, aim, texts["more"], texts["expect"], rounds=rounds, share=share)


def tasters_typed(texts: Mapping[str, str]) -> list[str]:
    """Return the names between commas."""
    return [name.strip() for name in texts["tasters"].split(",") if name.strip()]


def start_typed(book: Book, texts: Mapping[str, str], *, sure: bool = False) -> DifferenceFlight:
    """Pour the test that is typed; raises as `start_difference`, and NotAQuantity."""
    tags = [tag for tag in (texts["vessel"], texts["against"]) if tag]
    bench = [texts["bench"]] if texts["bench"] else []
    asked = question_typed(texts), tasters_typed(texts)
    return start_difference(book, tags, *asked, bench=bench, name=texts["name"], sure=sure)
