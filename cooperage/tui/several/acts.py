"""The acts on a vessel, or on several, as pages and racks open them: which can be done, and in which form."""

from collections.abc import Callable, Sequence
from typing import Any

from cooperage.book import KINDS, Standing, Written
from cooperage.programme.rounds.due import next_due
from cooperage.programme.several.named import shown_tags
from cooperage.tui.keys import bound
from cooperage.tui.several.form import FormDone, SeveralForm
from cooperage.tui.several.order_forms import OrderForm, orderable
from cooperage.tui.shared.act_form import first_field
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import Desk
from cooperage.tui.shared.dialogs import Pick


def act_bindings() -> list[Any]:
    """Return the keys of the acts that are done to several vessels as they are to one, and of an order for them."""
    return [
        bound("top", "form('top')"),
        bound("fill", "form('fill')"),
        bound("rack", "form('rack')"),
        bound("add", "form('addition')"),
        bound("read", "form('reading')"),
        bound("barrel work", "form('treat')"),
        bound("look", "form('look')"),
        bound("sample", "form('sample')"),
        bound("judge", "form('judge')"),
        bound("retire", "form('retire')"),
        bound("order", "order"),
    ]


def can_be_done(kind: str, standings: Sequence[Standing]) -> bool:
    """Return True if a kind of entry can be done to some of the vessels as they stand."""
    return any(_can(kind, standing) for standing in standings)


def _can(kind: str, standing: Standing) -> bool:
    if standing.is_retired:
        return False
    if KINDS[kind].needs_mead:
        return standing.ml > 0
    if KINDS[kind].fills == "vessel":
        return standing.headspace_ml > 0 and (kind != "fill" or standing.vessel.is_barrel)
    return True


def known_texts(desk: Desk, kind: str, standings: Sequence[Standing]) -> dict[str, str]:
    """Return what is known beforehand: the keg that all of them are topped from, if it is the same."""
    if kind != "top":
        return {}
    kegs = {_keg(desk, standing) for standing in standings}
    return {"from": kegs.pop()} if len(kegs) == 1 else {}


def _keg(desk: Desk, standing: Standing) -> str:
    coming = next_due(standing, desk.cellar, desk.rates, desk.units)
    return next((due.keg for due in coming if due.keg), "")


def open_act(screen: CellarScreen, kind: str, standings: Sequence[Standing], then: Callable[[], None]) -> None:
    """Ask for an act on one vessel, or in one form on all to which it can be done; show it, then call `then`."""
    fit = [standing for standing in standings if _can(kind, standing)]
    texts = known_texts(screen.desk, kind, fit)
    if len(standings) == 1:
        [one] = fit

        def written(_written: Written) -> None:
            then()

        screen.open_form(KINDS[kind], {"vessel": one.tag} | texts, written, first=first_field(kind, one))
        return

    def done(outcome: FormDone) -> None:
        show_outcome(screen, outcome)
        then()

    tags, others = [s.tag for s in fit], [s.tag for s in standings if s not in fit]
    title = f"{KINDS[kind].label}: {shown_tags(tags)}{f'; not {shown_tags(others)}' if others else ''}"
    screen.app.push_screen(SeveralForm(KINDS[kind], tags, texts, done, title=title))


def show_outcome(screen: CellarScreen, outcome: FormDone) -> None:
    """Show what was done, for as long as it stands."""
    screen.show_done(f"Written: {outcome.words}", [each.id for each in outcome.written])


def open_order(screen: CellarScreen, standings: Sequence[Standing], then: Callable[[], None]) -> None:
    """Ask what is to be done to some vessels, then write an order for it in the form in which it will be done."""
    tags = [standing.tag for standing in standings]

    def done(outcome: FormDone) -> None:
        screen.show_message(outcome.words)
        then()

    def chosen(kind: str | None) -> None:
        if kind is not None:
            texts = known_texts(screen.desk, kind, standings)
            screen.app.push_screen(OrderForm(KINDS[kind], tags, texts, done))

    several = f"{len(tags)} vessels" if len(tags) > 1 else "".join(tags)
    screen.app.push_screen(Pick(f"Order what for {several}?", orderable(several=len(tags) > 1)), chosen)
