"""Rounds: the walk from barrel to barrel, the heart of the day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Label, Static

from cooperage.book import KINDS, Cellar, Written
from cooperage.book.log import Entry
from cooperage.book.vessel_words import vessel_line
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.rounds.due import Due, Task, next_task, rounds
from cooperage.programme.rounds.kegs import sources_for
from cooperage.programme.rounds.worth import ReadingWorth, readings_worth_most
from cooperage.programme.upkeep.beginnings import nothing_due
from cooperage.programme.walk.progress import Walk, begin_sheet, end_walk, mark_all, open_walk, states_of
from cooperage.programme.walk.stop_line import (
    NothingTyped,
    StopActs,
    all_in_order,
    parse_stop_line,
    write_stop_acts,
)
from cooperage.programme.walk.stops import Stop, fulfilled_by, index_of_tag, next_open, still_to_do, stops_of
from cooperage.programme.walk.summary import WalkSummary, summarise_walk
from cooperage.tui.rounds.answer_box import AnswerBox
from cooperage.tui.rounds.walk_end import WalkEnd
from cooperage.tui.rounds.when import When
from cooperage.tui.rounds.words import asked_words, source_words, stop_about, stop_line, walk_line, worth_words
from cooperage.tui.shared.act_form import first_field
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.tui.shared.line_list import LineList
from cooperage.units import show_when


@dataclass(frozen=True, slots=True)
class _RoundsData:
    """What the rounds are made of: loss rates by tag, what is due, a sheet's past cellar, the walk's stops."""

    rates: Mapping[str, LossRate]
    due: list[Due]
    past: Cellar | None
    walk_id: str
    states: dict[tuple[str, str], str]


class RoundsScreen(CellarScreen):
    """What is due, in walking order. Type the volume and press Enter: it is written, and the next barrel is up."""

    NAME = "rounds"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g", "all_good", "all good"),
        Binding("n,ctrl+n", "not_full", "not full"),
        Binding("k", "keg", "keg"),
        Binding("x", "leave_stop('skipped')", "skip"),
        Binding("u", "leave_stop('out of reach')", "out of reach"),
        Binding("d", "form('gauge')", "dip"),
        Binding("r", "form('reading')", "read"),
        Binding("p", "form('sample')", "sample"),
        Binding("a", "form('addition')", "add"),
        Binding("w", "words", "words"),
        Binding("o", "note", "look", show=False),
        Binding("b", "page", "barrel page"),
        Binding("e", "end", "end"),
        Binding("t", "sheet", "sheet"),
        Binding("v", "app.switch_mode('figures')", "worth reading", show=False),
        Binding("up", "step(-1)", "previous stop", show=False),
        Binding("down", "step(1)", "next stop", show=False),
        Binding("pageup", "step(-10)", "ten stops back", show=False),
        Binding("pagedown", "step(10)", "ten stops forward", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._walk: Walk | None = None
        self._stops: list[Stop] = []
        self._at: int | None = None
        self._not_full = False
        self._begun = ""
        self._instead: dict[str | None, str] = {}
        self._rates: Mapping[str, LossRate] | None = None
        self._past: Cellar | None = None
        self._worth: Mapping[str, ReadingWorth] = {}

    def compose_body(self) -> ComposeResult:
        """The walk, its stops, the current stop, and the box."""
        yield Static("", id="walk", markup=False)
        yield LineList(id="stops", can_focus=False)
        with Vertical(id="here"):
            yield Static("", id="about", markup=False)
            yield Static("", id="worth-here", markup=False)
            yield Static("", id="mind", markup=False)
            with Horizontal(id="answer-row"):
                yield Label("", id="asked", markup=False)
                yield AnswerBox(self._answered)
                yield Label("", id="source", markup=False)

    def on_mount(self) -> None:
        """Begin in the box."""
        self.set_focus(self.query_one(AnswerBox))

    # --- the stops --------------------------------------------------------------------------------------------------

    def show_cellar(self, cellar: Cellar) -> None:
        """Calculate what is due; the first time, also each barrel's own loss rate."""
        if self._walk is None:
            self.desk.attempt(lambda _sure: open_walk(self.desk.book), self._begin, self.refuse, rereads=False)
        walk = self._walk
        if walk is None:
            return

        def work() -> _RoundsData:
            rates, book = self._rates, self.desk.book
            if rates is None:
                rates = loss_rates(book, cellar)
            past = None if walk.walked_at is None else cellar_now(book, walk.walked_at)
            due = rounds(past or cellar, rates=rates, units=self.units)
            return _RoundsData(rates, due, past, walk.id, states_of(book, walk))

        self.run_slow_work("rounds", work, self._take_due)

    @property
    def _cellar(self) -> Cellar:
        """The cellar as it stood when this walk was walked."""
        return self._past or self.desk.cellar

    def _begin(self, walk: Walk) -> None:
        self._walk = walk

    def _take_due(self, data: _RoundsData) -> None:
        self._rates, self._past = data.rates, data.past
        self.desk.rates = data.rates
        if self._walk is None or self._walk.id != data.walk_id:
            return
        self._walk.states = data.states | self._walk.states  # what was done here since is newer
        here = self._stop
        self._stops = stops_of(data.due, self._walk, self._cellar, self.units)
        self._at = next((at for at, stop in enumerate(self._stops) if here and stop.key == here.key), None)
        if self._at is None:
            self._at = next_open(self._stops, -1)
            self._drop_typed(here)
        self._show()
        cellar, units = self._cellar, self.units
        self.run_slow_work("worth", lambda: readings_worth_most(cellar, units), self._take_worth)

    def _take_worth(self, found: list[ReadingWorth]) -> None:
        """Keep the best reading of each barrel that has one of the readings worth most in the cellar."""
        self._worth = {worth.vessel: worth for worth in reversed(found)}
        self._show_worth(self._stop)

    def _drop_typed(self, here: Stop | None) -> None:
        """Drop what was typed for a stop that has been done elsewhere: it must not go to another barrel."""
        if here is not None:
            self.query_one(AnswerBox).forget()
            self.show_message(f"{here.tag} is no longer due; someone has done it.")

    @property
    def _stop(self) -> Stop | None:
        return None if self._at is None else self._stops[self._at]

    def _show(self) -> None:
        self.query_one("#walk", Static).update(walk_line(self._walk, self._stops), layout=False)
        lines, stops = self.query_one(LineList), self._stops  # drawn later, when the walk may have another list
        lines.set_lines(len(stops), lambda index, width: stop_line(stops[index], width, self.units))
        lines.cursor = self._at or 0
        self._show_stop()
        self.refresh_bindings()

    def _show_stop(self) -> None:
        stop = self._stop
        about = self.query_one("#about", Static)
        self._show_worth(stop)
        self._show_cautions(stop)
        asked, source = self.query_one("#asked", Label), self.query_one("#source", Label)
        about.set_class(stop is None, "-nothing")
        if stop is None:
            about.update(self._nothing_due())
            asked.update("")
            source.update("")
            return
        standing = self._cellar[stop.tag]
        about.update(stop_about(stop, standing, self.desk.level(standing), self.units), layout=False)
        words = f"{stop.tag}  {asked_words(stop)} "
        asked.update(words, layout=cell_len(words) != asked.content_size.width)
        source.update(f" {self._source_words(stop)}", layout=False)

    def _show_worth(self, stop: Stop | None) -> None:
        """Show the reading that is worth most here; the line takes no room where there is none."""
        line, worth = self.query_one("#worth-here", Static), None if stop is None else self._worth.get(stop.tag)
        if worth is not None or line.display:
            line.display = worth is not None
            line.update("" if worth is None else worth_words(worth))

    def _show_cautions(self, stop: Stop | None) -> None:
        """Show what to mind at this stop; the line takes no room where there is nothing."""
        mind, found = self.query_one("#mind", Static), stop.cautions if stop is not None else ()
        if found or mind.display:
            mind.display = bool(found)
            mind.update(cautions_shown(found))

    def _nothing_due(self) -> str:
        if self._stops:
            return "Nothing more is due on this walk. Press e to finish and see the summary."
        return nothing_due(self._cellar, next_task(self._cellar, self.desk.rates))

    def _source_words(self, stop: Stop) -> str:
        return "" if stop.is_empty else source_words(self._keg, self._cellar, self.units, not_full=self._not_full)

    def _stand_at(self, index: int | None) -> None:
        """Go to a stop; what belonged to the previous stop is dropped."""
        self._at = index
        self._not_full = False
        self._begun = ""
        self._show()

    def _walk_to(self, index: int) -> None:
        """Go to a stop that the person chose: text and messages of another stop are dropped."""
        self.query_one(AnswerBox).forget()
        if index != self._at:
            self.show_message("")
        self._stand_at(index)

    def action_step(self, stops: int) -> None:
        """Go back or on, and leave the state of this stop as it is."""
        if self._stops:
            at = -1 if self._at is None else self._at
            self._walk_to(max(0, min(len(self._stops) - 1, at + stops)))

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """Go to the stop that was clicked; a message about an earlier cursor is ignored."""
        if event.index == event.lines.cursor != self._at and event.index < len(self._stops):
            self._walk_to(event.index)

    def found(self, tag: str) -> None:
        """Go to the barrel's stop; open its page when nothing is due there."""
        index = index_of_tag(self._stops, tag)
        if index is None:
            self.open_page(tag)
        else:
            self._walk_to(index)

    # --- the answer -------------------------------------------------------------------------------------------------

    def _answered(self, text: str) -> None:
        """Write what was typed at this stop, or go to the barrel whose tag it is; what is refused stays in the box."""
        stop = self._stop
        is_dealt_with = self.find_tag(text) if stop is None else self._answer(stop, text)
        if not is_dealt_with:
            self.query_one(AnswerBox).give_back(text)

    def _answer(self, stop: Stop, text: str) -> bool:
        """Return True if the answer was dealt with at once."""
        if text in self.desk.cellar:
            return self.find_tag(text)
        given = {"from": self._keg or "", "not-full": "yes" if self._not_full else ""}
        try:
            stop_acts = parse_stop_line(stop, text, given, self.desk.book.now(), self.units)
        except NothingTyped:
            if self._begun == stop.tag:
                self._stand_at(next_open(self._stops, self._at or 0))
                return True
            good = "Press g when all is in order, or x to skip." if all_in_order(stop).acts else "Press x to skip."
            self.show_message(f"Type what was done at {stop.tag} first. {good}")
            return True
        except BadInput as error:
            if not any(character.isspace() for character in text) and text[:1].isupper():
                return self.find_tag(text)
            self.refuse(error)
            return False
        return self._write(stop, stop_acts)

    def _write(self, stop: Stop, stop_acts: StopActs) -> bool:
        """Write the acts of this stop; return True if they are written."""
        walk, book, hand = self._walk, self.desk.book, self.desk.hand
        written: list[Written] = []

        def then(done: list[Written]) -> None:
            written.extend(done)
            self._written(stop, done, stop_acts)

        if walk is not None:
            self.desk.attempt(
                lambda sure: write_stop_acts(book, walk, stop, stop_acts, hand, sure=sure), then, self.refuse
            )
        return bool(written)

    def _written(self, stop: Stop, written: Sequence[Written], stop_acts: StopActs) -> None:
        if written:
            self.show_written(*written)
        if stop_acts.keg:
            self._instead[stop.keg] = stop_acts.keg
        tasks = stop.open_tasks if stop_acts.left else stop_acts.done_tasks
        self._go_on_from(stop, tasks, stop_acts.left or "done")

    @property
    def _walked_at(self) -> datetime | None:
        return self._walk.walked_at if self._walk else None

    def _became(self, stop: Stop, tasks: Sequence[Task], state: str) -> None:
        """Store what became of tasks and go on: to the next vessel once none is left."""
        walk, book = self._walk, self.desk.book
        keys = [(stop.tag, task.value) for task in tasks]
        if walk is not None:
            self.desk.attempt(
                lambda _sure: mark_all(book, walk, keys, state),
                lambda _done: self._go_on_from(stop, tasks, state),
                self.refuse,
                rereads=False,
            )

    def _go_on_from(self, stop: Stop, tasks: Sequence[Task], state: str) -> None:
        """Go on to the next vessel; while something is left to do here, stay until Enter on an empty line."""
        at = next(at for at, each in enumerate(self._stops) if each.key == stop.key)
        self._stops[at] = self._stops[at].with_state(tasks, state)
        self.query_one(AnswerBox).settle()
        following = at if self._stops[at].open_tasks else next_open(self._stops, at)
        self._stand_at(following)
        self._begun = stop.tag if following == at else ""
        if following is None:
            self.action_end()

    def action_leave_stop(self, state: str) -> None:
        """Go on without doing this stop, and store why."""
        if (stop := self._stop) is not None:
            self.show_message(f"{stop.tag} {still_to_do(stop)}: {state}")
            self._became(stop, stop.open_tasks, state)

    def action_all_good(self) -> None:
        """Write that the barrel was looked at, tasted or sniffed and is in order."""
        if (stop := self._stop) is not None:
            self._write(stop, all_in_order(stop))

    def action_words(self) -> None:
        """Accept words in the box: a level, the bung, a smell, a dip, a sulphite reading, the air, a note."""
        self.query_one(AnswerBox).open_to_words()

    # --- kegs -------------------------------------------------------------------------------------------------------

    @property
    def _keg(self) -> str | None:
        """The keg of this stop: the suggested keg, unless another was chosen instead."""
        suits = self._stop.keg if self._stop else None
        return self._instead.get(suits, suits)

    def action_keg(self) -> None:
        """Choose another keg, for this stop and every stop with the same suggested keg."""
        stop = self._stop
        if stop is None:
            return

        def picked(tag: str | None) -> None:
            if tag is not None:
                self._instead[stop.keg] = tag
                self._show_stop()

        choices = [(s.tag, vessel_line(s, self.units)) for s in sources_for(self._cellar[stop.tag], self._cellar)]
        if choices:
            self.app.push_screen(Pick(f"Top {stop.tag} from", choices, self._keg or ""), picked)
        else:
            self.show_message("No vessel holds anything to top with.")

    def action_not_full(self) -> None:
        """Mark that this topping does not reach the bung, or that it does."""
        self._not_full = not self._not_full
        self._show_stop()

    # --- everything else that is done at a barrel -------------------------------------------------------------------

    def action_form(self, kind: str) -> None:
        """Ask for another entry at this barrel; it may be what the stop is for."""
        if (stop := self._stop) is not None:
            first = first_field(kind, self._cellar[stop.tag])
            self.open_form(KINDS[kind], self._known(stop), self._form_written, first=first)

    def _known(self, stop: Stop) -> dict[str, str]:
        """What a form at this stop knows: the barrel, and the time of a paper sheet."""
        return {"vessel": stop.tag} | ({"when": show_when(self._walked_at)} if self._walked_at else {})

    def action_note(self) -> None:
        """Write down what was seen and smelled."""
        if (stop := self._stop) is not None:
            title = f"note what was seen at {stop.tag}"
            self.open_form(KINDS["look"], self._known(stop), self._form_written, title=title, first="note")

    def _form_written(self, written: Written) -> None:
        stop, task = self._stop, fulfilled_by(written.act)
        if stop is not None and task in stop.open_tasks:
            self._became(stop, [task], "done")

    def action_page(self) -> None:
        """Open the page of the barrel of this stop."""
        if self._stop is not None:
            self.open_page(self._stop.tag)

    def struck(self, entry: Entry, count: int = 1) -> None:
        """Go back to the stop whose entry was struck."""
        index = index_of_tag(self._stops, entry.vessel or "")
        if index is not None:
            self._walk_to(index)
        super().struck(entry, count)

    # --- a sheet that was walked on paper ---------------------------------------------------------------------------

    def action_sheet(self) -> None:
        """Ask when the sheet was walked, and begin to enter it, stop by stop."""
        self.app.push_screen(When("When was the sheet walked?"), self._begin_sheet)

    def _begin_sheet(self, walked_at: datetime | None) -> None:
        if walked_at is None:
            return
        self.desk.attempt(lambda _sure: begin_sheet(self.desk.book, walked_at), self._enter_sheet, self.refuse)

    def _enter_sheet(self, walk: Walk) -> None:
        self._walk, self._stops, self._at = walk, [], None
        self.show_message("Type the sheet stop by stop; press e to finish and return to today's rounds.")

    # --- the end of the walk ----------------------------------------------------------------------------------------

    def action_end(self) -> None:
        """Sum up the walk; it ends only if the person confirms."""
        walk, stops, book = self._walk, list(self._stops), self.desk.book
        if walk is not None:
            self.run_slow_work("summary", lambda: summarise_walk(book, walk, stops, self.units), self._show_summary)

    def _show_summary(self, summary: WalkSummary) -> None:
        self.app.push_screen(WalkEnd(summary, self.units), self._ended)

    def _ended(self, ends: bool | None) -> None:
        if ends and self._walk is not None:
            walk, book = self._walk, self.desk.book
            self.desk.attempt(lambda _sure: end_walk(book, walk), self._begin_next_walk, self.refuse)

    def _begin_next_walk(self, _ended: None) -> None:
        self._walk, self._past, self._stops, self._at = None, None, [], None
        self.show_message("The walk is finished; the next walk begins here.")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Offer only what can be done at this stop."""
        stop = self._stop
        if action in ("not_full", "keg"):
            return stop is not None and not stop.is_empty
        if action == "all_good":
            return stop is not None and bool(all_in_order(stop).acts)
        if action in ("form", "note", "words", "leave_stop", "page"):
            return stop is not None
        if action == "sheet":
            return self._walked_at is None
        return True

    def action_back(self) -> None:
        """Empty the box; or close the find box when that is open."""
        super().action_back()
        self.query_one(AnswerBox).forget()
