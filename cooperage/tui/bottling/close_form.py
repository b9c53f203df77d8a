"""The form that closes a run: what stayed in the line, what is put by, and what becomes of the rest."""

from collections.abc import Mapping, Sequence

from cooperage.book.dangers.dangers import short_lines
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.bottling.closing import (
    LOST,
    RETAINED,
    STAYS,
    HowClosed,
    foreseen,
    read_retained,
    retained_words,
)
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling.words import came_to_words
from cooperage.programme.orders.bottled import close_run
from cooperage.programme.upkeep.cautions import cautions_of_bottling
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField
from cooperage.units import Quantity, read_volume


class CloseForm(AskedForm[BottlingRun]):
    """Asks what is left to know of a run, shows what it comes to, and writes all of it as one."""

    def __init__(self, run: BottlingRun) -> None:
        super().__init__(f"Close the run {run.code}")
        self._run = run

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked; each may be left blank."""
        others = [s.tag for s in self.desk.cellar.in_walking_order() if s.tag not in self._run.vessels]
        rests = ((STAYS, "stays where it is"), (LOST, "is written off"), *((tag, f"goes into {tag}") for tag in others))
        several = "6 of every size; or 750ml=6,375ml=2"
        return [
            (AskedField("line-loss", "stayed in the line", Quantity.VOLUME, usual="what was typed of it already"), ""),
            (AskedField("retained", "bottles put by", Holds.TEXT, usual=f"none; {several}"), ""),
            (AskedField("store", "put by in the store", Holds.TEXT, usual=RETAINED), ""),
            (AskedField("rest", "what remains", Holds.CHOICE, choices=rests), STAYS),
        ]

    def _how(self, texts: Mapping[str, str]) -> HowClosed:
        units = self.desk.units
        try:
            retained = read_retained(texts.get("retained", ""), self._run, units)
        except BadInput as error:
            raise BadField("retained", str(error)) from error
        loss = texts.get("line-loss", "")
        try:
            line_loss_ml = read_volume(loss, units) if loss else 0
        except BadInput as error:
            raise BadField("line-loss", str(error)) from error
        return HowClosed(texts.get("rest") or STAYS, retained, texts.get("store", ""), line_loss_ml)

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what the run comes to, as Enter would write it."""
        how = self._how(texts)
        came = foreseen(self._run, self.desk.cellar, how)
        found = cautions_of_bottling(self._run.vessels, self.desk.cellar, self.desk.units)
        minded = [f"Caution: {' '.join(short_lines(found))}"] if found else []
        comes = "; ".join((*came_to_words(self._run, came, self.desk.units), *retained_words(how)))
        return "\n".join((f"{self.writer} closes it: {comes}.", *minded))

    def write(self, texts: Mapping[str, str]) -> None:
        """Close the run; what the book asks back is asked."""
        how, code, hand = self._how(texts), self._run.code, self.desk.hand
        self.desk.attempt(
            lambda sure: close_run(self.desk.book, code, how, hand=hand, sure=sure), self.close, self.refused
        )
