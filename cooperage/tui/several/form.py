"""One form for the same act on several vessels: its fields once, a line a vessel, and what Enter would write."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from cooperage.book import Act, Cellar, Written
from cooperage.book.declared.acts import faces, figure_of
from cooperage.book.declared.fields import is_required
from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.several.named import shown_tags
from cooperage.programme.several.sheet import ActSheet, sheet_of
from cooperage.programme.several.wanted import Ground, Wanted
from cooperage.programme.several.written import write_several
from cooperage.programme.together import OneRefused
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import bound
from cooperage.tui.on_screen import said
from cooperage.tui.several.lines import VesselLines
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.field_list import FieldList
from cooperage.tui.shared.fields import COMMON_FIELDS, AskedField, field_of
from cooperage.tui.shared.steady import Steady
from cooperage.units import read_when

_LOW, _FIELDS, _BESIDE = 24, 8, 12
"""Under so many lines a form is short of room; most lines of fields; what frame, title, answer and keys take."""


@dataclass(frozen=True, slots=True)
class FormDone:
    """What a form did: the words for it, and what was written."""

    words: str
    written: tuple[Written, ...] = ()


class SeveralForm(ActForm):
    """Asks once for what is done to several vessels and shows what comes to each; `then` is called when it is done.

    A figure can be typed in the line of one vessel; a minus there leaves the vessel out. As many figures as vessels,
    typed in the field of all, are dealt out to them in order.
    """

    CSS_PATH: ClassVar[list[Path]] = [  # type: ignore[assignment] # a form in the other's sheet and its own
        Path(__file__).parent.parent / "shared" / "act_form.tcss",
        Path(__file__).with_name("form.tcss"),
    ]
    BINDINGS: ClassVar[list[BindingType]] = [bound("next", "app.focus_next", "next field", show=True)]
    LISTS = "vessel"
    WRITES = "Enter writes"

    def __init__(
        self,
        kind: type[Act],
        tags: Sequence[str],
        texts: Mapping[str, str],
        then: Callable[[FormDone], None],
        *,
        each: Mapping[str, str] | None = None,
        title: str = "",
    ) -> None:
        super().__init__(kind, texts, title or f"{kind.label}: {shown_tags(list(tags))}")
        self._tags, self._then, self._each = list(tags), then, dict(each or {})
        figure = figure_of(kind)
        self._figure = None if figure is None or figure.choices else figure.name
        self._needed = [name for name in self._needed if name not in (self.LISTS, self._figure)]
        self._sheet: ActSheet | None = None
        self._is_working = self._is_stale = self._writes_then = False
        self._ground: Ground | None = None

    # --- what it asks -----------------------------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """Stack the fields, the vessels, what would be written, the caution, what was refused, and the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield FieldList(self._asked(), self.desk.cellar)
            yield VesselLines(self._tags, self._each, takes_figures=self._figure is not None)
            yield Steady("calculating", markup=False, id="announced")
            yield Steady("", id="caution", markup=False)
            yield StatusLine()
            yield KeyBar()

    def asked_fields(self) -> list[AskedField]:
        """List the fields of the act but for its vessels, then those that every act has."""
        own = [field_of(declared, face, self.desk.units) for declared, face in faces(self._kind)]
        return [field for field in own if field.name != self.LISTS] + list(self.common_fields())

    def common_fields(self) -> Sequence[AskedField]:
        """Return what is asked beside the act's own fields."""
        return COMMON_FIELDS

    def on_mount(self) -> None:
        """Share out the room; work out what comes to each vessel."""
        self._share_room()
        self.work_out()

    def begin(self) -> None:
        """Begin at the first field that is needed, else at the vessels."""
        self._go_to_needed(with_figure=not self._kind.proposed)

    def _go_to_needed(self, *, with_figure: bool) -> None:
        """Go to the first empty field that is needed, the figure for all of them if asked; else to the vessels."""
        wanted = [*self._needed, *([self._figure] if with_figure and self._needs_figure and not self.each else [])]
        rows = self.rows
        empty = next((rows[name] for name in wanted if name is not None and name in rows and not rows[name].text), None)
        if empty is not None:
            empty.take_focus()
        else:
            self.set_focus(self._lines)

    @property
    def _needs_figure(self) -> bool:
        return any(is_required(declared) and face.name == self._figure for declared, face in faces(self._kind))

    def _share_room(self) -> None:
        """Give the vessels the lines that the fields and the rest leave; both scroll."""
        height, fields = self.app.size.height, len(self.rows)
        most = min(fields, 4 if height < _LOW else _FIELDS)
        self.fields.styles.max_height = most
        self._lines.styles.height = max(3, min(len(self._tags), height - most - _BESIDE))

    def on_resize(self) -> None:
        """Share out another height."""
        self._share_room()

    def _go_on(self) -> None:
        """After a choice, go to the next field that is needed; then to the vessels, where Enter writes."""
        self._go_to_needed(with_figure=True)

    @property
    def _lines(self) -> VesselLines:
        return self.query_one(VesselLines)

    @property
    def out(self) -> set[str]:
        """The vessels that are left out."""
        return self._lines.out

    @property
    def each(self) -> dict[str, dict[str, str]]:
        """What is typed for single vessels, by tag."""
        figure = self._figure
        return {tag: {figure: text} for tag, text in self._lines.typed.items() if figure is not None and text.strip()}

    def wanted(self, tags: Sequence[str] = ()) -> Wanted:
        """Return what is wanted as it is typed."""
        texts = {name: text for name, text in self.texts.items() if text}
        return Wanted(self._kind.kind, {**texts, self.LISTS: ",".join(tags or self._tags)}, self.each)

    # --- what comes of it -------------------------------------------------------------------------------------------

    @on(FieldList.Answered)
    @on(VesselLines.Changed)
    def work_out(self) -> None:
        """Work out in the background what comes to each vessel; of several changes, the last is shown."""
        self._is_stale = True
        self._sheet = None
        if not self._is_working:
            self._is_working, self._is_stale = True, False
            make = self.making()
            self.run_worker(lambda: self._make(make), thread=True, group="sheet")

    def making(self) -> Callable[[], ActSheet]:
        """Return what works the sheet out of what is typed now; called in a thread. Raises CooperageError."""
        wanted, out, book, units = self.wanted(), set(self.out), self.desk.book, self.desk.units
        when = wanted.texts.get("when", "")

        def make() -> ActSheet:
            cellar = cellar_now(book, read_when(when, book.now())) if when else self.desk.cellar
            if self._ground is None or when:
                self._ground = Ground(book, cellar, units)
            return self.make_sheet(wanted, cellar, self._ground, out)

        return make

    def make_sheet(self, wanted: Wanted, cellar: Cellar, ground: Ground, out: set[str]) -> ActSheet:
        """Make the sheet; called in a thread. Raises CooperageError."""
        return sheet_of(self.desk.book, wanted, cellar, ground, out, self.desk.units)

    def _make(self, make: Callable[[], ActSheet]) -> None:
        try:
            sheet = make()
        except CooperageError as error:
            sheet = ActSheet(refused=said(error, self.desk.units))
        self.app.call_from_thread(self._take, sheet)

    def _take(self, sheet: ActSheet) -> None:
        self._is_working = False
        if not self.is_attached:
            return
        if self._is_stale:
            self.work_out()
            return
        self._sheet = sheet
        self.show_sheet(sheet)
        self.query_one("#announced", Static).update(self.announced(sheet))
        if self._writes_then:
            self._writes_then = False
            self.action_write()

    def show_sheet(self, sheet: ActSheet) -> None:
        """Show what comes to each vessel."""
        self._lines.show_sheet(sheet)

    def announced(self, sheet: ActSheet) -> str:
        """Return what Enter would do, or what stands in the way."""
        rows = [row for row in self.rows.values() if row.field.name in self._needed and not row.text]
        if rows:
            return f"{rows[0].field.label}: still needed"
        if sheet.announced and sheet.refused_at is None:
            return f"{self.WRITES}  {sheet.announced}{f'. Asks: {sheet.asked}' if sheet.asked else ''}"
        return self._missing_words(sheet.missing) if sheet.missing else sheet.first_words

    def _missing_words(self, missing: BadField) -> str:
        row = self.rows.get(missing.field)
        label = row.field.label if row is not None else missing.field
        return f"{label}: still needed" if self._is_blank(missing.field) else f"{label}: {missing.reason}"

    def _is_blank(self, name: str) -> bool:
        return not self.texts.get(name) and not self.each

    # --- writing ----------------------------------------------------------------------------------------------------

    def action_write(self) -> None:
        """Write what is announced, or go to what is needed, was not understood, or is refused."""
        rows = self.rows
        for row in rows.values():
            row.complain("")
        self.query_one(StatusLine).show_message("")
        empty = next((rows[name] for name in self._needed if name in rows and not rows[name].text), None)
        if empty is not None:
            if empty.is_focused:
                empty.complain(f"{empty.field.label} is needed")
            empty.take_focus()
        elif self._sheet is None:
            self._writes_then = True  # as soon as it is announced
        else:
            self.write_sheet(self._sheet)

    def write_sheet(self, sheet: ActSheet) -> None:
        """Write what a sheet holds, or go to what stands in the way."""
        if self.is_refused(sheet) or sheet.meant is None:
            return
        book, meant, texts = self.desk.book, sheet.meant, self.texts

        def work(sure: bool) -> FormDone:
            written = write_several(book, meant, sure=sure or texts.get("sure") == "yes")
            return FormDone(sheet.announced, tuple(written))

        self.desk.attempt(work, self.done, self._refused)

    def is_refused(self, sheet: ActSheet) -> bool:
        """Go to the field or the line that stands in the way; return True if there is one."""
        rows = self.rows
        at = sheet.refused_at
        field = "" if sheet.missing is None else sheet.missing.field
        if sheet.missing is not None and field in rows and (field != self._figure or rows[field].text):
            rows[field].complain(sheet.missing.reason)
            rows[field].take_focus()
        elif at is not None or sheet.missing is not None:
            self._lines.cursor = at or 0
            self.set_focus(self._lines)
        if at is None and sheet.missing is None and not sheet.refused:
            return False
        self.query_one(StatusLine).show_message(f"Nothing is written. {sheet.first_words}")
        return True

    def done(self, outcome: FormDone) -> None:
        """Close, and hand on what was done."""
        self.dismiss(None)
        self._then(outcome)

    def _refused(self, error: CooperageError) -> None:
        super()._refused(error)
        if isinstance(error, OneRefused) and self._lines.go_to(error.vessel):
            self.set_focus(self._lines)

    def take_scan(self, text: str, stood: str | None) -> Scanned:
        """Put a scanned tag where a tag is asked for; among the vessels, go to its line."""
        if self.focused is self._lines and text in self._tags:
            self._lines.go_to(text)
            return Scanned.TAKEN
        return super().take_scan(text, stood)
