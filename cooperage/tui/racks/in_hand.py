"""Which vessels of the racks are in hand: those that are marked, found by a filter, or carried to another place."""

from textual.widgets import Input

from cooperage.book import Standing, Written
from cooperage.programme.search.described import Described
from cooperage.programme.several.marked import Marked
from cooperage.programme.upkeep.shifting import shift
from cooperage.tui.forms.upkeep_form import upkeep_form
from cooperage.tui.keys import pressed
from cooperage.tui.racks.layout import FreePlace
from cooperage.tui.racks.map import RackMap
from cooperage.tui.racks.shift_form import shift_form, shift_to
from cooperage.tui.several.acts import can_be_done, open_act, open_order
from cooperage.tui.shared.cellar_screen import CellarScreen


class VesselsInHand(CellarScreen):
    """Marks vessels, takes them in hand, and does to all of them what is asked for one."""

    def __init__(self) -> None:
        super().__init__()
        self._described: list[Described] = []
        self._carried: list[str] = []
        self._chosen: list[str] = []
        self._marked = Marked()
        self._found: list[Standing] = []

    @property
    def _map(self) -> RackMap:
        return self.query_one(RackMap)

    def _draw(self) -> None:
        """Show what is in hand now."""
        raise NotImplementedError

    # --- marking, and what is done to those that are marked -----------------------------------------------------------

    @property
    def in_hand(self) -> list[Standing]:
        """The vessels that an act is about: those that are marked, else all that a filter finds, else the one here."""
        cellar, here = self.desk.cellar, self._map.current
        if self._chosen:
            return [cellar[tag] for tag in self._chosen]
        return list(self._found) or ([] if here is None else [here])

    def _may_act(self, action: str, kind: str = "") -> bool:
        """Offer what can be done to all in hand; nothing while a vessel is carried or something is typed."""
        if not self.is_mounted or self._carried or isinstance(self.focused, Input):
            return False
        if action == "unmark":
            return bool(self._chosen)
        standings = [standing for standing in self.in_hand if not standing.is_retired]
        if action == "form":
            return can_be_done(kind, standings)
        return len(standings) == 1 if action == "upkeep" else bool(standings)

    def action_mark(self) -> None:
        """Mark the vessel under the cursor, or take its mark away."""
        standing = self._map.current
        if standing is None or standing.is_retired:
            return
        there = [seen.standing.tag for seen in self._described if not seen.standing.is_retired]
        if self._marked.tags != tuple(self._chosen):
            self._marked = Marked(tuple(self._chosen))
        self._marked = self._marked.pressed(standing.tag, there)
        self._choose(list(self._marked.tags))
        count, more = len(self._chosen), f"{pressed('keys')} lists the keys"
        if self._marked.can_reach:
            more = f"{pressed('mark')} again marks all from {self._marked.before} to here"
        marked = f"{count} marked: what is done now is done to all of them; {more}."
        self.show_message(marked if count > 1 else "")

    def action_unmark(self) -> None:
        """Take all marks away."""
        self._choose([])
        self.show_message("")

    def _forget_marks(self) -> None:
        """Take the marks away after what was done to them, and leave what the answer shows of it."""
        self._choose([])

    def _choose(self, tags: list[str]) -> None:
        self._chosen = tags
        self._map.choose(tags)
        self._draw()

    def action_form(self, kind: str) -> None:
        """Ask for an entry on what is in hand."""
        open_act(self, kind, self.in_hand, self._forget_marks)

    def action_order(self) -> None:
        """Write an order for what is in hand."""
        open_order(self, self.in_hand, self._forget_marks)

    def action_upkeep(self) -> None:
        """Change the intervals and limits of the vessel in hand."""

        def closed(words: str | None) -> None:
            if words is not None:
                self.show_message(words)

        self.app.push_screen(upkeep_form(self.app, self.in_hand[0]), closed)

    # --- moving -----------------------------------------------------------------------------------------------------

    def action_lift(self) -> None:
        """Take the barrel under the cursor in hand, or all that are marked; they are set down in that order."""
        if self._chosen:
            marked = [tag for tag in self._chosen if tag not in self._carried]
            self._chosen = []
            self._map.choose(())
            self._carry([*self._carried, *marked])
            return
        standing = self._map.current
        if standing is not None and standing.is_retired:
            self.show_message(f"{standing.tag} is retired; it has no place on the racks.")
        elif standing is not None and standing.tag not in self._carried:
            self._carry([*self._carried, standing.tag])

    def action_put_back(self) -> None:
        """Put back what is in hand; nothing is written."""
        self._carry([])

    def _carry(self, tags: list[str]) -> None:
        self._carried = tags
        self._draw()

    def _set_down(self, spot: Standing | FreePlace) -> None:
        tag = self._carried[0]
        if isinstance(spot, Standing) and spot.tag == tag:
            self._carry(self._carried[1:])
            return
        book, cellar, act = self.desk.book, self.desk.cellar, shift_to(tag, spot.position, self.desk.hand)
        self.desk.attempt(lambda sure: shift(book, cellar, act, sure=sure), self._shifted, self.refuse)

    def action_type_place(self) -> None:
        """Type room, row, bay and tier."""
        standing = self.desk.cellar[self._carried[0]]

        def closed(written: Written | None) -> None:
            if written is not None:
                self._shifted(written)

        self.app.push_screen(shift_form(self.app, standing), closed)

    def _shifted(self, written: Written) -> None:
        tag = self._carried[0]
        self._carry(self._carried[1:])
        self._map.go_to(tag)  # so that the cursor is with it when the book has been read again
        self.show_written(written)
