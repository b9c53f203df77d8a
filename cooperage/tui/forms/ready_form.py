"""The form for what the cellar, or a lot, calls ready."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.fields import Holds
from cooperage.programme.ready.definitions import Definition
from cooperage.programme.ready.limits import HOW_TYPED
from cooperage.programme.ready.typed import definition_texts, definition_words, typed_definition, write_typed
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.forms.settings_forms import NOTHING_CHANGED
from cooperage.tui.shared.fields import AskedField
from cooperage.units import Quantity

_FIELDS = (
    AskedField("lot", "for the lot", Holds.LOT, usual="the whole cellar"),
    AskedField("limits", "ready is", Holds.TEXT, usual="blank withdraws it", example=HOW_TYPED),
    AskedField("chance", "with a chance of", Quantity.PERCENT),
    AskedField("risk", "risk of missing it", Quantity.PERCENT),
)


class ReadyForm(AskedForm[Definition]):
    """Asks for limits, whom they are for, chance and risk; blank limits withdraw what stands. Closes with what stands.

    What is proposed is the cellar's definition.
    """

    def __init__(self) -> None:
        super().__init__("When a barrel is ready")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked, with the cellar's definition proposed."""
        texts = definition_texts(self.desk.book, self.desk.units)
        return [(field, texts[field.name]) for field in _FIELDS]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what is defined or withdrawn."""
        units = self.desk.units
        typed = typed_definition(self.desk.book, texts, units)
        return f"{self.writer} {definition_words(typed, units)}." if typed.changes else NOTHING_CHANGED

    def write(self, texts: Mapping[str, str]) -> None:
        """Write it, dated and signed."""
        book, hand = self.desk.book, self.desk.hand
        typed = typed_definition(book, texts, self.desk.units)
        self.desk.attempt(lambda sure: write_typed(book, typed, hand=hand, sure=sure), self.close, self.refused)
