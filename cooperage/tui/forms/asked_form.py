"""The base of forms that ask for what is no entry: a new vessel or lot, the settings, a report's span."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import ClassVar, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.book.declared.from_text import BadField
from cooperage.errors import CooperageError
from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.keys import TABLE, bound, key_words
from cooperage.tui.on_screen import on_screen, said
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.field_list import FieldList, walk
from cooperage.tui.shared.fields import AskedField, FieldRow, asked
from cooperage.tui.shared.steady import Steady

T = TypeVar("T")


class AskedForm(KeepsStyles[T], ModalScreen[T]):
    """Fields one under the other, what Enter (or the key that writes a page) would do, what was refused, and the keys.

    A form of its kind yields its fields (`fields`), announces what Enter would do (`announced`) and does it (`write`);
    a BadField of either is shown at its field. Nothing typed is lost until it closes.
    """

    CSS_PATH = Path(__file__).with_name("asked_form.tcss")  # whole: a form of another folder would look beside itself
    BINDINGS: ClassVar[list[BindingType]] = [bound("write", "write_page", "write"), *ActForm.BINDINGS]

    def __init__(self, title: str) -> None:
        super().__init__(classes="dialog asked-form")
        self._title = title

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked, and what is proposed as text."""
        raise NotImplementedError

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what Enter would do with what is typed; raises CooperageError where it would do nothing."""
        raise NotImplementedError

    def write(self, texts: Mapping[str, str]) -> None:
        """Do it; raises CooperageError."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """Stack the fields, what Enter would do, what was refused, and the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield FieldList(self.fields(), self.desk.cellar, box=34)
            yield Steady("", id="announced", markup=False)
            yield StatusLine()
            yield KeyBar()

    def on_mount(self) -> None:
        """Begin on the first field, and show the unit of a bare number."""
        rows = self.rows
        for row in rows.values():
            row.show_unit(asked(row.field.holds, {}, self.desk.units))
        next(iter(rows.values())).take_focus()
        self.announce()

    @property
    def rows(self) -> Mapping[str, FieldRow]:
        """The rows by the outside names of their fields."""
        return self.query_one(FieldList).by_name

    @property
    def in_hand(self) -> FieldRow:
        """The row in hand."""
        return self.query_one(FieldList).here

    def action_pass_on(self, by: int) -> None:
        """Move the focus one on or back."""
        walk(self, by)

    @property
    def texts(self) -> dict[str, str]:
        """What is typed in each field that is shown, by its outside name."""
        return {name: row.text for name, row in self.rows.items() if row.display}

    @on(FieldList.Answered)
    @on(FieldList.Moved)
    def announce(self) -> None:
        """Show what Enter would do."""
        try:
            words = self.announced(self.texts)
        except BadField as error:
            words = on_screen(error.reason)
        except CooperageError as error:
            words = said(error, self.desk.units)
        self.query_one("#announced", Static).update(words)

    @on(FieldList.Answered)
    def _chosen(self, event: FieldList.Answered) -> None:
        """After a choice, go to what is needed and still blank."""
        rows = self.rows.values()
        if event.row.kind == "choice" and event.row.is_focused and event.row.text:
            empty = next((row for row in rows if row.display and row.field.needed and not row.text), None)
            if empty is not None:
                empty.take_focus()

    def action_write(self) -> None:
        """Do it, or go to the field that was not understood."""
        rows = self.rows
        for row in rows.values():
            row.complain("")
        self.query_one(StatusLine).show_message("")
        try:
            self.write(self.texts)
        except BadField as error:
            rows[error.field].complain(error.reason)
            rows[error.field].take_focus()
        except CooperageError as error:
            self.refused(error)

    def close(self, done: T) -> None:
        """Close with what was done."""
        self.dismiss(done)

    def action_write_page(self) -> None:
        """Do it from a choice, where Enter opens the list."""
        self.action_write()

    @property
    def writer(self) -> str:
        """The key that does it where the cursor is, as a sentence names it."""
        return key_words(TABLE["write" if self.in_hand.kind == "choice" else "enter"].first)

    def refused(self, error: CooperageError) -> None:
        """Show what was refused; all that was typed stays."""
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """There is no list of what a field may be; a choice has a key of its own to write with."""
        if action == "write_page":
            return self.is_mounted and self.in_hand.kind == "choice"
        return action != "list"
