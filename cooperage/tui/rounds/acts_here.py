"""What the keys of the list do at the stop at hand: forms, upkeep, a part of the walk, sheets of paper, the end."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual.binding import BindingType

from cooperage.book import KINDS, Written
from cooperage.book.log import Entry
from cooperage.errors import BadInput
from cooperage.programme.walk.part_of_walk import WalkFilter, filter_words, read_filter
from cooperage.programme.walk.progress import Walk, begin_sheet, end_walk, mark_all
from cooperage.programme.walk.stops import Stop, fulfilled_by, index_of_tag
from cooperage.programme.walk.summary import WalkSummary, summarise_walk
from cooperage.tui.forms.path_dialog import PathDialog
from cooperage.tui.forms.upkeep_form import upkeep_form
from cooperage.tui.keys import bound
from cooperage.tui.racks.shift_form import shift_form
from cooperage.tui.rounds.sheet_forms import When, save_sheet
from cooperage.tui.rounds.walk_end import WalkEnd
from cooperage.tui.rounds.walk_shown import WalkShown
from cooperage.tui.shared.act_form import first_field
from cooperage.tui.shared.dialogs import Pick
from cooperage.units import local_day, show_when


class ActsAtStop(WalkShown):
    """The walk, with the keys that act at its stops while the list has the cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("top", "form('top')"),
        bound("dip", "form('gauge')"),
        bound("read", "form('reading')"),
        bound("look", "form('look')"),
        bound("add", "form('addition')"),
        bound("sample", "form('sample')"),
        bound("barrel work", "form('treat')"),
        bound("fill", "form('fill')"),
        bound("rack", "form('rack')"),
        bound("move", "form('shift')"),
        bound("upkeep", "upkeep"),
        bound("rows", "filter", "filter"),
        bound("view", "app.switch_mode('figures')", "worth reading"),
        bound("print", "print_sheet", "save paper sheet"),
        bound("open", "sheet", "enter paper sheet"),
        bound("judge", "end", "sum up, end walk"),
    ]

    def became(self, stop: Stop, keys: Sequence[str], state: str) -> None:
        """Go on after some tasks and orders of a stop came to a state."""

    # --- forms ------------------------------------------------------------------------------------------------------

    def action_form(self, kind: str) -> None:
        """Ask for another entry at this vessel; it may be what the stop is for."""
        stop = self.stop
        if stop is None:
            return
        standing = self.cellar[stop.tag]
        if kind == "shift":
            self.app.push_screen(shift_form(self.app, standing), self._moved)
            return
        first = first_field(kind, standing)
        keg = {"from": self.keg} if kind == "top" and self.keg else {}
        self.open_form(KINDS[kind], self._known(stop) | keg, self._form_written, first=first)

    def _known(self, stop: Stop) -> dict[str, str]:
        """What a form at this stop knows: the vessel, and the time of a paper sheet."""
        walked_at = self.walk.walked_at if self.walk else None
        return {"vessel": stop.tag} | ({"when": show_when(walked_at)} if walked_at else {})

    def _moved(self, written: Written | None) -> None:
        if written is not None:
            self.show_written(written)

    def _form_written(self, written: Written) -> None:
        stop, task, walk, book = self.stop, fulfilled_by(written.act), self.walk, self.desk.book
        if stop is None or walk is None or task is None or task not in stop.open_tasks:
            return
        done = [task.value]
        self.desk.attempt(
            lambda _sure: mark_all(book, walk, [(stop.tag, task.value)], "done"),
            lambda _done: self.became(stop, done, "done"),
            self.refuse,
            rereads=False,
        )

    def action_upkeep(self) -> None:
        """Change how often this vessel is looked after, and its limits."""
        if self.stop is not None:
            self.app.push_screen(upkeep_form(self.app, self.cellar[self.stop.tag]), self._kept)

    def _kept(self, words: str | None) -> None:
        if words is not None:
            self.show_message(words)
            self.desk.read_again()

    def struck(self, entry: Entry, count: int = 1) -> None:
        """Go back to the stop whose entry was struck."""
        index = index_of_tag(self.stops.shown, entry.vessel or "")
        if index is not None:
            self.go(lambda: setattr(self.stops, "at", index))
        super().struck(entry, count)

    # --- a part of the walk -----------------------------------------------------------------------------------------

    def action_filter(self) -> None:
        """Choose one task or one room, or all again."""
        words = [("", "all stops"), *((word, word) for word in filter_words(self.stops.every))]
        self.app.push_screen(Pick("Show stops with", words, self.stops.only), self._choose)

    def _choose(self, word: str | None) -> None:
        if word is None:
            return
        try:
            chosen = read_filter(word, self.desk.cellar)
        except BadInput as error:
            self.refuse(error)
            return
        self.go(lambda: self.stops.choose(chosen if word else WalkFilter(), word))

    # --- sheets of paper --------------------------------------------------------------------------------------------

    def action_print_sheet(self) -> None:
        """Save the sheet for a walk without a laptop as a text that can be printed."""

        def save(path: Path | None) -> None:
            if path is not None:
                self.save_file(path, lambda force: save_sheet(self.desk.book, path, self.units, force=force))

        name = f"rounds-{local_day(self.desk.book.now())}.txt"
        self.app.push_screen(PathDialog("Save the paper sheet of the rounds", name, "a text"), save)

    def action_sheet(self) -> None:
        """Ask when a sheet was walked, and begin to enter it, stop by stop."""
        self.app.push_screen(When("When was the sheet walked?"), self._begin_sheet)

    def _begin_sheet(self, walked_at: datetime | None) -> None:
        if walked_at is None:
            return
        self.desk.attempt(lambda _sure: begin_sheet(self.desk.book, walked_at), self._enter_sheet, self.refuse)

    def _enter_sheet(self, walk: Walk) -> None:
        self.begin_walk(walk)
        self.set_focus(self.line)
        self.show_message("Type the sheet stop by stop; ending the walk returns to today's rounds.")

    def begin_walk(self, walk: Walk | None) -> None:
        """Put another walk in the place of this one; its stops are not known yet."""
        self.walk, self.past, self.is_known = walk, None, False
        self._done = {}
        self.go(self.stops.clear)

    # --- the end of the walk ----------------------------------------------------------------------------------------

    def action_end(self) -> None:
        """Sum up the walk; it ends only if the person confirms."""
        walk, stops, book = self.walk, list(self.stops.every), self.desk.book
        if walk is not None:
            self.run_slow_work("summary", lambda: summarise_walk(book, walk, stops, self.units), self._show_summary)

    def _show_summary(self, summary: WalkSummary) -> None:
        self.app.push_screen(WalkEnd(summary, self.units), self._ended)

    def _ended(self, ends: bool | None) -> None:
        if ends and self.walk is not None:
            walk, book = self.walk, self.desk.book
            self.desk.attempt(lambda _sure: end_walk(book, walk), self._begin_next_walk, self.refuse)

    def _begin_next_walk(self, _ended: None) -> None:
        self.begin_walk(None)
        self.set_focus(self.line)
        self.show_message("The walk is finished; the next walk begins here.")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done at this stop."""
        if action in ("form", "upkeep"):
            return self.stop is not None
        if action == "filter":
            return bool(self.stops.every)
        if action == "sheet":
            return self.walk is None or self.walk.walked_at is None
        return super().check_action(action, parameters)
