"""A new flight: which vessels, how much to pull of each, on which scale."""

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from cooperage.book.vessel_words import vessel_line
from cooperage.errors import CooperageError
from cooperage.programme.search.marks import Marks
from cooperage.programme.several.named import names_several, vessels_named
from cooperage.tasting.flights import Flight
from cooperage.tasting.pulling import pull_flight
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.choices import FlagBox
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.line_list import LineList
from cooperage.units import read_volume

_USUAL_PULL = "50 mL"


class MarkList(LineList):
    """A list whose lines are marked with Space or Enter."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("mark", "take"),
        bound("enter", "take", "mark", show=False),
    ]


class NewFlight(ModalScreen[Flight | None]):
    """Asks for a flight and pours it; closes only when it is poured or left."""

    CSS_PATH = "screen.tcss"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (80, "-usual")]  # noqa: RUF012 - typed by Textual
    VERTICAL_BREAKPOINTS = [(0, "-short"), (24, "-roomy")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("write", "pour", "pour", priority=True),
        bound("next", "app.focus_next", "next field", show=True),
        bound("previous", "app.focus_previous", "previous field"),
        bound("back", "dismiss(None)", "close"),
    ]

    def __init__(self) -> None:
        super().__init__(classes="dialog")
        self._tags: list[str] = []
        self._marked: list[str] = []

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Ask how, then which vessels."""
        with Vertical(classes="box"):
            yield Static("Pour a flight", classes="title")
            with Horizontal(classes="asked"):
                yield Label("Vessel")
                yield Input(id="tag", compact=True, placeholder="tags, then Enter: B-001..B-006")
                yield Label("", id="marked", markup=False)
            yield MarkList(id="vessels")
            with Horizontal(classes="asked"):
                yield Label("Name")
                yield Input(id="name", compact=True, placeholder="such as autumn lots")
            with Horizontal(classes="asked"):
                yield Label("Scale")
                yield Input("0-20", id="scale", compact=True)
                yield Label("Pull of each", classes="second")
                yield Input(_USUAL_PULL, id="pull", compact=True)
                yield Label("blank: no sample", classes="hint")
            with Horizontal(classes="asked"):
                yield Label("Hidden")
                yield FlagBox("one sample twice, to see if tasters repeat", id="twice")
            yield StatusLine()
            yield KeyBar()

    def on_mount(self) -> None:
        """List what holds something, in walking order."""
        there = [s for s in self.desk.cellar.in_walking_order() if s.ml and not s.is_retired]
        self._tags = [standing.tag for standing in there]
        lines = [vessel_line(standing, self.desk.units) for standing in there]

        def draw(index: int, _width: int) -> Text:
            mark = "✓" if self._tags[index] in self._marked else " "
            return Text(f" {mark} {lines[index]}", no_wrap=True)

        self.query_one(MarkList).set_lines(len(lines), draw)
        self._show_marked()
        self.query_one("#tag").focus()

    def _toggle(self, tag: str) -> None:
        if tag in self._marked:
            self._marked.remove(tag)
        else:
            self._marked.append(tag)
        self._show_marked()

    def _show_marked(self) -> None:
        label = f"{len(self._marked)} marked: {', '.join(self._marked)}" if self._marked else "none marked yet"
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
        except CooperageError as error:
            self._refused(error)
            event.input.select_all()  # the next scan takes its place
            return
        self.query_one(StatusLine).show_message("")
        event.input.value = ""
        for tag in [standing.tag for standing in named]:
            if tag in self._tags:
                self.query_one(MarkList).cursor = self._tags.index(tag)
            if tag not in self._marked:
                self._toggle(tag)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        if event.input.id != "tag":
            self.focus_next()

    def action_pour(self) -> None:
        """Write the samples and pour the flight."""
        self.desk.attempt(self._pour, self._poured, self._refused)

    def _poured(self, flight: Flight) -> None:
        self.dismiss(flight)

    def _pour(self, sure: bool) -> Flight:
        pull = self.query_one("#pull", Input).value.strip()
        return pull_flight(
            self.desk.book,
            self._marked,
            read_volume(pull, self.desk.units) if pull else None,
            name=self.query_one("#name", Input).value.strip(),
            scale=self.query_one("#scale", Input).value.strip(),
            hidden_duplicate=self.query_one("#twice", FlagBox).value,
            hand=self.desk.hand,
            sure=sure,
        )

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))
