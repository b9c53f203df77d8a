"""Pouring a solved blend: into which tank, the question before, the words after."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static
from textual.widgets.option_list import Option

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.figures import show_figure
from cooperage.blending.pour.tank import Pour, pour_all, pour_cautions, pour_words
from cooperage.book import Cellar, Standing, Written
from cooperage.book.dangers.dangers import Caution
from cooperage.book.vessel_words import lots_words
from cooperage.errors import BadInput
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import Desk
from cooperage.tui.shared.dialogs import Confirm, PickList
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.units import Quantity, Units, read_when, show, show_moment


@dataclass(frozen=True, slots=True)
class Poured:
    """A blend that was written: its tank, and what to do now."""

    written: Written
    tank: str
    words: list[str]


def ask_to_pour(screen: CellarScreen, answer: Answer, brief: Mapping[str, Any], then: Callable[[Poured], None]) -> None:
    """Ask into which tank and for a confirmation, then write it."""
    desk = screen.desk

    def chosen(into: IntoTank | None) -> None:
        if into is not None:
            desk.attempt(
                lambda _sure: pour_cautions([Pour(answer, into.tank, brief)], desk.cellar, desk.units),
                lambda found: ask(into, found),
                screen.refuse,
                rereads=False,
            )

    def ask(into: IntoTank, found: Sequence[Caution]) -> None:
        words = _question(answer, into, desk.cellar, desk.units, desk.book.now())
        question = Confirm(words, yes="pour it", minded=cautions_shown(found))
        screen.app.push_screen(question, lambda yes: answered(into, found, yes))

    def answered(into: IntoTank, found: Sequence[Caution], yes: bool | None) -> None:
        if yes:
            desk.attempt(
                lambda sure: _pour(desk, Pour(answer, into.tank, brief), into.at, found, sure),
                then,
                screen.refuse,
            )

    screen.app.push_screen(PourInto(_tanks(desk.cellar, desk.units, answer), desk.book.now), chosen)


@dataclass(frozen=True, slots=True)
class IntoTank:
    """A tank, and when the blend was poured into it (None: now)."""

    tank: str
    at: datetime | None = None


class PourInto(ModalScreen[IntoTank | None]):
    """Asks into which tank, and when: Enter on a tank takes both."""

    DEFAULT_CSS = """
    PourInto .asked { height: 1; margin: 1 0 0 0; }
    PourInto .asked Label { width: 8; }
    PourInto .asked Input { width: 1fr; }
    PourInto #not-a-time { height: auto; width: 60; color: $ember; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("next", "app.focus_next", "when it was", show=True),
        bound("back", "dismiss(None)", "close"),
    ]

    def __init__(self, tanks: Sequence[tuple[str, str]], now: Callable[[], datetime]) -> None:
        super().__init__(classes="dialog")
        self._tanks, self._now = tanks, now

    def compose(self) -> ComposeResult:
        """Show the tanks over the time."""
        with Vertical(classes="box"):
            yield Static("Pour into which tank?", markup=False, classes="title")
            yield PickList(*(Option(words, id=tag) for tag, words in self._tanks))
            with Horizontal(classes="asked"):
                yield Label("when")
                yield Input("", id="when", compact=True, placeholder="now; or yesterday 14:30")
            yield Static("", id="not-a-time", markup=False)
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin with the first tank."""
        self.query_one(PickList).highlighted = 0

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        highlighted = self.query_one(PickList).highlighted
        self._close_with(self._tanks[highlighted or 0][0])

    def on_option_list_option_selected(self, event: PickList.OptionSelected) -> None:
        """Take the tank."""
        self._close_with(str(event.option_id))

    def _close_with(self, tank: str) -> None:
        typed = self.query_one("#when", Input).value.strip()
        try:
            at = read_when(typed, self._now()) if typed else None
        except BadInput as error:
            self.query_one("#not-a-time", Static).update(f"Not understood: {error}")
            self.query_one("#when").focus()
            return
        self.dismiss(IntoTank(tank, at))


def has_tanks(cellar: Cellar, answer: Answer) -> bool:
    """Return True if there is a tank to pour a plan into."""
    return bool(_tanks_for(cellar, answer))


def _tanks_for(cellar: Cellar, answer: Answer) -> list[Standing]:
    """Return the tanks that a plan does not draw on: nothing is poured from a tank into itself."""
    drawn = {draw.stock for draw in answer.draws}
    tanks = (s for s in cellar.in_walking_order() if s.vessel.kind == "tank" and not s.is_retired)
    return [tank for tank in tanks if tank.tag not in drawn]


def _tanks(cellar: Cellar, units: Units, answer: Answer) -> list[tuple[str, str]]:
    """List the tanks to pour into, those with most room first."""
    tanks = _tanks_for(cellar, answer)
    tanks.sort(key=lambda tank: (tank.ml > 0, -tank.headspace_ml))
    return [
        (tank.tag, f"{tank.tag:<8} room for {show(Quantity.VOLUME, tank.headspace_ml, units)}, {lots_words(tank, 2)}")
        for tank in tanks
    ]


def into_words(cellar: Cellar, units: Units, answer: Answer) -> str:
    """Return which tank is the first to pour a plan into, and what it holds; empty where there is no plan or tank."""
    tanks = _tanks(cellar, units, answer) if answer.draws else []
    return f"To pour into: {' '.join(tanks[0][1].split())}." if tanks else ""


def _question(answer: Answer, into: IntoTank, cellar: Cellar, units: Units, now: datetime) -> str:
    draws = "\n".join(f"  {draw.stock:<8} {show_figure('litres', draw.litres, units):>10}" for draw in answer.draws)
    litres = show_figure("litres", answer.blend.get("litres"), units)
    when = "" if into.at is None else f", on {show_moment(into.at, now).strip()}"
    held = cellar[into.tank]
    there = (
        f"\n\n{into.tank} holds {show(Quantity.VOLUME, held.ml, units)} of {lots_words(held, 2)} already: the blend "
        "is mixed into that, and the figures of the plan are then not those of the tank."
    )
    return f"Pour {litres} into {into.tank}{when}?{there if held.ml else ''}\n\n{draws}"


def _pour(desk: Desk, asked: Pour, at: datetime | None, found: Sequence[Caution], sure: bool) -> Poured:
    """Pour, signed by who is at work now."""
    book = desk.book
    before = book.cellar()
    (written,) = pour_all(book, [asked], hand=desk.hand, at=at, sure=sure)
    words = pour_words(written, before, book.cellar(), desk.units)
    return Poured(
        written, asked.into, [f"· {line}" for line in words] + ["", *(f"Caution: {each.text}" for each in found)]
    )
