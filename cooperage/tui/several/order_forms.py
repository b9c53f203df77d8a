"""Orders in the form of their act: written beforehand with a day, and done with what really came."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from textual.app import ComposeResult

from cooperage.book import KINDS, Act
from cooperage.book.declared.acts import figure_of, is_about_a_vessel
from cooperage.book.declared.fields import Holds
from cooperage.programme.orders.checked import check_orders
from cooperage.programme.orders.doing import COMMON, do_order, sheet_of_order
from cooperage.programme.orders.order import Order
from cooperage.programme.orders.shown import order_words
from cooperage.programme.orders.words import done_words, written_words
from cooperage.programme.orders.written import write_order
from cooperage.programme.several.sheet import ActSheet
from cooperage.programme.several.wanted import Wanted
from cooperage.tui.several.form import FormDone, SeveralForm
from cooperage.tui.shared.fields import COMMON_FIELDS, AskedField
from cooperage.units import read_day

FOR = AskedField("for", "for", Holds.TEXT, usual="today; e.g. tomorrow")


def orderable(*, several: bool) -> list[tuple[str, str]]:
    """List the kinds of work that can be ordered, with their words; of several vessels, those that can be."""
    there = [kind for kind in KINDS.values() if is_about_a_vessel(kind) and not (several and kind.one_at_a_time)]
    return [(kind.kind, kind.label) for kind in there]


class OrderForm(SeveralForm):
    """Asks for an order as its act is asked for, and for which day; a figure that is not known yet stays blank."""

    WRITES = "Enter orders"

    def __init__(
        self, kind: type[Act], tags: Sequence[str], texts: Mapping[str, str], then: Callable[[FormDone], None]
    ) -> None:
        super().__init__(kind, tags, texts, then)
        self._title = f"order: {self._title}"

    def asked_fields(self) -> list[AskedField]:
        """Ask for the day first: Tab leads there from the vessels; then what the act asks for."""
        return [FOR, *super().asked_fields()]

    def common_fields(self) -> Sequence[AskedField]:
        """Ask by whom it is wanted, and for a note."""
        return [field for field in COMMON_FIELDS if field.name != "when"]

    def own_texts(self) -> dict[str, str]:
        """Return the texts of the act alone, its vessels too."""
        texts = self.wanted([tag for tag in self._tags if tag not in self.out]).texts
        return {name: text for name, text in texts.items() if name not in (*COMMON, FOR.name)}

    def announced(self, sheet: ActSheet) -> str:
        """Return what would be ordered; what it would find now stands in no order's way."""
        figure = figure_of(self._kind)
        lacks_figure = sheet.missing is not None and figure is not None and sheet.missing.field == figure.name
        if lacks_figure:
            return f"{self.WRITES}  {self._title.removeprefix('order: ')}; its figure is known when it is done"
        if sheet.meant is not None and sheet.refused_at is not None:
            return f"{self.WRITES}  {sheet.announced}. As it stands now: {sheet.first_words}"
        return super().announced(sheet)

    def write_sheet(self, sheet: ActSheet) -> None:  # noqa: ARG002 - what it finds now stands in no order's way
        """Write the order, and show what its check finds."""
        book, units, texts = self.desk.book, self.desk.units, self.texts
        each = {tag: own for tag, own in self.each.items() if tag not in self.out}
        wanted = Wanted(self._kind.kind, self.own_texts(), each)

        def work(_sure: bool) -> FormDone:
            day = read_day(texts["for"] or "today", book.now())
            order = write_order(book, wanted, day, note=texts["note"], hand=texts["hand"], units=units)
            [checked] = [found for found in check_orders(book, units) if found.order.id == order.id]
            return FormDone(written_words(checked, book.now(), units))

        self.desk.attempt(work, self.done, self._refused)


class DoForm(SeveralForm):
    """Asks what really came of an order, with what was ordered in its fields; what differs is shown when it is done."""

    WRITES = "Enter does it"

    def __init__(self, order: Order, then: Callable[[FormDone], None]) -> None:
        self.LISTS = order.list_field
        figure = figure_of(KINDS[order.kind])
        name = "" if figure is None else figure.name
        self._order = order
        self._ordered = {tag: own[name] for tag, own in order.each.items() if own.get(name)}
        texts = {field: text for field, text in order.texts.items() if field != self.LISTS}
        super().__init__(KINDS[order.kind], order.tags, texts, then, each=self._ordered)

    def compose(self) -> ComposeResult:
        """Name the order in the person's units."""
        self._title = f"order {self._order.number}: {order_words(self._order, self.desk.units)}"
        yield from super().compose()

    def changes(self) -> tuple[dict[str, str], dict[str, dict[str, str]]]:
        """Return what is otherwise than ordered: fields, and the figures of single vessels by tag."""
        before = self._order.texts
        changed = {name: text for name, text in self.texts.items() if name in COMMON or text != before.get(name, "")}
        if self.out:
            changed[self.LISTS] = ",".join(tag for tag in self._tags if tag not in self.out)
        own = {tag: text for tag, text in self.each.items() if tag not in self.out}
        each = {tag: text for tag, text in own.items() if self._ordered.get(tag) not in text.values()}
        return changed, each

    def making(self) -> Callable[[], ActSheet]:
        """Return what works the sheet out of the order and of what is changed."""
        order, book, units, (changed, each) = self._order, self.desk.book, self.desk.units, self.changes()
        return partial(sheet_of_order, book, order, changed, each, frozenset(self.out), units)

    def write_sheet(self, sheet: ActSheet) -> None:
        """Do the order with what came, and show by how much that differs."""
        if self.is_refused(sheet):
            return
        book, units, (changed, each) = self.desk.book, self.desk.units, self.changes()
        number = str(self._order.number)

        def work(sure: bool) -> FormDone:
            done = do_order(book, number, {**changed, "sure": "yes" if sure else ""}, each, units=units)
            return FormDone(done_words(done.order, done.differences), done.written)

        self.desk.attempt(work, self.done, self._refused)
