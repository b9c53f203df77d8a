"""Money on screen: what a vessel, a lot or a bottling has cost, and a price to be written down."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.book.prices import ITEMS, NoPriceSize, NoSuchPrice, Price
from cooperage.errors import BadInput
from cooperage.programme.money import words
from cooperage.programme.money.costed import costs_of
from cooperage.programme.money.pricing import parse_price, write_price
from cooperage.programme.money.value import value_at
from cooperage.programme.search.everything import COSTED, named_everything
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.forms.papers import Paper
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.fields import AskedField
from cooperage.units import WHENS, NotADay, NotAQuantity, Quantity


def ask_for_cost(screen: CellarScreen, code: str = "") -> None:
    """Show on a screen what a code has cost when it is calculated; without one, ask of what."""
    if code:
        show_cost(screen, code)
        return
    desk = screen.desk
    found = [each for each in named_everything(desk.book, desk.cellar, desk.units) if each.kind in COSTED]
    choices = [(each.name, f"{each.name}  {each.words}") for each in found]

    def chosen(name: str | None) -> None:
        if name is not None:
            show_cost(screen, name)

    screen.app.push_screen(Pick("Which vessel, lot or bottling?", choices, desk.tag), chosen)


def show_cost(screen: CellarScreen, code: str) -> None:
    """Show what a code has cost, to be read and saved."""
    book, units = screen.desk.book, screen.units

    def calculate() -> str:
        value = value_at(book)
        lines = [line for each in costs_of(value, code) for line in words.cost_words(value, each, units)]
        return on_screen("\n".join([*lines, *words.closing_lines(units)]) + "\n")

    def show(text: str) -> None:
        screen.app.push_screen(Paper(f"What {code} has cost", text, f"cost-{code}.txt", {".txt": text.encode}))

    screen.run_slow_work("cost", calculate, show)


_FIELDS = (
    AskedField("item", "of what", Holds.TEXT, needed=True, names=tuple(ITEMS), example="honey"),
    AskedField("price", "price", Quantity.MONEY, needed=True, example="0.58"),
    AskedField("bottle", "for a bottle of", Quantity.VOLUME, usual="any size"),
    AskedField("since", "holds from", Holds.TEXT, usual=f"today; e.g. {WHENS[1]}"),
)
_FIELD_OF = ((NoSuchPrice, "item"), (NoPriceSize, "bottle"), (NotADay, "since"), (NotAQuantity, "price"))


class PriceForm(AskedForm[Price]):
    """Asks for a price and the day it holds from; closes with what is written."""

    def __init__(self) -> None:
        super().__init__("A price: earlier ones stay for what was done before")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked."""
        return [(field, "") for field in _FIELDS]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return the price as it would be written."""
        if not texts["item"]:
            raise BadField("item", "Name what has a price: bottle, label, hour, honey, racking, or any substance.")
        return f"{self.writer} writes: {words.price_line(self._typed(texts), self.desk.units)}."

    def write(self, texts: Mapping[str, str]) -> None:
        """Write it."""
        book, price = self.desk.book, self._typed(texts)
        self.desk.attempt(lambda sure: write_price(book, price, sure=sure), self.close, self.refused)

    def _typed(self, texts: Mapping[str, str]) -> Price:
        try:
            return parse_price(
                self.desk.book,
                texts["item"],
                texts["price"],
                size=texts["bottle"],
                since=texts["since"],
                hand=self.desk.hand,
                units=self.desk.units,
            )
        except BadInput as error:
            field = next((name for kind, name in _FIELD_OF if isinstance(error, kind)), None)
            if field is None:
                raise
            raise BadField(field, error.words(self.desk.units)) from error
