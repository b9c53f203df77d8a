"""The form for a new run: its code, what is bottled and into what; its risks come next, and nothing is written yet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cooperage.book.declared.fields import Holds
from cooperage.programme.bottling.asked import AskedRun, read_asked
from cooperage.programme.bottling_risks.risk import Risk
from cooperage.programme.bottling_risks.typed import USUAL_SIZES
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField, example_of
from cooperage.units import Quantity


@dataclass(frozen=True, slots=True)
class RunWanted:
    """A run that is asked for, with its risks as they stood, and what was typed for it."""

    asked: AskedRun
    found: list[Risk]
    texts: Mapping[str, str]


class OpenForm(AskedForm[RunWanted]):
    """Asks for code, vessels, sizes, label and line loss; closes with the run's risks, of which nothing is written.

    `proposed` is what was typed for it before, or what is known.
    """

    def __init__(self, proposed: Mapping[str, str]) -> None:
        super().__init__("A bottling run: its risks come first")
        self._proposed = proposed

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked; vessels that hold mead are completed as they are typed."""
        units, text = self.desk.units, Holds.TEXT
        tags = tuple(s.tag for s in self.desk.cellar.in_walking_order() if s.ml)
        loss = f"1 % of it; e.g. {example_of(Quantity.VOLUME, units)}"
        asked = [
            AskedField("code", "code", text, needed=True, example="SALT-26"),
            AskedField("vessels", "vessels, first drawn first", text, needed=True, names=tags, several=True),
            AskedField("sizes", "bottles", text, usual=f"{USUAL_SIZES}; or 375ml=96, 750ml"),
            AskedField("label", "strength on the label", Quantity.STRENGTH, usual="none stated yet"),
            AskedField("line-loss", "stays in the line", Quantity.VOLUME, usual=loss),
        ]
        return [(each, self._proposed.get(each.name, "")) for each in asked]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what Enter would do."""
        asked = read_asked(texts, self.desk.cellar, self.desk.units)
        return f"{self.writer} shows the risks of {asked.code} from {', '.join(asked.vessels)}. Nothing is written yet."

    def write(self, texts: Mapping[str, str]) -> None:
        """Find the risks, and close with them."""
        book, units = self.desk.book, self.desk.units
        asked = read_asked(texts, self.desk.cellar, units)
        self.desk.attempt(
            lambda _sure: asked.risks(book, units),
            lambda found: self.close(RunWanted(asked, found, dict(texts))),
            self.refused,
            rereads=False,
        )
