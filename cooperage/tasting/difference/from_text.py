"""A difference test as it is typed into a form: each field read, and what they ask together."""

from collections.abc import Mapping
from typing import Any

from cooperage.book import Book
from cooperage.tasting.difference.pouring import start_difference
from cooperage.tasting.difference.question import ALIKE, DIFFER, DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.pulling import read_pull
from cooperage.units import DEFAULT, Quantity, Units, read

TEST_FIELDS = (
    *("test", "vessel", "against", "bench", "tasters", "rounds", "share", "alike", "more", "expect", "reference"),
    *("alpha", "power", "pull", "name"),
)
"""The fields of such a form."""
_CHANCES = ("alpha", "share", "power")
"""Those that are typed in per cent."""


def question_typed(texts: Mapping[str, str]) -> DifferenceQuestion:
    """Return what is asked; a blank field is as usual. Raises NotAQuantity."""
    usual = DifferenceQuestion(texts["test"])
    rounds = int(read(Quantity.COUNT, texts["rounds"])) if texts["rounds"] else usual.rounds
    chances: dict[str, Any] = {
        name: float(read(Quantity.PERCENT, texts[name])) / 100 for name in _CHANCES if texts[name]
    }
    aim, named = ALIKE if texts["alike"] else DIFFER, (texts["more"], texts["expect"], texts["reference"])
    return DifferenceQuestion(usual.test, aim, *named, rounds=rounds, **chances)


def tasters_typed(texts: Mapping[str, str]) -> list[str]:
    """Return the names between commas."""
    return [name.strip() for name in texts["tasters"].split(",") if name.strip()]


def start_typed(
    book: Book, texts: Mapping[str, str], units: Units = DEFAULT, *, hand: str = "", sure: bool = False
) -> DifferenceFlight:
    """Pour the test that is typed; raises as `start_difference`, and NotAQuantity."""
    tags = [tag for tag in (texts["vessel"], texts["against"]) if tag]
    bench = [texts["bench"]] if texts["bench"] else []
    asked = question_typed(texts), tasters_typed(texts)
    each_ml = read_pull(texts["pull"], units) if texts["pull"] and tags else None
    name = texts["name"]
    return start_difference(book, tags, *asked, bench=bench, name=name, each_ml=each_ml, hand=hand, sure=sure)
