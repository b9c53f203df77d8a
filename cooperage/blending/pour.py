"""From a solved blend to the tank: one entry, refused if the cellar has changed since the solve."""

import json
from collections.abc import Mapping
from typing import Any

from cooperage import __version__
from cooperage.blending.answer import Answer
from cooperage.book import Book, Cellar, Written, acts
from cooperage.book.errors import InVolumes
from cooperage.errors import Refused
from cooperage.units import Quantity, show


class NothingToPour(Refused):
    """An answer without draws."""

    def __init__(self, status: str) -> None:
        self.status = status
        super().__init__(f"there is no plan to pour (the brief was {status}); change the brief and solve again")


class StockChanged(InVolumes):
    """A stock holds something else than when the blend was solved: `there` now, `solved` then."""

    wording = "{tag} holds {there} now and held {solved} when the blend was solved; solve it again"


def draws_of(answer: Answer, cellar: Cellar) -> tuple[tuple[str, int], ...]:
    """Return the plan's draws in whole millilitres, none more than is there; raises NothingToPour, StockChanged."""
    if not answer.draws:
        raise NothingToPour(answer.status)
    draws = []
    for draw in answer.draws:
        there = cellar[draw.stock].ml
        solved = there if draw.left is None else round(1000 * (draw.litres + draw.left))
        if abs(there - solved) > 1:
            raise StockChanged(draw.stock, there=there, solved=solved)
        draws.append((draw.stock, min(there, round(1000 * draw.litres))))
    return tuple((stock, ml) for stock, ml in draws if ml > 0)


def pour(
    book: Book,
    answer: Answer,
    into: str,
    brief: Mapping[str, Any],
    *,
    hand: str = "",
    note: str = "",
    sure: bool = False,
) -> Written:
    """Write a solved blend into the book: every draw, and the contraction, in one entry with the brief and the plan.

    Raises NothingToPour, StockChanged and whatever the book refuses.
    """
    draws = draws_of(answer, book.cellar())
    kept = {"brief": dict(brief), "answer": answer.to_json(), "cooperage": __version__}
    plan = json.dumps(kept, ensure_ascii=False, sort_keys=True)
    return book.write(acts.Blend(vessel=into, draws=draws, plan=plan, hand=hand, note=note, sure=sure))


def pour_words(written: Written, before: Cellar, after: Cellar) -> list[str]:
    """Tell what the pour left behind: barrels now empty, barrels left partly full, and the recheck."""
    if not isinstance(written.act, acts.Blend):
        return []
    words = []
    for tag, _ in written.act.draws:
        standing = after[tag]
        if standing.ml == 0:
            words.append(f"{tag} is empty: rinse it today; refill, sulphur or retire it")
        elif standing.ml < before[tag].ml and standing.vessel.is_barrel:
            air = show(Quantity.VOLUME, standing.headspace_ml)
            words.append(f"{tag} is partly full ({air} of air): top it, gas it or rack it together today")
    return [*words, "read strength, sugar, pH and free SO2 of the blend again in 24 to 72 hours"]
