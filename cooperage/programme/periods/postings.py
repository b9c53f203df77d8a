"""From entries to lines: what each entry moved, by part, line and class of strength, as running totals.

The class of what a vessel holds is that of its strength in the book, measured or calculated. All that an entry moves in
or out of a vessel counts as of the class that the vessel was before it (after it, where it was empty); if the entry
changed the class, what is left in the vessel goes from the one to the other on a line of its own. So every class
balances to the millilitre.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from cooperage.book.bottles import BottleMove, BottlePlace
from cooperage.book.declared.places import OUTSIDE, OUTSIDE_IDS, Outside
from cooperage.book.replay.contents import PLACE_OF
from cooperage.book.replay.events import Event, Move, vessels_in
from cooperage.book.replay.replay import Replay, lot_strength
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Lot
from cooperage.programme.periods.classes import StrengthClasses
from cooperage.programme.periods.lines import (
    A_MEASUREMENT,
    BOTTLED,
    BOTTLED_LINE,
    BULK,
    GAIN,
    LINES,
    NEW_LINES,
    POURED_BACK,
    PRODUCED,
    RECEIVED,
    from_store,
    into_class,
    out_of_class,
    to_store,
)

Key = tuple[str, str, str]
"""A part, a line of it, a class of strength."""
Crossing = tuple[str, str, str, int]
"""Why some mead came to be of another class, the class it was of, the new one, and how much [ml]."""
Totals = dict[Key, int]
"""Millilitres by key since the book began; what takes away counts above zero too."""

_ABV = PLACE_OF["abv"]
_BY_ADDING = {"spirit": "adding spirit", "honey": "sweetening", "water": "adding water"}
_OUTSIDE_BOTTLES = frozenset(place.value for place in BottlePlace)


def made_here(lot: Lot) -> bool:
    """Return True if a lot was fermented in the cellar: the day its honey was pitched is known."""
    return lot.pitched_on is not None


def outside_line(move: Move, lot_of: Callable[[str], Lot]) -> str | None:
    """Return the line of a move that crosses the border of the cellar; None for one between vessels."""
    if move.destination in OUTSIDE_IDS:
        place = Outside(move.destination)
        return BOTTLED_LINE if place is Outside.BOTTLED else OUTSIDE[place].label
    if move.source not in OUTSIDE_IDS:
        return None
    if move.source == Outside.BOTTLED:
        return POURED_BACK
    if move.lot is not None:
        return PRODUCED if made_here(lot_of(move.lot)) else RECEIVED
    return GAIN if move.substance is None else f"{move.substance} added"


def stock_of(totals: Mapping[Key, int]) -> dict[tuple[str, str], int]:
    """Return what is there by part and class [ml], as the lines leave it."""
    stock: dict[tuple[str, str], int] = defaultdict(int)
    for (part, line, name), ml in totals.items():
        stock[part, name] += LINES[part, line].sign * ml
    return dict(stock)


@dataclass(slots=True)
class Ledger:
    """Running totals by line and class, and what they follow from.

    `replay` applies entries to `states`; `bottled` has what each entry moved of bottles. Of each bottling `bottlings`
    has the strength with which it was filled [% vol], None where that is not known, `bottle_ml` what is left of it in
    the stores [ml], and `codes` its code. `crossings` has what each entry in it brought from class to class.
    """

    states: dict[str, VesselState]
    lot_of: Callable[[str], Lot]
    replay: Replay
    classes: StrengthClasses
    bottled: Mapping[str, Sequence[BottleMove]]
    totals: Totals = field(default_factory=dict)
    bottlings: dict[str, float | None] = field(default_factory=dict)
    bottle_ml: dict[str, int] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    crossings: dict[str, list[Crossing]] = field(default_factory=dict)

    def run(self, events: Iterable[Event]) -> None:
        """Take entries in, in order."""
        for event in events:
            if event.moves or event.readings:
                self._take(event)
            else:
                self.replay.apply(event)
            for move in self.bottled.get(event.id, ()):
                self._move_bottles(move)

    def class_of(self, vessel_id: str) -> str:
        """Return the class of what a vessel holds."""
        return self.classes.of(self.strength_of(vessel_id))

    def strength_of(self, vessel_id: str) -> float | None:
        """Return the strength of what a vessel holds [% vol], measured or calculated; None where it is not known."""
        return self.states[vessel_id].contents.value(_ABV)

    def class_of_bottling(self, bottling_id: str) -> str:
        """Return the class of what a bottling was filled with."""
        return self.classes.of(self.bottlings.get(bottling_id))

    def change_classes(self, classes: StrengthClasses) -> None:
        """Go on by other class lines: what is there goes to its new class."""
        old, self.classes = self.classes, classes
        for each, state in self.states.items():
            abv = self.strength_of(each)
            self._reclass(BULK, NEW_LINES, old.of(abv), classes.of(abv), state.ml)
        for each, ml in self.bottle_ml.items():
            abv = self.bottlings.get(each)
            self._reclass(BOTTLED, NEW_LINES, old.of(abv), classes.of(abv), ml)

    def _post(self, part: str, line: str, name: str, ml: int) -> None:
        key = part, line, name
        self.totals[key] = self.totals.get(key, 0) + ml

    def _reclass(self, part: str, why: str, old: str, new: str, ml: int) -> None:
        if old != new and ml:
            self._post(part, out_of_class(why), old, ml)
            self._post(part, into_class(why), new, ml)

    def _take(self, event: Event) -> None:
        touched = vessels_in(event.moves) | {each.vessel for each in event.readings}
        before = {each: (self.strength_of(each), self.states[each].ml) for each in touched}
        self.replay.apply(event)
        counted_as = {each: self.classes.of(abv) if ml else self.class_of(each) for each, (abv, ml) in before.items()}
        for move in event.moves:
            if move.destination == Outside.BOTTLED:
                self.bottlings.setdefault(event.id, before[move.source][0])
        mixed = {each for move in event.moves for each in self._post_move(event, move, counted_as)}
        for each, name in counted_as.items():
            if ml := self.states[each].ml:
                why, new = _why(event, each, has_mixed=each in mixed), self.class_of(each)
                self._reclass(BULK, why, name, new, ml)
                if new != name and event.id in self.crossings:
                    self.crossings[event.id].append((why, name, new, ml))

    def _post_move(self, event: Event, move: Move, counted_as: dict[str, str]) -> list[str]:
        """Post a move; return the vessel that took in mead of another class by it, if one did."""
        line = outside_line(move, self.lot_of)
        if line is not None and move.destination in OUTSIDE_IDS:
            self._post(BULK, line, counted_as[move.source], move.ml)
            return []
        here = counted_as[move.destination]
        if line is None:
            came_as = counted_as[move.source]
        else:
            came_as = self._class_from_outside(event, move, here)
            self._post(BULK, line, came_as, move.ml)
        self._reclass(BULK, "blending", came_as, here, move.ml)
        return [move.destination] if came_as != here else []

    def _class_from_outside(self, event: Event, move: Move, here: str) -> str:
        """Return the class of what came from outside; an addition or a gain is of the class it meets."""
        if move.source == Outside.BOTTLED:
            emptied = self.bottled.get(event.id, ())
            return self.class_of_bottling(emptied[0].bottling_id) if emptied else here
        return here if move.lot is None else self.classes.of(lot_strength(self.lot_of(move.lot)))

    def _move_bottles(self, move: BottleMove) -> None:
        name, ml = self.class_of_bottling(move.bottling_id), move.bottles * move.bottle_ml
        if move.source in _OUTSIDE_BOTTLES:
            self._post(BOTTLED, to_store(BottlePlace(move.source)), name, ml)
        if move.destination in _OUTSIDE_BOTTLES:
            self._post(BOTTLED, from_store(BottlePlace(move.destination)), name, ml)
        self.count_bottles(move)

    def count_bottles(self, move: BottleMove) -> None:
        """Note what a move leaves in the stores; nothing is posted."""
        self.codes[move.bottling_id] = move.code
        came, went = (place in _OUTSIDE_BOTTLES for place in (move.source, move.destination))
        change = (came - went) * move.bottles * move.bottle_ml
        self.bottle_ml[move.bottling_id] = self.bottle_ml.get(move.bottling_id, 0) + change


def _why(event: Event, vessel_id: str, *, has_mixed: bool) -> str:
    """Return why an entry changed the class of what a vessel holds."""
    if any(each.vessel == vessel_id and each.property == "abv" for each in event.readings):
        return A_MEASUREMENT
    if has_mixed:
        return "blending"
    coming = [move for move in event.moves if move.destination == vessel_id]
    added = [move for move in coming if move.substance in _BY_ADDING]
    if added:
        return _BY_ADDING[str(max(added, key=lambda move: move.ml).substance)]
    return "blending" if any(move.source not in OUTSIDE_IDS for move in coming) else "drift of strength"
