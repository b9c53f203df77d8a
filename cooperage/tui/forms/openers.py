"""What every screen can open: each by its word, over the screen that is up, which shows what was done."""

from collections.abc import Callable, Mapping

from cooperage.book import KINDS
from cooperage.book.prices import Price
from cooperage.exchange import Imported
from cooperage.programme.money.words import price_line
from cooperage.programme.ready.definitions import Definition, holds_words, what_holds
from cooperage.tui.forms.batch_forms import ask_for_batch, ask_for_honey, ask_for_lot_cost, ask_for_lot_end
from cooperage.tui.forms.import_form import ImportForm
from cooperage.tui.forms.money import PriceForm, ask_for_cost
from cooperage.tui.forms.papers import ask_for_report, show_label
from cooperage.tui.forms.ready_form import ReadyForm
from cooperage.tui.forms.register_form import LotForm, VesselForm
from cooperage.tui.forms.settings_forms import FactsForm
from cooperage.tui.shared.cellar_screen import CellarScreen


def register_vessels(screen: CellarScreen, tag: str = "") -> None:
    """Ask for a new vessel, or several, by a tag that is known; the screen goes there."""
    form = VesselForm(tag)
    screen.app.push_screen(form, lambda done: screen.registered([each.tag for each in done]) if done else None)


def register_lot(screen: CellarScreen) -> None:
    """Ask for a new lot; the screen goes there."""
    screen.app.push_screen(LotForm(), lambda lot: screen.registered([lot.code]) if lot is not None else None)


def change_facts(screen: CellarScreen) -> None:
    """Ask for the facts of the cellar."""

    def changed(keys: list[str] | None) -> None:
        if keys:
            screen.show_message(f"Changed: {', '.join(key.replace('_', ' ') for key in keys)}.")

    screen.app.push_screen(FactsForm(), changed)


def import_files(screen: CellarScreen) -> None:
    """Ask for a file or a folder to import."""

    def imported(done: Imported | None) -> None:
        if done is not None:
            screen.show_message(f"Imported: {done.words}.")

    screen.app.push_screen(ImportForm(), imported)


def define_ready(screen: CellarScreen) -> None:
    """Ask what is called ready."""

    def defined(done: Definition | None) -> None:
        if done is not None:
            desk, whose = screen.desk, "" if done.lot is None else f", {done.lot}"
            then = "" if done.limits else f" {holds_words(what_holds(desk.book, done.lot), done.lot, desk.units)}"
            screen.show_message(f"Ready{whose}: {done.words(desk.units)}.{then}")

    screen.app.push_screen(ReadyForm(), defined)


def set_price(screen: CellarScreen) -> None:
    """Ask for a price."""

    def priced(done: Price | None) -> None:
        if done is not None:
            screen.show_message(f"Written: {price_line(done, screen.units)}.")

    screen.app.push_screen(PriceForm(), priced)


def ask_of_bottles(screen: CellarScreen, kind: str) -> None:
    """Ask for an act on bottles that are in stock or left it."""
    screen.open_form(KINDS[kind], {}, lambda _written: None)


OPENERS: Mapping[str, Callable[..., None]] = {
    "vessel": register_vessels,
    "lot": register_lot,
    "facts": change_facts,
    "import": import_files,
    "report": ask_for_report,
    "label": show_label,
    "ready": define_ready,
    "honey": ask_for_honey,
    "batch": ask_for_batch,
    "lotcost": ask_for_lot_cost,
    "lotend": ask_for_lot_end,
    "cost": ask_for_cost,
    "price": set_price,
    "bottles": ask_of_bottles,
}
"""Each by the word of the app's action `ask`."""
