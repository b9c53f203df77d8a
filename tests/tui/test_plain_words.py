"""Every screen, form and dialog reads plainly: no mannered word, a label and a hint at each field, a word a key."""

import inspect
import re
from collections import defaultdict
from contextlib import suppress
from importlib import import_module
from pkgutil import walk_packages
from typing import Any

import pytest
from textual.binding import Binding
from textual.dom import DOMNode
from textual.screen import Screen
from textual.widgets import Input
from textual.worker import WorkerCancelled

import cooperage.tui
from cooperage.book.declared.acts import KINDS
from cooperage.programme.recall.asked import RecallQuestion
from cooperage.tui.app import PAGES
from cooperage.tui.bottling.open_form import OpenForm
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.forms.import_form import ImportForm
from cooperage.tui.forms.lab_slip import SlipDialog
from cooperage.tui.forms.papers import SaveForm, SpanForm
from cooperage.tui.forms.path_dialog import PathDialog
from cooperage.tui.forms.ready_form import ReadyForm
from cooperage.tui.forms.register_form import LotForm, VesselForm
from cooperage.tui.forms.settings_forms import FactsForm, SettingsForm
from cooperage.tui.forms.upkeep_form import UpkeepForm
from cooperage.tui.racks.shift_form import ShiftForm
from cooperage.tui.recall.form import QuestionForm
from cooperage.tui.rounds.sheet_forms import When
from cooperage.tui.several.asked import WhichForm
from cooperage.tui.several.form import SeveralForm
from cooperage.tui.several.order_forms import OrderForm
from cooperage.tui.shared.act_form import ActForm
from cooperage.tui.shared.choices import Choice, FlagBox
from cooperage.tui.shared.field_list import FieldList
from cooperage.tui.tasting.new_flight import NewFlight
from cooperage.units import Units
from tests.examples import crossed

WIDE = (150, 50)
MANNERED = re.compile(
    r"\b(told|tells?|telling|said|says?|saying|hear[sd]?|reckon\w*|thirst\w*|drunk|gone|anew|apart|hush\w*|sift\w*|"
    r"ticks?|nobody|somebody|spoken|one is in|one stands|lets? go of)\b",
    re.IGNORECASE,
)
RAW_KEYS = re.compile(r"\b[a-z0-9]+_(?:g_l|mg_l|ml|per_l|c)\b|--[a-z]")
KEYS = {
    "rounds": (
        "1.1; weeping",
        "escape",
        "escape",
        "u",
        "escape",
        "q",
        "escape",
        "h",
        "escape",
        "o",
        "escape",
        "j",
        "-",
    ),
    "today": ("down",),
    "racks": ("down", "q", "z", "escape", "m"),
    "barrel": ("v", "right", "x", "escape"),
    "panel": ("down",),
    "blend": ("escape", "down"),
    "lots": ("down", "tab", "down"),
    "book": ("down", "x", "escape", "c"),
    "losses": ("q", "down", "enter", "tab", "down"),
    "figures": ("tab", "down"),
    "trials": ("down", "tab"),
    "periods": ("down", "v", "tab"),
    "recall": (*"B-001", "enter", "v", "v", "v", "v"),
    "bottling": ("down", "n", "escape"),
    "bottles": ("down", "m", "escape"),
}
"""Keys that show more of each screen."""


def texts(pilot: Any) -> str:
    """All that stands on the screen."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


def mannered(where: str, text: str) -> list[str]:
    """Return each line that holds a mannered word or a name of the code."""
    return [f"{where}: {line.strip()}" for line in text.split("\n") if MANNERED.search(line) or RAW_KEYS.search(line)]


def forms(standing: Any) -> dict[str, Screen[Any]]:
    """Return every form and dialog that asks for something."""
    made: dict[str, Screen[Any]] = {kind: ActForm(KINDS[kind], {"vessel": "B-001"}) for kind in KINDS}
    asking: dict[str, Screen[Any]] = {
        "upkeep": UpkeepForm(standing),
        "several": SeveralForm(KINDS["top"], ["B-001", "B-002"], {}, lambda done: None),
        "which": WhichForm(KINDS["fill"], lambda done: None),
        "order": OrderForm(KINDS["addition"], ["B-001"], {}, lambda done: None),
        "count": CountDialog(),
        "slip": SlipDialog(),
        "new flight": NewFlight(),
        "move": ShiftForm(standing),
        "new vessel": VesselForm(),
        "new lot": LotForm(),
        "trace": QuestionForm(RecallQuestion(), ["Ada"]),
        "settings": SettingsForm(),
        "facts": FactsForm(),
        "ready": ReadyForm(),
        "span": SpanForm("stock"),
        "save": SaveForm("Stock", "stock.txt", {}),
        "import": ImportForm(),
        "when": When("When was the sheet walked?"),
        "run": OpenForm({}),
        "brief": PathDialog("Open brief", "", "a TOML file"),
    }
    return made | asking


@pytest.mark.slow
@pytest.mark.parametrize(
    ("page", "units"),
    crossed([page.name for page in PAGES], [Units(), Units(volume="gal", gravity="brix", temperature="f")]),
)
async def test_no_screen_has_a_mannered_word(opened: Any, press: Any, page: Any, units: Any) -> None:
    """Each screen as it comes up, after its keys, and its sheet of keys; the guide is held where its pages are."""
    found = []
    async with opened(size=WIDE, page=page, units=units) as pilot:
        for key in ("", *KEYS[page], "?"):
            with suppress(WorkerCancelled):  # a key may cancel what the key before it has begun
                await press(pilot, *filter(None, [key]))
            found += mannered(f"{page} {key}", texts(pilot))
    assert not found, "\n".join(dict.fromkeys(found))


@pytest.mark.slow
async def test_every_field_has_a_label_and_a_hint(opened: Any, press: Any) -> None:
    """A box has a text or an example in it; a choice and a yes or no show what can be answered."""
    found, without = [], []
    async with opened(size=WIDE, page="barrel") as pilot:
        for name, form in forms(pilot.app.screen._standing).items():
            await pilot.app.push_screen(form)
            await press(pilot)
            found += mannered(name, texts(pilot))
            rows = [row for fields in form.query(FieldList) for row in fields.rows]
            without += [f"{name}: {row.field.name}" for row in rows if not row.field.label.strip()]
            without += [f"{name}: {row.field.name}" for row in rows if not (row.words or row.example)]
            without += [
                f"{name}: {box.id}"
                for box in form.query(Input)
                if not (isinstance(box, FieldList) or box.placeholder or box.value)
            ]
            answers = [*form.query(Choice), *form.query(FlagBox)]
            without += [f"{name}: {answer.id}" for answer in answers if len(str(answer.render()).strip()) < 4]
            pilot.app.pop_screen()
    assert not found, "\n".join(dict.fromkeys(found))
    assert not without


def bindings() -> list[tuple[str, Binding]]:
    """Return every key of every screen, dialog, list and box of the terminal UI, with the class that declares it."""
    found = []
    for module in walk_packages(cooperage.tui.__path__, "cooperage.tui."):
        for name, declared in inspect.getmembers(import_module(module.name), inspect.isclass):
            if issubclass(declared, DOMNode) and declared.__module__ == module.name:
                found += [(name, binding) for binding in declared.__dict__.get("BINDINGS", ())]
    return found


SEVERAL = {
    "take": "Enter does with a line what the list is for",
    "app.focus_next": "in a form the next field, on a screen the next list",
    "app.focus_previous": "likewise",
    "step(-1)": "to the left on the racks, the previous stop, the previous column",
    "step(1)": "likewise",
}
"""Actions that have several names, and why."""


def test_an_action_has_the_same_word_everywhere() -> None:
    """One word for one thing: what `d` is called on the rounds it is called on the barrel's page."""
    words = defaultdict(set)
    for _, binding in bindings():
        words[binding.action.removeprefix("screen.")].add(binding.description)
    several = {action: sorted(names) for action, names in words.items() if len(names) > 1 and action not in SEVERAL}
    assert not several


def test_a_word_is_for_the_same_action_everywhere() -> None:
    """No two acts on a vessel share a word; a form may be opened by another action of the same purpose."""
    actions = defaultdict(set)
    for _, binding in bindings():
        if binding.show and binding.action.startswith("form("):
            actions[binding.description].add(binding.action)
    assert all(len(each) == 1 for each in actions.values()), actions


def test_every_key_has_a_plain_word() -> None:
    """Short enough for the bar, in small letters, no mannered word."""
    for owner, binding in bindings():
        words = binding.description
        assert words, (owner, binding.key)
        assert words == words.lower(), (owner, words)
        assert len(words) <= 24, (owner, words)
        assert not MANNERED.search(words), (owner, words)


def test_the_docstrings_of_the_screens_are_plain() -> None:
    """A developer reads them."""
    found = []
    for module in walk_packages(cooperage.tui.__path__, "cooperage.tui."):
        loaded = import_module(module.name)
        members = [loaded, *(m for _, m in inspect.getmembers(loaded) if getattr(m, "__module__", "") == module.name)]
        for member in members:
            inner = vars(member).values() if inspect.isclass(member) else ()
            for each in (member, *inner):
                found += mannered(module.name, getattr(each, "__doc__", "") or "")
    assert not [line for line in found if not RAW_KEYS.search(line)]
