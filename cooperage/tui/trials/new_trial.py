"""The form for a new trial: what is blended, within which bounds and limits, and who tastes."""

from collections.abc import Mapping, Sequence

from cooperage.blending.trials.planning import plan_trial, typed_trial
from cooperage.blending.trials.precision import TrialPlan
from cooperage.book.declared.fields import Holds
from cooperage.tasting.flights import flights
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField
from cooperage.units import Quantity, counted


class TrialForm(AskedForm[TrialPlan]):
    """Asks for stocks with bounds, limits, tasters; closes with the plan, of which nothing is written yet."""

    def __init__(self) -> None:
        super().__init__("A trial of blends")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked; the tasters of the last flight are proposed."""
        last = next((each.panel for each in flights(self.desk.book) if each.panel), [])
        text = Holds.TEXT
        return [
            (AskedField("stocks", "stocks, with bounds", text, example="B-003=20-60, B-004, B-006", needed=True), ""),
            (AskedField("question", "question", text, example="how much buckwheat?"), ""),
            (AskedField("limits", "limits of every blend", text, example="abv=12.2-12.8, sugar=max 110"), ""),
            (AskedField("tasters", "tasters", text, usual="names, with commas", several=True), ", ".join(last)),
            (AskedField("repeats", "times poured", Quantity.COUNT), "1"),
        ]

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what Enter would do."""
        asked = typed_trial(texts, self.desk.units)
        if not asked.stocks:
            return "Name two to six vessels or lots."
        of = counted(len(asked.stocks), "stock")
        return f"{self.writer} finds the blends of {of} to try, and shows them before anything is kept."

    def write(self, texts: Mapping[str, str]) -> None:
        """Work the plan out, and close with it."""
        book, cellar, units = self.desk.book, self.desk.cellar, self.desk.units
        asked = typed_trial(texts, units)
        self.desk.attempt(lambda _sure: plan_trial(book, cellar, asked, units), self.close, self.refused, rereads=False)
