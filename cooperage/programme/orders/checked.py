"""What each open order will find: it can be done after those before it, is asked back, or is impossible and why.

The orders are rehearsed in their sequence as they would be written; one that is impossible is passed over for those
after it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cooperage.book import Act, Book, Written
from cooperage.book.declared.acts import KINDS, figure_of
from cooperage.book.declared.from_text import BadField
from cooperage.book.writing.rehearsal import Mark, Rehearsal
from cooperage.errors import AskedBack, CooperageError
from cooperage.programme.orders.kept import orders_in
from cooperage.programme.orders.order import Order, OrderState
from cooperage.programme.orders.shown import order_words
from cooperage.programme.several.proposed import Meant, meant_by
from cooperage.programme.several.wanted import Ground, vessels_of
from cooperage.programme.together import AskedTogether, naming, write_one
from cooperage.units import DEFAULT, Units


class Verdict(StrEnum):
    """Whether an order can be done."""

    POSSIBLE = "possible"
    ASKED = "asked back"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True, slots=True)
class Checked:
    """An order with what its check found; `why` is empty where it is simply possible.

    `because_of` is the order before it without which it would be possible. `written` is what would be written for each
    vessel by its tag; nothing where it is impossible, or where a figure is only known when it is done.
    """

    order: Order
    verdict: Verdict
    why: str = ""
    because_of: Order | None = None
    written: Mapping[str, Written] | None = None

    @property
    def acts(self) -> list[Act]:
        """The acts that would be written."""
        return [each.act for each in (self.written or {}).values()]


def check_orders(book: Book, units: Units = DEFAULT) -> list[Checked]:
    """Check the open orders one after the other, on the cellar as it stands now; nothing is written.

    Raises ClockBehind.
    """
    with book.reading() as connection:
        wanted = orders_in(connection, (OrderState.OPEN,))
        if not wanted:
            return []
        latest = book.cellar_in(connection)
        rehearsal = Rehearsal(connection, book.now(), latest)
        return _Check(book, rehearsal, Ground(book, latest, shown=units), units).run(wanted)


class _Check:
    def __init__(self, book: Book, rehearsal: Rehearsal, ground: Ground, units: Units) -> None:
        self._book, self._rehearsal, self._ground, self._units = book, rehearsal, ground, units
        self._before: list[tuple[Order, Mark]] = []

    def run(self, orders: Sequence[Order]) -> list[Checked]:
        return [self._checked(order) for order in orders]

    def _checked(self, order: Order) -> Checked:
        mark = self._rehearsal.mark()
        try:
            found = self._try(order)
        except CooperageError as error:
            self._rehearsal.go_back(mark)
            found = self._impossible(order, error, mark)
        else:
            self._before.append((order, mark))
        return found

    def _try(self, order: Order) -> Checked:
        """Rehearse an order; raises what makes it impossible."""
        cellar = self._rehearsal.cellar()
        try:
            meant = meant_by(order.wanted, cellar, self._ground, always=True)
        except BadField as error:
            if not _is_its_figure(error, order):
                raise
            for standing in vessels_of(order.wanted, cellar, self._ground):
                self._rehearsal.check_in_use(standing.vessel)
            return Checked(order, Verdict.POSSIBLE, "its figure is known when it is done")
        written, asked = self._write(meant)
        if not asked:
            return Checked(order, Verdict.POSSIBLE, written=written)
        return Checked(order, Verdict.ASKED, AskedTogether(asked).question(self._units), written=written)

    def _write(self, meant: Meant) -> tuple[dict[str, Written], list[AskedBack]]:
        written, asked = {}, list(meant.doubts)
        for tag, act in meant.acts.items():
            with naming(tag if len(meant.acts) > 1 else ""):
                written[tag] = write_one(self._rehearsal, self._book, act, asked)
        return written, asked

    def _impossible(self, order: Order, error: CooperageError, mark: Mark) -> Checked:
        """Name the latest order before it after which it became impossible, if it was possible until then."""
        words = error.words(self._units)
        for earlier, before in reversed(self._before):
            self._rehearsal.go_back(before)
            try:
                self._try(order)
            except CooperageError:
                continue
            finally:
                self._rehearsal.go_back(mark)
            first = order_words(earlier, self._units)
            return Checked(
                order, Verdict.IMPOSSIBLE, f"{words}, after order {earlier.number} ({first})", because_of=earlier
            )
        return Checked(order, Verdict.IMPOSSIBLE, words)


def _is_its_figure(error: BadField, order: Order) -> bool:
    """Return True if all that is missing is a figure that is only known when the order is done."""
    figure = figure_of(KINDS[order.kind])
    return figure is not None and error.field == figure.name and not order.texts.get(figure.name)
