"""What is typed, scanned or answered on the rounds, and how it is written."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from cooperage.book import Written
from cooperage.book.errors import NoSuchVessel
from cooperage.book.log import entries
from cooperage.errors import AskedBack, BadInput
from cooperage.programme.orders.at_stops import closing
from cooperage.programme.orders.order import Order
from cooperage.programme.walk.announced import announced
from cooperage.programme.walk.done_here import DoneHere, done_by
from cooperage.programme.walk.slips import NotAWord
from cooperage.programme.walk.stop_line import HOW, StopActs, all_in_order, write_stop_acts
from cooperage.programme.walk.stops import Stop, StopOrder, still_to_do
from cooperage.tui.drafts import HalfTyped
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import pressed
from cooperage.tui.on_screen import on_screen, said
from cooperage.tui.rounds.acts_here import ActsAtStop
from cooperage.tui.rounds.drawn import StopList
from cooperage.tui.shared.bars import TopBar
from cooperage.units import show_clock

NO_ORDERS: Mapping[int, Order] = MappingProxyType({})


class LineTyped(ActsAtStop):
    """The walk, with the line that is typed at its stops."""

    # --- scans and tags ---------------------------------------------------------------------------------------------

    def found(self, tag: str) -> None:
        """Go to the vessel's stop; open its page when nothing is due there."""
        index = self.stops.place_of(tag)
        if index is None:
            self.open_page(tag)
        else:
            self.walk_to(index)
            self.set_focus(self.line)

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Go to what was scanned, or refuse it above the line; what is half typed stays with its vessel."""
        if not self.desk.is_like_a_tag(text):
            return Scanned.LEFT
        self.put_line(self.line.draft)
        if self.find_tag(text):
            return Scanned.TAKEN
        if not stood:
            self._keep_refused(text)
        return Scanned.REFUSED

    def find_tag(self, typed: str) -> bool:
        """Go to the vessel with this tag, or to the lot, bottling or flight with this code; else refuse it."""
        try:
            tag = self.desk.find(typed)
        except NoSuchVessel as error:
            if (place := self.desk.page_of(typed)) is not None:
                self.app.call_later(self.desk.go_to, *place)
                return True
            self.refuse(error)
            return False
        self.found(tag)
        return True

    def _keep_refused(self, text: str) -> None:
        """Leave a refused tag in the line, selected, so that the next one takes its place; it can be brought back."""
        if self.stop is not None:
            self.drafts.clear(self.stop.tag, text)
            self.line.may_be_brought_back = text
        refused = self._refusal
        self.put_line(HalfTyped(text, len(text)))
        self._refusal = refused
        self.line.select_all_typed()
        self.show_answer()

    def action_find(self) -> None:
        """Go to the line."""
        self.set_focus(self.line)

    # --- the line ---------------------------------------------------------------------------------------------------

    def action_hand_over(self) -> None:
        """Write what the answer shows, or go to the vessel whose tag was typed; what is refused stays in the line."""
        text = self.line.value.strip()
        if self._asked is not None:
            return  # only + and - answer a question
        if not text:
            self._enter_on_nothing()
            return
        stop, found = self.stop, self.understood()
        if found.tag:
            self.put_line(HalfTyped())
            self.find_tag(found.tag)
        elif stop is not None and found.acts is not None:
            self._write(stop, found.acts, found.named, found.orders)
        elif stop is None or (" " not in text and text[:1].isupper()):
            self._find_typed(text)
        elif found.error is not None:
            self._refuse_line(found.error)

    def _find_typed(self, text: str) -> None:
        """Find what was typed as a tag; it leaves the line only when it is found."""
        typed = self.line.draft
        self.put_line(HalfTyped())
        if not self.find_tag(text):
            self._keep_refused(typed.text)

    def _refuse_line(self, error: BadInput) -> None:
        """Show what is not understood and where; offer the nearest word."""
        self.refuse(error)
        if isinstance(error, NotAWord):
            self.line.mark_refused(error.place)
            if error.nearest:
                self._offer(error)

    def _offer(self, error: NotAWord) -> None:
        text, (start, end) = self.line.value, error.place
        mended = f"{text[:start]}{error.nearest}{text[end:]}"

        def mend() -> None:
            self.put_line(HalfTyped(mended, start + len(error.nearest)))
            self.show_answer()

        keys = (f"{pressed('yes')} takes it", f"{pressed('no')} goes back to the line", f"{pressed('back')} clears it.")
        self.ask(f"{said(error, self.units)} {', '.join(keys)}", mend)
        self.line.mark_refused(error.place)

    def _enter_on_nothing(self) -> None:
        stop = self.stop
        if stop is None:
            if self.stops.every:
                self.action_end()
        elif self._begun == stop.tag or not stop.open_keys:
            self.forget_message()
            self.stand_at(self.stops.following())
        else:
            good = f"{pressed('yes')} when all is in order, " if all_in_order(stop).acts else ""
            good = f"{pressed('yes')} as ordered, " if stop.order_at_hand is not None else good
            self.show_message(f"Type what was done at {stop.tag} first, {HOW}; {good}{pressed('no')} to skip it.")

    def action_all_in_order(self) -> None:
        """Write that the vessel was looked at, tasted or sniffed and is in order."""
        if (stop := self.stop) is not None:
            found = all_in_order(stop)
            self._write(stop, found, announced(found, self.cellar, self.units))

    def action_leave_stop(self, state: str) -> None:
        """Go on without doing what is left at this vessel, and remember why."""
        if (stop := self.stop) is not None:
            self._write(stop, StopActs((), left=state), (f"{state}: {still_to_do(stop)}",))

    def action_answer_yes(self) -> None:
        """AnswerRows the question above the line."""
        if (asked := self.drop_question()) is not None:
            asked.yes()

    def action_answer_no(self) -> None:
        """Go back to the line, which is as it was."""
        self.drop_question()
        self.show_answer()

    def action_clear_line(self) -> None:
        """Clear the line, so that it can be brought back; what was asked about it goes too."""
        stop, text = self.stop, self.line.value
        self.put_line(HalfTyped())
        if stop is not None:
            self.drafts.clear(stop.tag, text)
            self.line.may_be_brought_back = self.drafts.cleared(stop.tag)
            self.show_message(f"Cleared; {pressed('right')} brings back: {text.strip()}")
        else:
            self.show_answer()

    def action_to_list(self) -> None:
        """Go to the list of stops, where letters act."""
        self.set_focus(self.query_one(StopList))

    # --- writing ----------------------------------------------------------------------------------------------------

    def _write(
        self, stop: Stop, stop_acts: StopActs, named: Sequence[str], orders: Mapping[int, Order] = NO_ORDERS
    ) -> None:
        """Write what was announced, and close the orders that it does; the book's question is asked above the line."""
        walk, book, hand = self.walk, self.desk.book, self.desk.hand
        if walk is None:
            return
        self.save_drafts(but=stop.tag)  # before it is written: it must never come back as half typed
        self.desk.attempt(
            lambda sure: write_stop_acts(book, walk, stop, stop_acts, hand, sure=sure, closing=closing(orders)),
            lambda written: self._written(stop, written, stop_acts, named, orders),
            self.refuse,
            ask=lambda question, yes: self.ask_above_line(question, " · ".join(named), yes),
        )

    def ask_above_line(self, question: AskedBack, writes: str, yes: Callable[[], None]) -> None:
        """Ask what the book asks back, and what a yes writes."""
        words = on_screen(question.question(self.units))
        clears = f", {pressed('back')} clears it" if self.line.value else ""
        self.ask(
            f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '?')) else '.'} "
            f"{pressed('yes')} writes: {writes}. {pressed('no')} goes back to the line{clears}.",
            yes,
        )

    def _written(
        self,
        stop: Stop,
        written: Sequence[Written],
        stop_acts: StopActs,
        named: Sequence[str],
        orders: Mapping[int, Order],
    ) -> None:
        if self.stop is not None and self.stop.tag == stop.tag:
            self.put_line(HalfTyped())
        self.drafts.written(stop.tag)
        if stop_acts.hand:
            self.desk.hand = stop_acts.hand
            self.query_one(TopBar).show_hand(stop_acts.hand)
        if stop_acts.keg:
            self._instead[stop.keg] = stop_acts.keg
        self.add_done(written)
        done = [*stop_acts.done_tasks, *(StopOrder(order.number).key for order in orders.values())]
        self.became(stop, stop.open_keys if stop_acts.left else done, stop_acts.left or "done")
        self._show_what_was_written(stop, written, named)

    def _show_what_was_written(self, stop: Stop, written: Sequence[Written], named: Sequence[str]) -> None:
        if written:
            time, here = show_clock(self.desk.book.now()), self.stop
            left = still_to_do(here) if here is not None and here.tag == stop.tag else ""
            stays = f"   Still to do here: {left}" if left else ""
            self.show_message(f"Written {time}  {stop.tag}  {' · '.join(named)}  ✓{stays}")
            self._shown_ids = tuple(each.id for each in written)
        else:
            self.show_message(f"{stop.tag}  {' · '.join(named)}")

    def add_done(self, written: Sequence[Written]) -> None:
        """Put what was written into the row of its stop at once."""
        with self.desk.book.reading() as connection:
            found = entries(connection, ids=[each.id for each in written], in_written_order=True)
        for tag, new in done_by(found, self.units).items():
            before = self._done.get(tag)
            self._done[tag] = DoneHere(f"{before.words} · {new.words}" if before else new.words, new.at)

    def became(self, stop: Stop, keys: Sequence[str], state: str) -> None:
        """Go on to the next vessel; while something is left to do here, stay until Enter on an empty line."""
        current = next((each for each in self.stops.every if each.tag == stop.tag), stop).with_state(keys, state)
        self.stops.put(current)
        if current.open_keys:
            self._begun = stop.tag if keys else self._begun
            self.show_walk()
            return
        following = self.stops.following()
        self.stand_at(following)
        if following is None and self.stops.every:
            self.action_end()
