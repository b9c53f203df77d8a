"""What the rounds show: the stops, the card of the one at hand, the answer above the line, and what is half typed."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from rich.cells import cell_len
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Container
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.errors import CooperageError
from cooperage.programme.orders.checked import Checked
from cooperage.programme.rounds.worth import ReadingWorth
from cooperage.programme.signs.sign import Sign
from cooperage.programme.signs.waiting import worst_first
from cooperage.programme.walk.announced import announced
from cooperage.programme.walk.done_here import DoneHere
from cooperage.programme.walk.progress import Walk
from cooperage.programme.walk.stop_line import all_in_order
from cooperage.programme.walk.stops import Stop
from cooperage.tui.drafts import Drafts, HalfTyped
from cooperage.tui.on_screen import said
from cooperage.tui.rounds.answer import AnswerRows, refusal
from cooperage.tui.rounds.card import CardOf, card
from cooperage.tui.rounds.drawn import CardLines, StopList
from cooperage.tui.rounds.line_words import Understood, rows_when_empty, understand
from cooperage.tui.rounds.stops_at_hand import StopsAtHand
from cooperage.tui.rounds.walk_line import WalkLine
from cooperage.tui.rounds.words import stop_line, todo_words, trouble_words, walk_line
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import nothing_due
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.steady import Steady
from cooperage.units import local_day

_WIDE = 110
"""From so many columns the card stands beside the list, half as wide as the screen."""
_FRAME, _FEWEST_LISTED, _TALLEST = 4, 3, 16
_NO_CARD = Content("")
_SMALL_SIGNS = ("strength", "class line")
"""Signs that nothing is done about on a walk."""


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question that stands above the line, and what a yes does."""

    words: Content
    yes: Callable[[], None]


class WalkShown(CellarScreen):
    """The walk on screen; what is half typed belongs to its vessel."""

    def __init__(self) -> None:
        super().__init__()
        self.walk: Walk | None = None
        self.stops = StopsAtHand()
        self.drafts = Drafts()
        self.past: Cellar | None = None
        self.is_known = False
        self.comes_next = ""
        self._instead: dict[str | None, str] = {}
        self._done: dict[str, DoneHere] = {}
        self._signs: Mapping[str, list[Sign]] = {}
        self._worth: Mapping[str, ReadingWorth] = {}
        self._listed: list[Stop] = []
        self._cards: dict[object, tuple[Content, int]] = {}
        self._to_do: dict[object, tuple[Stop, list[Content]]] = {}
        self.checked: Mapping[int, Checked] = {}
        self._asked: OpenQuestion | None = None
        self._message, self._refusal = Content(""), Content("")
        self._seen = ""
        self._begun = ""
        self._offered: object = ()

    def compose_body(self) -> ComposeResult:
        """The walk, its stops, and the card of the stop at hand."""
        yield Static("", id="walk", markup=False)
        with Container(id="walked"):
            yield StopList(id="stops")
            yield CardLines(id="card")

    def make_answer(self) -> AnswerRows:
        """Make the rows that show what Enter would write."""
        return AnswerRows()

    def compose_line(self) -> ComposeResult:
        """Yield the tag of the stop at hand and the line."""
        yield Steady("›", id="prompt", markup=False)
        yield WalkLine()

    def on_mount(self) -> None:
        """Begin in the line, with what was half typed earlier today."""
        self.drafts.take_up(self.desk.book.name, str(local_day(self.desk.book.now())))
        self.set_focus(self.line)

    def on_resize(self, _event: Resize) -> None:
        """Fit the card and the answer to the screen."""
        self.call_after_refresh(self.show_walk)

    @property
    def line(self) -> WalkLine:
        """The line."""
        return self.query_one(WalkLine)

    @property
    def stop(self) -> Stop | None:
        """The stop at hand."""
        return self.stops.here

    @property
    def pointed(self) -> str:
        """The vessel of the stop at hand."""
        return "" if self.stop is None else self.stop.tag

    @property
    def cellar(self) -> Cellar:
        """The cellar as it stood when this walk was walked."""
        return self.past or self.desk.cellar

    @property
    def keg(self) -> str | None:
        """The keg of this stop: the suggested one, unless another was named in its place on this walk."""
        suits = self.stop.keg if self.stop else None
        return self._instead.get(suits, suits)

    # --- the list and the card --------------------------------------------------------------------------------------

    def show_walk(self) -> None:
        """Show the walk, its stops and the one at hand; only what differs is drawn."""
        walk = self.walk if self.is_known else None
        walked = walk_line(walk, self.stops.every, self.stops.only, self.size.width - 2, self.desk.book.now())
        self.query_one("#walk", Static).update(walked, layout=False)
        lines, stops = self.query_one(StopList), self.stops.shown  # drawn later, when the walk may have another list
        now, done, signs, inked = self.cellar.at, self._done, self._signs, partial(ink, self.app)

        def draw(index: int, width: int) -> Text:
            stop = stops[index]
            trouble = trouble_words(stop, signs.get(stop.tag, ()))
            return stop_line(stop, width, self.units, inked, done.get(stop.tag), trouble, now)

        lines.set_lines(len(stops), draw)
        self._listed = stops
        self._cards.clear()
        self._to_do.clear()
        self.show_pointer()

    def show_pointer(self) -> None:
        """Show which stop is at hand; the lines of the list stay as they are."""
        if self.stops.at is not None:
            self.query_one(StopList).cursor = self.stops.at
        self.show_stop()

    def show_stop(self) -> None:
        """Show the stop at hand: its card, its tag before the line, the answer."""
        stop, prompt = self.stop, self.query_one("#prompt", Steady)
        words = f"{stop.tag} › " if stop is not None else "› "
        if words != str(prompt.content):
            is_as_wide = cell_len(words) == cell_len(str(prompt.content))
            prompt.update(words, layout=False)
            if not is_as_wide:
                prompt.refresh(layout=True)
        if stop is not None and self.is_active:  # another screen has another vessel in hand
            self.desk.tag = stop.tag
        self.line.may_be_brought_back = self.drafts.cleared(stop.tag) if stop is not None else ""
        self._show_card(stop)
        self.show_answer()
        self._offer_keys(stop)

    def _offer_keys(self, stop: Stop | None) -> None:
        """Show the keys again where other ones act than before."""
        acts = None if stop is None else (bool(stop.open_keys), bool(stop.order_at_hand), bool(all_in_order(stop).acts))
        offered = acts, stop is not None and bool(stop.open_orders), self._asked is None
        if offered != self._offered:
            self._offered = offered
            self.refresh_bindings()

    def _show_card(self, stop: Stop | None) -> None:
        shown, width = self.query_one(CardLines), self.size.width
        is_beside = width >= _WIDE
        room = max(0, self.size.height - _FRAME - (3 if self.size.height >= 24 else 2))
        rows, most = (room, room) if is_beside else (min(_TALLEST, room * 3 // 5), room - 1 - _FEWEST_LISTED)
        inside = width // 2 - 3 if is_beside else width - 2
        words, needed = self._card(stop, inside, rows, is_roomy=is_beside)
        shown.styles.height = None if is_beside else 1 + max(1, min(most, max(rows, needed)))
        shown.show_card(words)

    def _card(self, stop: Stop | None, width: int, rows: int, *, is_roomy: bool) -> tuple[Content, int]:
        """Return the card of a stop and how many rows it takes; each is made once until the walk changes."""
        if stop is None:
            return _NO_CARD, 0
        key = (stop.tag, self.keg, width, rows)
        if key not in self._cards:
            words = card(self._card_of(stop), width, rows, self.units, is_roomy=is_roomy)
            self._cards[key] = words, words.get_height({}, max(1, width))
        return self._cards[key]

    def _card_of(self, stop: Stop) -> CardOf:
        standing = self.cellar[stop.tag]
        signs = [sign for sign in self._signs.get(stop.tag, ()) if sign.kind != "leak" or not stop.warning]
        level = stop.level or self.desk.level(standing)
        return CardOf(stop, standing, level, self.keg or "", signs, self._worth.get(stop.tag))

    def take_signs(self, found: Sequence[Sign], worth: Sequence[ReadingWorth]) -> None:
        """Show what is wrong where, the worst first, and the best reading of each barrel that has one."""
        signs: dict[str, list[Sign]] = defaultdict(list)
        for sign in worst_first(found):
            if sign.kind not in _SMALL_SIGNS:
                signs[sign.vessel].append(sign)
        self._signs, self._worth = signs, {each.vessel: each for each in reversed(worth)}
        self.show_walk()

    # --- the answer -------------------------------------------------------------------------------------------------

    def show_answer(self) -> None:
        """Show what is asked back, or what was refused, or what Enter would write, or what is to do here."""
        self.line.is_asked = self._asked is not None
        self.query_one(AnswerRows).show_rows(self._rows())

    def _rows(self) -> list[Content]:
        if self._asked is not None:
            return [self._asked.words]
        if self._refusal:
            return [self._refusal, Content(self._nothing_to_do())]
        if self.line.value.strip():
            return [self._message, self.understood().words, Content(self._nothing_to_do())]
        stop = self.stop
        if stop is None:
            return [self._message, Content(self._nothing_to_do())]
        return self._rows_to_do(stop) if self._message else self._kept_to_do(stop)

    def _kept_to_do(self, stop: Stop) -> list[Content]:
        """Return what is to do at a stop, made once until the walk changes."""
        key = id(stop), self.keg, self.size
        if key not in self._to_do:
            self._to_do[key] = stop, self._rows_to_do(stop)  # the stop too, for its id must not be another's
        return self._to_do[key][1]

    def _rows_to_do(self, stop: Stop) -> list[Content]:
        todo = [todo_words(stop, self.keg, self.cellar, self.units, is_short=short) for short in (False, True)]
        in_order = announced(all_in_order(stop), self.cellar, self.units)
        width, most = max(1, self.size.width - 2), self._usual_rows
        is_open, at_hand = bool(stop.open_keys), stop.order_at_hand
        ordered = "" if at_hand is None else at_hand.does
        return rows_when_empty(todo, in_order, self._message, most=most, width=width, is_open=is_open, ordered=ordered)

    @property
    def _usual_rows(self) -> int:
        return 3 if self.size.height >= 24 else 2

    def _nothing_to_do(self) -> str:
        """Return why no stop is at hand; empty where one is."""
        if self.stop is not None:
            return ""
        if not self.is_known:
            return "Calculating what is due."
        if self.stops.every:
            return "All stops of this walk are dealt with. Enter sums it up."
        return nothing_due(self.cellar, self.comes_next)

    def understood(self) -> Understood:
        """Return what the line means at the stop at hand."""
        given = {"from": self.keg or ""}
        now, here = self.desk.book.now(), () if self.stop is None else self.stop.open_orders
        orders = [self.checked[each.number] for each in here if each.number in self.checked]
        return understand(self.stop, self.line.value, given, self.cellar, now, self.units, orders)

    def show_message(self, words: str) -> None:
        """Show a message above the line, until something is typed or the walk goes on."""
        self._shown_ids = ()
        self._message, self._refusal, self._asked = Content(words), Content(""), None
        self.show_answer()

    def forget_message(self) -> None:
        """Forget the message; the answer is shown by what comes next."""
        self._shown_ids, self._message, self._refusal = (), Content(""), Content("")

    def refuse(self, error: CooperageError) -> None:
        """Show what was refused and why; what is typed stays."""
        self._refusal, self._asked = refusal(error, said(error, self.units)), None
        self.show_answer()

    def ask(self, words: str, yes: Callable[[], None]) -> None:
        """Ask above the line: + does what a yes does, - goes back to the line, Esc clears it."""
        self._asked = OpenQuestion(Content.styled(f"○ {words}", "bold"), yes)
        self.show_answer()
        self.refresh_bindings()

    @property
    def is_asked(self) -> bool:
        """Whether a question stands above the line."""
        return self._asked is not None

    def drop_question(self) -> OpenQuestion | None:
        """Take back the question that stands, and return it."""
        asked, self._asked = self._asked, None
        self.line.is_asked = False
        if asked is not None:
            self.refresh_bindings()
        return asked

    # --- what is typed ----------------------------------------------------------------------------------------------

    @on(WalkLine.Changed, "#line")
    def _typed(self, event: WalkLine.Changed) -> None:
        event.stop()
        if self.line.value != self._seen:
            self._seen = self.line.value
            self._message, self._refusal = Content(""), Content("")
            self.drop_question()
            if self.stop is not None:
                self.drafts.keep(self.stop.tag, self.line.draft)
            self.show_answer()

    def save_drafts(self, but: str = "") -> None:
        """Save what is half typed, `but` for one vessel, for when the program opens again today."""
        self.drafts.save(self.desk.book.name, str(local_day(self.desk.book.now())), but)

    def on_unmount(self) -> None:
        """Save what is half typed before the program ends."""
        self.save_drafts()

    def put_line(self, draft: HalfTyped) -> None:
        """Show another line than is typed; it is not taken for something that was typed."""
        self._seen = draft.text
        self.drop_question()
        self._refusal = Content("")
        self.line.put(draft)

    def go(self, move: Callable[[], object], *, is_same_walk: bool = False) -> None:
        """Go to another stop; what is half typed here stays with this one, and what was there is in the line again."""
        before = self.stop
        if before is not None:
            self.drafts.keep(before.tag, self.line.draft)
            self.save_drafts()
        move()
        after = self.stop
        if after is not None and (before is None or after.tag != before.tag):
            is_new = before is None and self.line.value.strip()
            self.put_line(self.line.draft if is_new else self.drafts.of(after.tag))
        elif after is None and before is not None:
            self.put_line(HalfTyped())
        if is_same_walk and self._listed is self.stops.shown:
            self.show_pointer()
        else:
            self.show_walk()

    def stand_at(self, index: int | None) -> None:
        """Go to a stop; what was half typed there is in the line again."""
        self._begun = ""
        self.go(lambda: setattr(self.stops, "at", index))

    def walk_to(self, index: int) -> None:
        """Go to a stop that the person chose; a message about another one goes."""
        if index != self.stops.at:
            self.forget_message()
        self._begun = ""
        self.go(lambda: setattr(self.stops, "at", index), is_same_walk=True)
