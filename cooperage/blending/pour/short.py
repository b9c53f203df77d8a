"""Which barrels hold less by now than a plan draws: plans draw on the book, and what evaporated since is not in it."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from cooperage.blending.answer.answer import Answer
from cooperage.book import Cellar, Standing
from cooperage.programme.losses.level import Level
from cooperage.units import DEFAULT, Quantity, Units, show


@dataclass(frozen=True, slots=True)
class ShortNow:
    """A barrel that is drawn on for more [L] than it holds now, at the most its band allows."""

    vessel: str
    drawn_l: float
    level_now_l: float


def short_now(plans: Iterable[Answer], cellar: Cellar, level_of: Callable[[Standing], Level]) -> list[ShortNow]:
    """Return the barrels of which all plans together draw more than they hold now, those that lack most first."""
    drawn: dict[str, float] = defaultdict(float)
    for plan in plans:
        for draw in plan.draws:
            if draw.stock in cellar:
                drawn[draw.stock] += draw.litres
    levels = {tag: level_of(cellar[tag]) for tag in drawn}
    found = [
        ShortNow(tag, litres, levels[tag].ml / 1000)
        for tag, litres in drawn.items()
        if round(1000 * litres) > levels[tag].high
    ]
    return sorted(found, key=lambda short: short.level_now_l - short.drawn_l)


def short_words(found: Iterable[ShortNow], units: Units = DEFAULT) -> list[str]:
    """Return in a line what those barrels hold now, and what to do; no line where there is none.

    What is short by less than is shown is left out.
    """
    barrels = ", ".join(
        f"{short.vessel} {_show(short.level_now_l, units, with_unit=False)} of {_show(short.drawn_l, units)}"
        for short in found
        if _show(short.level_now_l, units) != _show(short.drawn_l, units)
    )
    return [f"Less is there now than is drawn, for plans go by the book: {barrels}. Dip them first."] if barrels else []


def _show(litres: float, units: Units, *, with_unit: bool = True) -> str:
    return show(Quantity.VOLUME, round(1000 * litres), units, with_unit=with_unit)
