"""A new flight: which vessels, who tastes, what is scored, a control, how much to pull of each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.book import Book
from cooperage.book.declared.fields import Holds
from cooperage.book.vessel_words import vessel_line
from cooperage.errors import CooperageError
from cooperage.programme.search.marks import Marks
from cooperage.programme.several.named import names_several, shown_tags, vessels_named
from cooperage.tasting.flights import Flight, flights
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, vocabulary
from cooperage.tasting.pulling import (
    UsualFlight,
    ask_if_none_known,
    check_holds,
    last_pull,
    pull_flight,
    pull_words,
    read_pull,
    usual_flight,
)
from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.field_list import FieldList, walk
from cooperage.tui.shared.fields import AskedField, FieldRow
from cooperage.tui.shared.line_list import LineList
from cooperage.units import Quantity, counted, local_day


class MarkList(LineList):
    """A list whose lines are marked with Space or Enter."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("mark", "take"),
        bound("enter", "take", "mark", show=False),
    ]


@dataclass(slots=True)
class LeftForm:
    """What was marked and typed in a form that was left without pouring, and the day; it is there again on that day."""

    day: date | None = None
    marked: Sequence[str] = ()
    texts: Mapping[str, str] = field(default_factory=dict)


class NewFlight(KeepsStyles[Flight | None], ModalScreen[Flight | None]):
    """Asks for a flight and pours it; closes only when it is poured or left."""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-usual")]  # noqa: RUF012 - typed by Textual
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-roomy")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("write", "pour", "pour", priority=True),
        bound("next", "pass_on(1)", "next field", show=True),
        bound("previous", "pass_on(-1)", "previous field"),
        bound("back", "leave", "close"),
    ]

    def __init__(self, left: LeftForm | None = None) -> None:
        super().__init__(classes="dialog")
        self._tags: list[str] = []
        self._marked: list[str] = []
        self._left = left or LeftForm()

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Ask which vessels, then how; as the last flight was poured is proposed."""
        poured = flights(self.desk.book)
        with Vertical(classes="box"):
            yield Static("Pour a flight", classes="title")
            with Horizontal(classes="asked"):
                yield Label("Vessels")
                yield Input(id="tag", compact=True, placeholder="tags, then Enter: B-001..B-006")
                yield Label("", id="marked", markup=False)
            yield MarkList(id="vessels")
            yield FieldList(self._asked(poured), self.desk.cellar, box=48)
            yield StatusLine()
            yield KeyBar()

    def _asked(self, poured: Sequence[Flight]) -> Iterator[tuple[AskedField, str]]:
        """Yield what is asked of a flight, with what the last one had."""
        usual, book = usual_flight(poured), self.desk.book
        pull = pull_words(last_pull(book, self.desk.hand))
        hands = dict.fromkeys([*(taster for each in poured for taster in each.panel), *self.desk.hands()])
        names = tuple(term.name for term in vocabulary(book) if term.kind == ATTRIBUTE)
        text, flag = Holds.TEXT, Holds.FLAG
        yield AskedField("name", "name", text, example="autumn lots"), ""
        tasters = AskedField("tasters", "tasters", text, usual="names, with commas", names=tuple(hands), several=True)
        yield tasters, ", ".join(usual.tasters)
        scored = "honey, oak=0-100 mm; blank: overall alone"
        yield AskedField("scored", "scored besides", text, usual=scored, names=names, several=True), _shown(usual, book)
        yield AskedField("scale", "overall scale", text, example="0-20"), usual.scale
        yield AskedField("pull", "pull of each", Quantity.VOLUME, usual="no sample is written"), pull
        yield AskedField("twice", "one of them twice, hidden", flag), ""
        yield AskedField("control", "control", Holds.TAG, usual="none; or a vessel's tag"), ""
        yield AskedField("known", "all know the control", flag), ""

    def on_mount(self) -> None:
        """List what holds something, in walking order."""
        there = [s for s in self.desk.cellar.in_walking_order() if s.ml and not s.is_retired]
        self._tags = [standing.tag for standing in there]
        self._take_up()
        lines = [vessel_line(standing, self.desk.units) for standing in there]

        def draw(index: int, width: int) -> Text:
            mark = "✓" if self._tags[index] in self._marked else " "
            line = Text(f" {mark} {lines[index]}", no_wrap=True)
            line.truncate(width, overflow="ellipsis")
            return line

        listed = self.query_one(MarkList)
        listed.set_lines(len(lines), draw)
        listed.cursor = next((place for place, tag in enumerate(self._tags) if tag in self._marked), 0)
        self.rows["pull"].show_unit("mL")
        self._show_marked()
        self.query_one("#tag").focus()

    def _take_up(self) -> None:
        """Take up what was left today."""
        if self._left.day == local_day(self.desk.book.now()):
            self._marked = [tag for tag in self._left.marked if tag in self._tags]
            for name, text in self._left.texts.items():
                self.rows[name].set_text(text)

    def action_leave(self) -> None:
        """Close without pouring; what was marked and typed is kept for today."""
        self._left.day, self._left.marked = local_day(self.desk.book.now()), tuple(self._marked)
        self._left.texts = {name: row.text for name, row in self.rows.items()}
        self.dismiss(None)

    @property
    def rows(self) -> Mapping[str, FieldRow]:
        """The fields by their names."""
        return self.query_one(FieldList).by_name

    def _toggle(self, tag: str) -> None:
        if tag in self._marked:
            self._marked.remove(tag)
        else:
            self._marked.append(tag)
        self._show_marked()
        self._announce()

    def _announce(self) -> None:
        """Show what the key that pours would do with what is marked."""
        glasses = counted(len(self._marked), "glass", "glasses")
        words = f"{pressed('write')} pours {glasses} blind, in an order for each taster."
        self.query_one(StatusLine).show_message(words if self._marked else "")

    def _show_marked(self) -> None:
        marked = sorted(self._marked)
        label = f"{len(marked)} marked: {shown_tags(marked)}" if marked else "none marked yet"
        self.query_one("#marked", Label).update(label)
        self.query_one(MarkList).lines_changed()

    def on_line_list_taken(self, event: LineList.Taken) -> None:
        """Mark a line, or take its mark away, and go on to the next."""
        self._toggle(self._tags[event.index])
        event.lines.cursor += 1

    @on(Input.Submitted, "#tag")
    def _typed(self, event: Input.Submitted) -> None:
        """Mark the vessel whose tag was typed or scanned, or all of several: B-001 B-004, or B-001..B-006."""
        event.stop()
        if not event.value.strip():
            self.focus_next()
            return
        cellar = self.desk.cellar
        try:
            several = names_several(event.value, cellar)
            named = vessels_named(event.value, cellar, Marks) if several else [cellar[event.value]]
            check_holds(named)
        except CooperageError as error:
            self._refused(error)
            event.input.select_all()  # the next scan takes its place
            return
        self.query_one(StatusLine).show_message("")
        event.input.value = ""
        self._take([standing.tag for standing in named], is_several=several)

    def _take(self, tags: Sequence[str], *, is_several: bool) -> None:
        """Mark vessels; a single one that is marked already is out again."""
        if tags[-1] in self._tags:
            self.query_one(MarkList).cursor = self._tags.index(tags[-1])
        if not is_several and tags[0] in self._marked:
            self._toggle(tags[0])
            self.query_one(StatusLine).show_message(f"{tags[0]} is out again")
            return
        for tag in tags:
            if tag not in self._marked:
                self._toggle(tag)

    @on(FieldList.Answered)
    def _corrected(self) -> None:
        """Take a refusal away once a field is changed."""
        self._announce()

    @on(Input.Submitted, "#fields")
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.query_one(FieldList).action_step(1)

    def action_pass_on(self, by: int) -> None:
        """Move the focus one on or back."""
        walk(self, by)

    def action_pour(self) -> None:
        """Write the samples and pour the flight; first ask back where the cellar knows none of the tasters."""
        self.desk.attempt(
            self._ask_of_tasters,
            lambda _none: self.desk.attempt(self._pour, self._poured, self._refused),
            self._refused,
            rereads=False,
        )

    def _ask_of_tasters(self, sure: bool) -> None:
        if not sure:
            ask_if_none_known(_parts(self.rows["tasters"].text), flights(self.desk.book), self.desk.hands())

    def _poured(self, flight: Flight) -> None:
        self._left.day = None
        self.dismiss(flight)

    def _pour(self, sure: bool) -> Flight:
        texts = {name: row.text for name, row in self.rows.items()}
        return pull_flight(
            self.desk.book,
            self._marked,
            self._pull(texts["pull"]),
            name=texts["name"],
            scale=texts["scale"],
            hidden_duplicate=bool(texts["twice"]),
            attributes=_parts(texts["scored"]),
            tasters=_parts(texts["tasters"]),
            reference=texts["control"] if texts["known"] else "",
            control="" if texts["known"] else texts["control"],
            hand=self.desk.hand,
            sure=sure,
        )

    def _pull(self, text: str) -> int | None:
        return read_pull(text, self.desk.units) if text else None

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _shown(usual: UsualFlight, book: Book) -> str:
    """Return what the last flight scored as one would type it: a scale only where it is not the usual one."""
    scales = {f"{term.name}={term.scale}": term.name for term in vocabulary(book) if term.kind == ATTRIBUTE}
    return ", ".join(scales.get(each, each) for each in usual.attributes)
