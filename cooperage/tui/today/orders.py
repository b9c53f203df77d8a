"""What is done with an order of the day: done as it stands, withdrawn, given another place; all of them printed."""

from collections.abc import Callable, Sequence
from pathlib import Path

from cooperage.programme.orders.checked import Checked
from cooperage.programme.orders.doing import Done, do_order
from cooperage.programme.orders.order import Order
from cooperage.programme.orders.paper import paper_list, save_paper_list
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.words import done_words
from cooperage.programme.orders.written import move_order, withdraw
from cooperage.tui.forms.path_dialog import PathDialog
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.units import local_day

_REASONS = ("not needed any more", "done already, and written", "ordered otherwise")


def do_as_it_stands(screen: CellarScreen, order: Order, then: Callable[[], None]) -> None:
    """Do an order exactly as it is ordered, then call `then`; what the book asks back is asked."""
    desk = screen.desk

    def work(sure: bool) -> Done:
        common = {"hand": desk.hand, "sure": "yes" if sure else ""}
        return do_order(desk.book, str(order.number), common, units=desk.units)

    def done(result: Done) -> None:
        words = done_words(result.order, result.differences)
        screen.show_done(f"Written: {words}", [each.id for each in result.written])
        then()

    desk.attempt(work, done, screen.refuse)


def ask_why_withdrawn(screen: CellarScreen, order: Order) -> None:
    """Withdraw an order with its reason, which is chosen or typed."""
    desk = screen.desk

    def withdrawn(found: Order) -> None:
        screen.show_message(f"Order {found.number} is withdrawn: {found.why}")

    def chosen(why: str | None) -> None:
        if why is not None:
            desk.attempt(lambda _sure: withdraw(desk.book, str(order.number), why), withdrawn, screen.refuse)

    title = f"Withdraw order {order.number}: {order_words(order, desk.units)}. Why?"
    screen.app.push_screen(
        Pick(title, [(why, why) for why in _REASONS], anything="another reason", has_digits=True), chosen
    )


def ask_place(screen: CellarScreen, order: Order, found: Sequence[Checked]) -> None:
    """Give an order another place: before one of the others, or after the last."""
    desk = screen.desk
    others = [each.order for each in found if each.order.id != order.id]
    if not others:
        screen.show_message("There is no other order to stand before or after.")
        return
    choices = [(f"b{each.number}", f"before {each.number}: {order_words(each, desk.units)}") for each in others]
    choices.append((f"a{others[-1].number}", "after all others"))

    def placed(moved: Order) -> None:
        screen.show_message(f"Order {moved.number} has another place")

    def chosen(place: str | None) -> None:
        if place is None:
            return
        ends = {"before": place[1:]} if place.startswith("b") else {"after": place[1:]}
        desk.attempt(lambda _sure: move_order(desk.book, str(order.number), **ends), placed, screen.refuse)

    screen.app.push_screen(Pick(f"When is order {order.number} to be done?", choices), chosen)


def ask_where_to_print(screen: CellarScreen, found: Sequence[Checked]) -> None:
    """Print the orders to a file, whose name is proposed."""
    desk = screen.desk
    name = f"orders-{local_day(desk.book.now()).isoformat()}.txt"
    lines = paper_list(desk.book, found, desk.units)

    def chosen(path: Path | None) -> None:
        if path is not None:
            screen.save_file(path, lambda force: save_paper_list(path, lines, force=force))

    screen.app.push_screen(PathDialog("Print the orders to which file?", name, "a text"), chosen)
