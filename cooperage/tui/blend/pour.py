"""Pouring a solved blend: into which tank, the question before, the words after."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.figures import show_figure
from cooperage.blending.pour.tank import Pour, pour_all, pour_cautions, pour_words
from cooperage.book import Book, Cellar, Written
from cooperage.book.dangers.dangers import Caution
from cooperage.book.vessel_words import lots_words
from cooperage.settings import Settings
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.units import Quantity, Units, show


@dataclass(frozen=True, slots=True)
class Poured:
    """A blend that was written: its tank, and what to do now."""

    written: Written
    tank: str
    words: list[str]


def ask_to_pour(screen: CellarScreen, answer: Answer, brief: Mapping[str, Any], then: Callable[[Poured], None]) -> None:
    """Ask into which tank and for a confirmation, then write it."""
    desk = screen.desk

    def chosen(tank: str | None) -> None:
        if tank is not None:
            desk.attempt(
                lambda _sure: pour_cautions([Pour(answer, tank, brief)], desk.cellar, desk.units),
                lambda found: ask(tank, found),
                screen.refuse,
                rereads=False,
            )

    def ask(tank: str, found: Sequence[Caution]) -> None:
        question = Confirm(_question(answer, tank, desk.units), yes="pour it", minded=cautions_shown(found))
        screen.app.push_screen(question, lambda yes: answered(tank, found, yes))

    def answered(tank: str, found: Sequence[Caution], yes: bool | None) -> None:
        if yes:
            desk.attempt(
                lambda sure: _pour(desk.book, Pour(answer, tank, brief), found, desk.settings, sure),
                then,
                screen.refuse,
            )

    screen.app.push_screen(Pick("Pour into which tank?", _tanks(desk.cellar, desk.units)), chosen)


def has_tanks(cellar: Cellar) -> bool:
    """Return True if there is a tank to pour into."""
    return any(s.vessel.kind == "tank" and not s.is_retired for s in cellar)


def _tanks(cellar: Cellar, units: Units) -> list[tuple[str, str]]:
    """List the tanks, those with most room first."""
    tanks = [s for s in cellar.in_walking_order() if s.vessel.kind == "tank" and not s.is_retired]
    tanks.sort(key=lambda tank: (tank.ml > 0, -tank.headspace_ml))
    return [
        (tank.tag, f"{tank.tag:<8} room for {show(Quantity.VOLUME, tank.headspace_ml, units)}, {lots_words(tank, 2)}")
        for tank in tanks
    ]


def _question(answer: Answer, tank: str, units: Units) -> str:
    draws = "\n".join(f"  {draw.stock:<8} {show_figure('litres', draw.litres, units):>10}" for draw in answer.draws)
    litres = show_figure("litres", answer.blend.get("litres"), units)
    return f"Pour {litres} into {tank}?\n\n{draws}"


def _pour(book: Book, asked: Pour, found: Sequence[Caution], mine: Settings, sure: bool) -> Poured:
    before = book.cellar()
    (written,) = pour_all(book, [asked], hand=mine.hand, sure=sure)
    words = pour_words(written, before, book.cellar(), mine.units)
    return Poured(
        written, asked.into, [f"· {line}" for line in words] + ["", *(f"Caution: {each.text}" for each in found)]
    )
