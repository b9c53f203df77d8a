"""Reports and labels on screen: chosen, read in a view that scrolls, and saved to a file."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from textwrap import wrap
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput, CooperageError
from cooperage.exchange.reports.printed import (
    Contents,
    label_contents,
    label_text,
    report_contents,
    report_text,
    save_contents,
)
from cooperage.exchange.reports.reports import REPORTS
from cooperage.infile import at_home
from cooperage.outfile import ThereAlready
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.shared.fields import AskedField
from cooperage.tui.shared.line_list import Lines
from cooperage.units import ALWAYS, Span, local_day, read_span, show_span

_COLUMNS = "  "
_ASIDE = 20
"""Columns that the view moves sideways with one key."""


class PaperLines(Lines):
    """The lines of a paper; a sentence is wrapped to the room there is, a row of a table read sideways."""

    BINDINGS: ClassVar[list[BindingType]] = [bound("left", "aside(-1)"), bound("right", "aside(1)")]

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__(id="paper-lines")
        self._lines = lines
        self._shown = list(lines)
        self._from = 0

    def lines_changed(self) -> None:
        """Wrap the sentences to the room there is."""
        width = self.scrollable_content_region.width
        self._shown = [row for line in self._lines for row in _rows_of(line, width)]
        super().lines_changed()

    @property
    def line_count(self) -> int:
        """How many lines there are."""
        return len(self._shown)

    def line(self, y: int, width: int) -> Text:
        """Return one line from the column that was moved to."""
        return Text(self._shown[y][self._from : self._from + width], no_wrap=True)

    def action_aside(self, right: int) -> None:
        """Move sideways, as far as there is something."""
        widest = max(map(len, self._shown), default=0)
        farthest = max(0, widest - self.scrollable_content_region.width)
        self._from = min(max(0, self._from + right * _ASIDE), farthest)
        self.refresh()


def _rows_of(line: str, width: int) -> list[str]:
    """Return a line as the rows it takes: of a table, which has gaps between its columns, it stays one."""
    is_of_table = _COLUMNS in line.strip()
    return [line] if is_of_table or len(line) <= width or width <= 0 else wrap(line, width, break_on_hyphens=False)


class Paper(ModalScreen[None]):
    """A report or a label to be read, and saved as one of `contents`."""

    CSS_PATH = "papers.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("print", "save_paper", "save"),
        bound("back", "dismiss(None)", "close"),
    ]

    def __init__(self, title: str, text: str, name: str, contents: Contents) -> None:
        super().__init__(classes="dialog")
        self._title, self._text, self._proposed, self._contents = title, text, name, contents

    def compose(self) -> ComposeResult:
        """Show the lines, what was saved, and the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield PaperLines(self._text.splitlines())
            yield StatusLine()
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin on the lines."""
        self.set_focus(self.query_one(PaperLines))

    def action_save_paper(self) -> None:
        """Ask for the file, and show where it was saved."""

        def saved(path: Path | None) -> None:
            if path is not None:
                self.query_one(StatusLine).show_message(f"Saved: {path}")

        self.app.push_screen(SaveForm(self._title, self._proposed, self._contents), saved)


class SaveForm(AskedForm[Path]):
    """Asks for the file that a paper is saved to; its ending chooses what is saved. Nothing is replaced unasked."""

    def __init__(self, title: str, name: str, contents: Contents) -> None:
        super().__init__(f"Save: {title}")
        self._proposed, self._contents = name, contents

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the path, with a name proposed."""
        return [(AskedField("path", "file", Holds.TEXT, needed=True, example=self._proposed), self._proposed)]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return where it would be saved, and what its ending may be."""
        return f"{self.writer} saves {_path(texts).absolute()}. It may end in {' or '.join(self._contents)}."

    def write(self, texts: Mapping[str, str]) -> None:
        """Save it; what is there already is replaced only by a yes."""
        path = _path(texts)
        try:
            save_contents(path, self._contents)
        except ThereAlready:

            def answered(yes: bool | None) -> None:
                if yes:
                    self._replace(path)

            self.app.push_screen(Confirm(f"{path.absolute()} is there already. Replace it?", "replace it"), answered)
        else:
            self.close(path.absolute())

    def _replace(self, path: Path) -> None:
        try:
            save_contents(path, self._contents, force=True)
        except CooperageError as error:
            self.refused(error)
        else:
            self.close(path.absolute())


def _path(texts: Mapping[str, str]) -> Path:
    if not texts["path"]:
        raise BadField("path", "name the file")
    return at_home(Path(texts["path"]))


class SpanForm(AskedForm[Span]):
    """Asks for which days a report is; blanks are without an end."""

    def __init__(self, name: str) -> None:
        super().__init__(f"Report: {name}")
        self._report = name

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the first and the last day."""
        since = AskedField("since", "since", Holds.TEXT, usual="the beginning; or last month")
        until = AskedField("until", "until", Holds.TEXT, usual="now; e.g. 2026-09-30")
        return [(since, ""), (until, "")]

    def _span(self, texts: Mapping[str, str]) -> Span:
        since, until = texts["since"] or None, texts["until"] or None
        try:
            read_span(since, None, self.desk.book.now())
        except BadInput as error:
            raise BadField("since", str(error)) from error
        try:
            return read_span(since, until, self.desk.book.now())
        except BadInput as error:
            raise BadField("until", str(error)) from error

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what the report is, and of which days."""
        about = (REPORTS[self._report].__doc__ or "").strip().splitlines()[0]
        span = self._span(texts)
        return f"{about}\n{self.writer} shows it{'' if span == ALWAYS else f', {show_span(span)}'}."

    def write(self, texts: Mapping[str, str]) -> None:
        """Close with the span."""
        self.close(self._span(texts))


# --- how they are opened --------------------------------------------------------------------------------------------


def ask_for_report(screen: CellarScreen) -> None:
    """Ask on a screen which report of which days, and show it when it is calculated."""
    words = {name: (report.__doc__ or "").strip().splitlines()[0] for name, report in REPORTS.items()}
    choices = [(name, f"{name:<11}{about.partition(':')[0].rstrip('.')}") for name, about in words.items()]

    def chosen(name: str | None) -> None:
        if name is not None:
            screen.app.push_screen(SpanForm(name), lambda span: _show_report(screen, name, span))

    screen.app.push_screen(Pick("Which report?", choices), chosen)


def _show_report(screen: CellarScreen, name: str, span: Span | None) -> None:
    if span is None:
        return
    book, units = screen.desk.book, screen.units

    def calculate() -> tuple[str, str]:
        report = REPORTS[name](book, span, units)
        return report.title, report_text(book, report, units)

    def show(done: tuple[str, str]) -> None:
        title, text = done
        proposed = f"{name}-{local_day(book.now()):%Y-%m-%d}.txt"
        screen.app.push_screen(Paper(title, text, proposed, report_contents(book, name, span, text, screen.units)))

    screen.run_slow_work("report", calculate, show)


def show_label(screen: CellarScreen, code: str) -> None:
    """Show the label of a vessel, lot or bottling, to be saved as a picture of its QR code or as text."""
    try:
        name, text = label_text(screen.desk.book, code, screen.units)
    except CooperageError as error:
        screen.refuse(error)
        return
    proposed = f"{re.sub(r'[^A-Za-z0-9._-]+', '-', name)}.svg"
    screen.app.push_screen(Paper(f"Label of {name}", text, proposed, label_contents(name, text)))
