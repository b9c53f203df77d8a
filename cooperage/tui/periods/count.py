"""A physical count at the end of a period, typed or pasted: beside the book by class, and filed with the period."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.widgets import Label

from cooperage.errors import CooperageError
from cooperage.programme.pasted.table import LinesUnread
from cooperage.programme.periods.classes import class_words
from cooperage.programme.periods.closing import PeriodIsFiled, check_over, close_period
from cooperage.programme.periods.counted import AtTheEnd, CountedClass, CountedThings, PeriodCount, at_the_end
from cooperage.programme.periods.period import NOTE, FiledPeriod
from cooperage.programme.periods.shown import ShownPeriod
from cooperage.tui.forms.paste_dialog import PasteDialog, unread_line
from cooperage.tui.periods.words import closing_question, filed_words
from cooperage.tui.shared.dialogs import Confirm
from cooperage.units import Quantity, Units, counted, show, show_day

_ROW = "{:<8} {:<20} {:>11} {:>11} {:>11}"
_HEAD = _ROW.format("part", "class", "book", "counted", "missing")


class PeriodCountDialog(PasteDialog):
    """Asks for what was counted as a period ended, and closes the period with it after a question."""

    CSS_PATH = "../forms/paste_dialog.tcss"
    TITLE_WORDS: ClassVar[str] = "Physical count at the end of a period"

    def __init__(self, shown: ShownPeriod) -> None:
        super().__init__()
        self._shown = shown
        self._at_the_end: AtTheEnd | None = None

    def how(self) -> str:
        """Return what may be pasted, with an example in the person's unit."""
        example = f"B-017 {show(Quantity.VOLUME, 224_100, self.desk.units)}"
        return (
            f"A vessel and its volume a line, such as {example}, or a bottling and its bottles. A file's path will do."
        )

    def compose_when(self) -> ComposeResult:
        """Show of which moment it is."""
        yield Label(f"{self._shown.code}, as {show_day(self._shown.figures.span.last)} ended  ")

    def on_mount(self) -> None:
        """Begin in the text, and read what it is held against."""
        super().on_mount()
        self.run_worker(self._read, thread=True, exclusive=True)

    def _read(self) -> None:
        try:
            found = at_the_end(self.desk.book, self._shown.figures.span)
        except CooperageError as error:
            self.app.call_from_thread(self.refused, error)
        else:
            self.app.call_from_thread(self._take, found)

    def _take(self, found: AtTheEnd) -> None:
        if self.is_attached:
            self._at_the_end = found
            self._looked()

    def look(self) -> tuple[str, list[str]]:
        """Show each class beside the book; lines not understood come first, what was not counted last."""
        if not self.text.strip():
            return "Nothing is counted yet.", []
        if self._at_the_end is None:
            return "Calculating the cellar as it stood then …", []
        things, count = self._at_the_end.read(self.text, self.desk.units)
        rows = [_row(each, self.desk.units) for each in count.rows]
        lines = [*(unread_line(each) for each in things.unread), *rows, *_not_counted(count)]
        return f"{_counted_words(things)} counted\n{_HEAD}", lines

    def action_write(self) -> None:
        """Ask, and then close the period with the count."""
        shown, desk = self._shown, self.desk
        try:
            if shown.filed is not None:
                raise PeriodIsFiled(shown.filed)
            check_over(shown.figures.span, desk.book.now())
            if self._at_the_end is None:
                return
            things, _ = self._at_the_end.read(self.text, desk.units)
            if things.unread:
                raise LinesUnread(things.unread)
        except CooperageError as error:
            self.refused(error)
            return
        words = f"{closing_question(shown)}\n{_counted_words(things)} counted are filed with it.\n{NOTE}"
        self.app.push_screen(Confirm(words, "close it"), lambda yes: self._close(things) if yes else None)

    def _close(self, things: CountedThings) -> None:
        shown, desk, hand = self._shown, self.desk, self.hand

        def closed(filed: FiledPeriod) -> None:
            self.dismiss(filed_words(filed))

        desk.attempt(
            lambda _sure: close_period(
                desk.book,
                shown.figures.span,
                shown.figures.unit,
                hand=hand,
                counts=things.as_kept(),
                sure=True,  # what stands in the way was shown and answered
                seen=shown.figures,
                units=desk.units,
            ),
            closed,
            self.refused,
        )


def _row(each: CountedClass, units: Units) -> str:
    figures = (show(Quantity.VOLUME, ml, units) for ml in (each.book_ml, each.counted_ml, each.missing_ml))
    return _ROW.format(each.part, class_words(each.strength_class, units), *figures)


def _not_counted(count: PeriodCount) -> list[str]:
    return [f"NOT COUNTED: {name}" for name in count.not_counted]


def _counted_words(things: CountedThings) -> str:
    return f"{counted(len(things.vessels), 'vessel')} and {counted(len(things.bottles), 'bottling')}"
