"""The forms for honey that came in and for the batch sheet of a lot, from the declarations the commands read too."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from cooperage.book.declared.acts import LotCost, LotEnd
from cooperage.programme.batches.kept import completed, keep_batch, keep_honey, standing_batches, standing_honeys
from cooperage.programme.batches.sheet import Batch, Honey
from cooperage.programme.batches.typed import OF_BATCH, OF_HONEY, batch_texts, parse_batch, parse_honey
from cooperage.programme.batches.words import batch_cautions, batch_words, honey_cautions, honey_words, mass_words
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.forms.register_form import asked_field
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.fields import NOTE, AskedField


class HoneyForm(AskedForm[Honey]):
    """Asks for honey that came in; closes with what is written. Under a code that is known it is corrected."""

    def __init__(self) -> None:
        super().__init__("Honey that came in; of a known code a blank stays as it was")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked of a honey; the codes that are known are proposed."""
        with self.desk.book.reading() as connection:
            codes = tuple(each.code for each in standing_honeys(connection).values())
        asked = [asked_field(each, self.desk.units) for each in OF_HONEY]
        return [*((replace(each, names=codes) if each.name == "code" else each, "") for each in asked), (NOTE, "")]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return the honey as it would be written, with what to mind of it."""
        honey = parse_honey(texts, self.desk.book.now(), self.desk.units)
        with self.desk.book.reading() as connection:
            honey = completed(honey, standing_honeys(connection).get(honey.code.upper()))
        words = f"{honey.code}: {mass_words(honey.grams, self.desk.units)}, {honey_words(honey, self.desk.units)}"
        return "\n".join([f"{self.writer} writes {words}.", *honey_cautions(honey, self.desk.units)])

    def write(self, texts: Mapping[str, str]) -> None:
        """Write it."""
        book, hand = self.desk.book, self.desk.hand
        honey = parse_honey(texts, book.now(), self.desk.units)
        self.desk.attempt(lambda _sure: keep_honey(book, honey, hand=hand), self.close, self.refused)


class BatchForm(AskedForm[Batch]):
    """Asks for the batch sheet of a lot, with what stands already; closes with what is written."""

    def __init__(self, lot: str = "") -> None:
        super().__init__("The batch sheet of a lot; a blank stays as it was")
        self._lot = lot

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked of a batch, with the sheet that stands."""
        units = self.desk.units
        with self.desk.book.reading() as connection:
            standing = standing_batches(connection).get(self._lot)
        texts = {"lot": self._lot} if standing is None else batch_texts(standing, units)
        lots = tuple(self.desk.cellar.lots)
        asked = [asked_field(each, units) for each in OF_BATCH]
        named = [replace(each, names=lots) if each.name == "lot" else each for each in asked]
        return [*((each, texts.get(each.name, "")) for each in named), (NOTE, texts.get("note", ""))]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what is calculated of the batch as it would be written."""
        batch, units = parse_batch(texts, self.desk.units), self.desk.units
        with self.desk.book.reading() as connection:
            honeys, sheets = standing_honeys(connection), standing_batches(connection)
        earlier = next((sheet for code, sheet in sheets.items() if code.upper() == batch.lot.upper()), None)
        batch = completed(batch, earlier)
        words = [f"{self.writer} writes the batch sheet of {batch.lot}.", batch_words(batch, honeys, units)]
        return on_screen("\n".join([*words, *batch_cautions(batch, honeys, units)]))

    def write(self, texts: Mapping[str, str]) -> None:
        """Write it."""
        book, hand, batch = self.desk.book, self.desk.hand, parse_batch(texts, self.desk.units)
        self.desk.attempt(lambda _sure: keep_batch(book, batch, hand=hand), self.close, self.refused)


def ask_for_lot_cost(screen: CellarScreen, lot: str = "") -> None:
    """Ask what a lot has cost by the litre."""
    screen.open_form(LotCost, {"lot": lot} if lot else {}, lambda _: None, first="cost" if lot else "")


def ask_for_lot_end(screen: CellarScreen, lot: str = "") -> None:
    """Ask when a lot finished fermenting, and its final gravity."""
    screen.open_form(LotEnd, {"lot": lot} if lot else {}, lambda _: None, first="gravity" if lot else "")


def ask_for_honey(screen: CellarScreen) -> None:
    """Ask for honey that came in."""

    def kept(honey: Honey | None) -> None:
        if honey is not None:
            screen.show_message(f"Written: honey {honey.code}, {mass_words(honey.grams, screen.units)}.")

    screen.app.push_screen(HoneyForm(), kept)


def ask_for_batch(screen: CellarScreen, lot: str = "") -> None:
    """Ask for the batch sheet of a lot; the screen goes there."""

    def kept(batch: Batch | None) -> None:
        if batch is not None:
            screen.show_message(f"Written: batch sheet of {batch.lot}.")
            screen.batch_written(batch.lot)

    screen.app.push_screen(BatchForm(lot), kept)
