"""The form for a vessel's upkeep: its intervals and limits, for it alone or for all barrels like it."""

from collections.abc import Mapping
from typing import Any, ClassVar

from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.widgets import Static

from cooperage.book import Standing
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.book.vessel_words import lot_names, vessel_line
from cooperage.errors import CooperageError
from cooperage.programme.upkeep.care import (
    CARES,
    TOPPING,
    care_texts,
    change_care,
    default_care,
    groups_around,
    parse_care,
)
from cooperage.tui.shared.act_form import ActForm, KeptForm, kept_form
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.shared.field_list import FieldList, walk
from cooperage.tui.shared.fields import AskedField, FieldRow, asked
from cooperage.tui.shared.gauges import about_lines
from cooperage.units import counted


def upkeep_form(app: App[Any], standing: Standing) -> "UpkeepForm":
    """Return the form for a vessel's upkeep, kept mounted."""
    return kept_form(app, UpkeepForm, "upkeep", standing)


class UpkeepForm(KeptForm[str | None]):
    """Asks for every interval and limit; a blank keeps the cellar's default, which is shown in its place.

    In the other barrels of a group only the fields changed here are changed. Closes with the words of what was done.
    """

    CSS_PATH = "upkeep_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*ActForm.BINDINGS]

    def __init__(self, standing: Standing) -> None:
        super().__init__(classes="dialog")
        self._is_about(standing)

    def _is_about(self, standing: Standing) -> None:
        self._standing = standing
        self._groups = groups_around(standing)
        self._before: dict[str, str] = {}
        self._usual: dict[str, str] = {}

    def ask(self, standing: Standing) -> None:
        """Ask for the upkeep of another vessel, as a new form would."""
        self._is_about(standing)
        self.query_one(".title", Static).update(self._title)
        self.query_one("#about", Static).update(self._about())
        self.query_one(StatusLine).show_message("")
        self.query_one(FieldList).ask(self._asked(), self.desk.cellar)
        self.on_mount()

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Stack the fields, what was refused, and the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield Static(self._about(), markup=False, id="about")
            yield FieldList(self._asked(), self.desk.cellar, box=22)
            yield StatusLine()
            yield KeyBar()

    @property
    def _title(self) -> str:
        return f"Upkeep of {self._standing.tag}"

    def _about(self) -> str:
        return "\n".join(about_lines(self._standing, self.desk.units, self.desk.level(self._standing)))

    def _asked(self) -> list[tuple[AskedField, str]]:
        units = self.desk.units
        self._before = care_texts(self._standing.vessel.upkeep, units)
        self._usual = care_texts(default_care(self._standing), units)
        found = []
        for care in CARES:
            usual = self._usual[care.name]
            choices = tuple(_choices(usual)) if care.choices else ()
            blank = "" if choices else f"{usual or 'any keg'} (default)"
            asked_for = AskedField(care.name, care.label, care.holds, choices=choices, usual=blank)
            found.append((asked_for, self._before[care.name]))
        return [*found, (AskedField("for", "change this for", Holds.CHOICE, choices=tuple(self._whom())), "")]

    def on_mount(self) -> None:
        """Begin on the first field, and show the unit of a bare number."""
        rows = self.rows
        for care in (care for care in CARES if not care.choices):
            unit = care.count or asked(care.holds, {}, self.desk.units)
            default = (
                f"leave blank for {self._usual[care.name]}"
                if self._before[care.name] and self._usual[care.name]
                else ""
            )
            rows[care.name].show_unit(", ".join(part for part in (unit, default) if part))
        self.rows["every"].take_focus()

    def _whom(self) -> list[tuple[str, str]]:
        cellar = self.desk.cellar
        groups = [
            (name, f"{counted(len(group.tags(cellar)), 'barrel')} of {name}") for name, group in self._groups.items()
        ]
        return [("", f"{self._standing.tag} alone"), *groups]

    @property
    def rows(self) -> Mapping[str, FieldRow]:
        """The rows by the outside names of their fields."""
        return self.query_one(FieldList).by_name

    @property
    def _texts(self) -> dict[str, str]:
        return {name: row.text for name, row in self.rows.items()}

    def action_pass_on(self, by: int) -> None:
        """Move the focus one on or back."""
        walk(self, by)

    def action_write(self) -> None:
        """Write the changed fields, or go to the field that was not understood."""
        rows = self.rows
        for row in rows.values():
            row.complain("")
        self.query_one(StatusLine).show_message("")
        texts = self._texts
        group = self._groups.get(texts.pop("for"))
        changed = {name: text for name, text in texts.items() if text != self._before[name]}
        try:
            changes = parse_care(changed, self.desk.units)
            tags = [self._standing.tag] if group is None else group.tags(self.desk.cellar)
        except BadField as error:
            rows[error.field].complain(error.reason)
            rows[error.field].take_focus()
        except CooperageError as error:
            self._refused(error)
        else:
            self._ask(changes, tags)

    def _ask(self, changes: dict[str, Any], tags: list[str]) -> None:
        """Write at once for the vessel alone; ask before several are changed."""
        if not changes:
            self.query_one(StatusLine).show_message("Nothing was changed. Change a field, or press Esc to close.")
            return

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(
                    lambda _sure: change_care(self.desk.book, tags, changes), self._changed, self._refused
                )

        if tags == [self._standing.tag]:
            answered(True)
        else:
            labels = ", ".join(care.label for care in CARES if care.field in changes)
            question = f"Change {labels} of {counted(len(tags), 'barrel')}?\n\n{', '.join(tags)}"
            self.app.push_screen(Confirm(question, yes="change them"), answered)

    def _changed(self, tags: list[str]) -> None:
        self.dismiss(f"Changed the upkeep of {tags[0] if len(tags) == 1 else counted(len(tags), 'barrel')}")

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))

    def action_list(self) -> None:
        """List the vessels to top from."""
        row = self.query_one(FieldList).here
        there = [s for s in self.desk.cellar.in_walking_order() if not s.is_retired and not s.vessel.is_barrel]

        def picked(tag: str | None) -> None:
            if tag is not None:
                row.set_text(tag)

        title = "Top from"
        choices = [(s.tag, vessel_line(s, self.desk.units)) for s in there]
        self.app.push_screen(Pick(title, choices, row.text, also=lot_names(self.desk.cellar)), picked)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A list is offered where a vessel is asked for."""
        return action != "list" or (self.is_mounted and self.query_one(FieldList).here.field.holds is Holds.TAG)


def _choices(usual: str) -> list[tuple[str, str]]:
    return [("", f"{TOPPING[usual]} (default)"), *TOPPING.items()]
