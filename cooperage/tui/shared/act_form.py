"""One form for every kind of entry, made from the act's own declarations."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, ClassVar, TypeVar, cast

from textual import on
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.book import Act, Standing, Written
from cooperage.book.dangers.dangers import Caution, cautions
from cooperage.book.dangers.work import work_of_draft
from cooperage.book.declared.acts import faces
from cooperage.book.declared.fields import Holds, is_required
from cooperage.book.declared.from_text import BadField, parse_act
from cooperage.book.vessel_words import lot_names, vessel_line
from cooperage.errors import CooperageError
from cooperage.programme.upkeep.room_left import too_little_room
from cooperage.tui.drawing import KeepsStyles
from cooperage.tui.key_queue import Scanned
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.desk import Desk, desk_of
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.field_list import FieldList, scanned_into, walk
from cooperage.tui.shared.fields import COMMON_FIELDS, AskedField, FieldRow, asked, field_of
from cooperage.tui.shared.gauges import about_lines, cautions_shown
from cooperage.tui.shared.ink import TROUBLE
from cooperage.tui.shared.steady import Steady

T = TypeVar("T")


def first_field(kind: str, standing: Standing) -> str:
    """Return the field to type first, where it is not simply the first empty field: a barrel is dipped."""
    return "headspace" if kind == "gauge" and standing.vessel.is_barrel else ""


def _first_sentence(kind: type[Act]) -> str:
    """Return the first sentence on a kind of entry; its options stand in it by the labels of the form."""
    labels = {face.name: face.label for _, face in faces(kind)}
    sentence = (kind.__doc__ or "").split("\n")[0].replace("`", "")
    return re.sub(r"--([a-z-]+)", lambda option: f"“{labels.get(option[1], option[1])}”", sentence)


_ROOMY = 22
"""Rows of a terminal from which the fields have room beside what is about the vessel and a caution."""


_FRAME, _FEWEST_FIELDS, _MOST_FIELDS = 2, 3, 13
"""Rows of the frame, and the fewest and the most that fields take of what is left."""


class KeptForm(KeepsStyles[T], ModalScreen[T]):
    """A form that is kept mounted (`kept_form`) and asked again for something else of its kind."""

    def ask(self, *given: Any) -> None:  # noqa: ANN401 - as each is made
        """Ask as a new form would that is made of what is given."""
        raise NotImplementedError


class ActForm(KeptForm[Written | None]):
    """Asks for an act's fields, writes it, and closes when it is written or with Escape.

    `texts` are what is known beforehand, by the fields' outside names. Enter writes, or goes to the next needed field.
    """

    CSS_PATH = Path(__file__).with_name("act_form.tcss")  # whole: a form of another folder would look beside itself
    VERTICAL_BREAKPOINTS = [(0, "-short"), (_ROOMY, "-roomy")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "screen.write", "write"),
        bound("write", "screen.write", show=False),
        bound("next", "pass_on(1)", "next field"),
        bound("previous", "pass_on(-1)", "previous field"),
        bound("list", "list", "choose from a list"),
        bound("back", "dismiss(None)", "close"),
    ]

    _rows_of_fields, _minded = 0, Content("")

    def __init__(self, kind: type[Act], texts: Mapping[str, str], title: str = "", first: str = "") -> None:
        super().__init__(classes="dialog")
        self._means(kind, texts, title, first)

    def _means(self, kind: type[Act], texts: Mapping[str, str], title: str, first: str) -> None:
        self._kind, self._texts, self._title = kind, dict(texts), _headed(title or kind.label)
        self._first = first
        self._needed = [face.name for declared, face in faces(kind) if is_required(declared)]

    def ask(self, kind: type[Act], texts: Mapping[str, str], title: str = "", first: str = "") -> None:
        """Ask for another act, as a new form would."""
        self._means(kind, texts, title, first)
        self.query_one(".title", Static).update(self._title)
        self.query_one("#about", Static).update(self._about())
        self.query_one(StatusLine).show_message("")
        self.fields.ask(self._asked(), self.desk.cellar)
        self._rows_of_fields = 0
        self.begin()
        self._show_choice()

    @property
    def desk(self) -> Desk:
        """Where it is written."""
        return desk_of(self.app)

    def compose(self) -> ComposeResult:
        """Stack the fields, then the caution, what was refused, and the keys."""
        with Vertical(classes="box"):
            yield Static(self._title, markup=False, classes="title")
            yield Static(self._about(), markup=False, id="about")
            yield FieldList(self._asked(), self.desk.cellar)
            yield from self.compose_more()
            yield Steady("", id="caution", markup=False)
            yield StatusLine()
            yield KeyBar()

    def asked_fields(self) -> list[AskedField]:
        """List the fields of the act, then those that every act has."""
        return [*(field_of(declared, face, self.desk.units) for declared, face in faces(self._kind)), *COMMON_FIELDS]

    def _asked(self) -> list[tuple[AskedField, str]]:
        """Return the fields with what is known of them beforehand."""
        known = {"hand": self.desk.hand} | self._texts
        return [(field, known.get(field.name, "")) for field in self.asked_fields()]

    def compose_more(self) -> ComposeResult:
        """Yield what a form of its own shows under its fields."""
        yield from ()

    def _about(self) -> str:
        tag = self._texts.get("vessel", "")
        about = ""
        if tag in self.desk.cellar:
            standing = self.desk.cellar[tag]
            about = "\n".join(about_lines(standing, self.desk.units, self.desk.level(standing)))
        return "\n".join(part for part in (about, _first_sentence(self._kind)) if part)

    def on_mount(self) -> None:
        """Begin, and show what is known beforehand."""
        self.begin()
        self._show_choice()

    def begin(self) -> None:
        """Begin at the first empty field."""
        rows = self.fields.rows
        first = next((row for row in rows if row.field.name == self._first), None)
        first = first or next((row for row in rows if row.field.needed and not row.text), None)
        first = first or next((row for row in rows if not row.text and row.field.name not in self._texts), rows[0])
        first.take_focus()

    @property
    def fields(self) -> FieldList:
        """The fields."""
        return self.query_one(FieldList)

    @property
    def rows(self) -> Mapping[str, FieldRow]:
        """The fields by their outside names."""
        return self.fields.by_name

    @property
    def texts(self) -> dict[str, str]:
        """What is typed in each field, by its outside name."""
        return {name: row.text for name, row in self.rows.items()}

    def action_pass_on(self, by: int) -> None:
        """Move the focus one on or back."""
        walk(self, by)

    def act_texts(self) -> dict[str, str]:
        """Return the texts of the act that is typed; a form may take a shorter way to type them. Raises BadField."""
        return self.texts

    @on(FieldList.Answered)
    def _show_choice(self) -> None:
        """Show the caution for what is chosen, what does not fit, and the unit of its amount or value."""
        texts = self.texts
        short = too_little_room(self._kind, texts, self.desk.cellar, self.desk.units)
        minded = [
            cautions_shown(self._cautions(texts)),
            Content.styled(f"{TROUBLE} {short}" * bool(short), "bold $ember"),
        ]
        words = Content("\n").join(part for part in minded if part)
        self.query_one("#caution", Static).update(words)
        if words != self._minded or not self._rows_of_fields:  # to measure it at each key would cost a key
            self._minded = words
            self.call_after_refresh(self._fit)
        for row in self.fields.rows:
            row.show_unit(asked(row.field.holds, texts, self.desk.units))

    def on_resize(self) -> None:
        """Fit into the rows there are now."""
        self.call_after_refresh(self._fit)

    def _fit(self) -> None:
        """Leave the fields the rows that the caution and the keys do not need: those are never cut."""
        others = [each for each in self.query_one(".box").children if each is not self.fields]
        taken = sum(each.outer_size.height + each.styles.margin.height for each in others)
        room = max(_FEWEST_FIELDS, min(_MOST_FIELDS, self.size.height - _FRAME - taken))
        if self._rows_of_fields != room:
            self._rows_of_fields = room
            self.fields.styles.max_height = room

    @on(FieldList.Answered)
    def _chosen(self, event: FieldList.Answered) -> None:
        """After a choice, go to the next field that is needed."""
        if event.row.kind == "choice" and event.row.is_focused and event.row.text:
            self._go_on()

    def _go_on(self) -> None:
        rows = self.rows
        needed = next((rows[name] for name in self._needed if not rows[name].text), None)
        if needed is not None:
            needed.take_focus()

    def action_write(self) -> None:
        """Write the act, or go to the field that is needed or was not understood."""
        rows = self.rows
        for row in rows.values():
            row.complain("")
        self.query_one(StatusLine).show_message("")
        empty = next((rows[name] for name in self._needed if not rows[name].text), None)
        if empty is not None:
            if empty.is_focused:
                empty.complain(f"{empty.field.label} is needed")
            empty.take_focus()
            return
        try:
            act = parse_act(self._kind.kind, self.act_texts(), self.desk.book.now(), self.desk.units)
        except BadField as error:
            rows[error.field].complain(error.reason)
            rows[error.field].take_focus()
            return
        self.write(act)

    def take_scan(self, text: str, stood: str | None) -> Scanned:  # noqa: ARG002 - as dialogs are given it
        """Put a scanned tag where a tag is asked for, and go on; refuse it at a field that takes something else."""
        return scanned_into(self, self.desk, text)

    def write(self, act: Act) -> None:
        """Write the act; a form with a question of its own asks it here."""
        self.desk.write(act, self._written, self._refused)

    def _cautions(self, texts: Mapping[str, str]) -> tuple[Caution, ...]:
        """Return the cautions that what is typed so far calls for."""
        return cautions(work_of_draft(self._kind.kind, texts, self.desk.cellar, self.desk.units))

    def _written(self, written: Written) -> None:
        self.dismiss(written)

    def _refused(self, error: CooperageError) -> None:
        self.query_one(StatusLine).refuse(error, error.words(self.desk.units))
        self.call_after_refresh(self._fit)

    def action_list(self) -> None:
        """List what may stand in the focused field."""
        row = self.row_in_hand
        if row is None:
            return

        def picked(value: str | None) -> None:
            if value is not None:
                row.set_text(value)

        choices = self._choices(row)
        letters = "" if row.text in dict(choices) else row.text
        also = {} if row.field.holds is Holds.LOT else lot_names(self.desk.cellar)
        self.app.push_screen(Pick(row.field.label, choices, row.text, letters=letters, also=also), picked)

    def _choices(self, row: FieldRow) -> list[tuple[str, str]]:
        if row.field.holds is Holds.LOT:
            return [(code, lot.called) for code, lot in self.desk.cellar.lots.items()]
        there = [s for s in self.desk.cellar.in_walking_order() if not s.is_retired]
        tags = [(s.tag, vessel_line(s, self.desk.units)) for s in there]
        return [*tags, ("poured away", "poured away")] if row.field.holds is Holds.PLACE else tags

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A list is offered where a vessel or a lot is asked for."""
        if action != "list":
            return True
        row = self.row_in_hand
        return row is not None and row.field.holds in (Holds.TAG, Holds.PLACE, Holds.LOT)

    @property
    def row_in_hand(self) -> FieldRow | None:
        """The field that has the focus, even under a dialog; None where something else has it."""
        return next((row for row in self.fields.rows if row.is_focused), None) if self.is_mounted else None


def _headed(words: str) -> str:
    """Return words as a heading has them, with a capital."""
    return words[:1].upper() + words[1:]


F = TypeVar("F", bound=KeptForm[Any])


def kept_form(app: App[Any], made: Callable[..., F], name: str, *given: Any) -> F:  # noqa: ANN401 - as it is made of it
    """Return the form of its kind that is kept mounted by a name, since to mount one takes longer than ten keys.

    A new one while that is in use; another is kept once the style sheets have changed.
    """
    if not app.is_screen_installed(name):
        form = made(*given)
        app.install_screen(form, name)
        return form
    form = cast(F, app.get_screen(name))
    if not form.is_mounted or any(form in stack for stack in app._screen_stacks.values()):
        return made(*given)
    if form._css_update_count != app._css_update_count:
        app.uninstall_screen(name)
        form.remove()
        return kept_form(app, made, name, *given)
    form.ask(*given)
    return form


def form_for(app: App[Any], kind: type[Act], texts: Mapping[str, str], title: str = "", first: str = "") -> ActForm:
    """Return the form for an act, kept mounted."""
    return kept_form(app, ActForm, "act", kind, texts, title, first)
