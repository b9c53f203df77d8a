"""Moving vessels on the racks: what is in hand, and the form where a place is typed."""

from collections.abc import Sequence
from typing import Any

from textual import on
from textual.app import App, ComposeResult
from textual.widgets import Static

from cooperage.book import Act, Cellar, Standing
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import Work
from cooperage.book.declared import acts
from cooperage.book.declared.from_text import BadField
from cooperage.book.store.registry import Position
from cooperage.book.vessel_words import place_words
from cooperage.programme.upkeep.places import BadPlace, is_whole_place, place_typed
from cooperage.programme.upkeep.shifting import shift, stands_at
from cooperage.tui.keys import pressed
from cooperage.tui.racks.layout import Spot
from cooperage.tui.shared.act_form import ActForm, kept_form
from cooperage.tui.shared.field_list import FieldList
from cooperage.tui.shared.steady import Steady
from cooperage.units import Units


def shift_form(app: App[Any], standing: Standing) -> "ShiftForm":
    """Return the form to move a vessel, kept mounted."""
    return kept_form(app, ShiftForm, "shift", standing)


def position_of(spot: Spot) -> Position | None:
    """Return where a spot is; None where there is nothing."""
    return None if spot is None else spot.position


def shift_to(tag: str, position: Position, hand: str) -> acts.Shift:
    """Make the entry that a vessel was moved to a position."""
    room, row, bay, tier = position
    return acts.Shift(vessel=tag, room=room or "", row=row or "", bay=bay, tier=tier, hand=hand)


def hand_lines(carried: list[str], spot: Spot, cellar: Cellar, units: Units) -> list[str]:
    """Return what is in hand, where the vessel lifted first would be set down, and cautions."""
    first, *others = carried
    position = position_of(spot)
    there = [spot.tag] if isinstance(spot, Standing) else []
    words = f"{first} is in hand" if position is None else move_words(cellar[first], position, there)
    waiting = f", then {', '.join(others)}" if others else ""
    minded = cautions(Work("shift", vessel=cellar[first], units=units))
    return [f"{words}{waiting}", *(f"Caution: {each.text}" for each in minded)]


def move_words(standing: Standing, position: Position, there: Sequence[str]) -> str:
    """Return what Enter does where a vessel is set down or a place is typed: "Enter moves B-002 to North · row 1".

    `there` are the vessels that stand at the place.
    """
    if standing.tag in there:
        return f"{standing.tag} stands at {place_words(position)}"
    others = f"; {', '.join(there)} there" if there else ""
    return f"{pressed('enter')} moves {standing.tag} to {place_words(position)}{others}"


class ShiftForm(ActForm):
    """Asks for the position a vessel is moved to; a place that is taken is confirmed first.

    The first field takes the whole place as well, as it is chalked on the racks: "B.2.1".
    """

    def __init__(self, standing: Standing) -> None:
        self._here = standing.position
        super().__init__(acts.Shift, {"vessel": standing.tag} | _texts(self._here), first="room")

    def ask(self, standing: Standing) -> None:  # type: ignore[override] # of one kind, for another vessel
        """Ask where another vessel goes, as a new form would."""
        self._here = standing.position
        super().ask(acts.Shift, {"vessel": standing.tag} | _texts(self._here), first="room")
        self._show_place()

    def on_mount(self) -> None:
        """Name the place where it stands."""
        super().on_mount()
        self._show_place()

    def act_texts(self) -> dict[str, str]:
        """Return what is typed; a whole place in the first field stands for all four."""
        texts = super().act_texts()
        if is_whole_place(texts["room"]):
            try:
                texts |= _texts(place_typed(texts["room"], self._here))
            except BadPlace as error:
                raise BadField("room", str(error)) from error
        return texts

    @on(FieldList.Answered)
    def _show_place(self) -> None:
        """Name the place that is typed, before anything is written."""
        try:
            texts = self.act_texts()
        except BadField as error:
            self.query_one("#typed-place", Static).update(error.reason)
            return
        bay, tier = (int(texts[name]) if texts[name].isdecimal() else None for name in ("bay", "tier"))
        place, cellar = (texts["room"], texts["row"], bay, tier), self.desk.cellar
        there = [standing.tag for standing in stands_at(cellar, place)]
        words = move_words(cellar[texts["vessel"]], place, there) if texts["vessel"] in cellar else ""
        self.query_one("#typed-place", Static).update(words)

    def compose_more(self) -> ComposeResult:
        """Yield the line that names the place."""
        yield Steady("", id="typed-place", markup=False)

    def write(self, act: Act) -> None:
        """Ask first where another vessel stands there."""
        if isinstance(act, acts.Shift):
            book, cellar = self.desk.book, self.desk.cellar
            self.desk.attempt(lambda sure: shift(book, cellar, act, sure=sure), self._written, self._refused)


def _texts(position: Position) -> dict[str, str]:
    return {name: str(part or "") for name, part in zip(_PARTS, position, strict=True)}


_PARTS = ("room", "row", "bay", "tier")
