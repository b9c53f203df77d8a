"""The form for a new trial across barrels: which barrels, which treatments, what is measured, when and by whom."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from cooperage.book import Standing
from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.book.declared.properties import PROPERTIES
from cooperage.errors import CooperageError
from cooperage.programme.compared.blocking import BLOCKINGS
from cooperage.programme.compared.from_text import typed_barrel_trial
from cooperage.programme.compared.planning import MOST_GLASSES, AskedOfTrial, PlannedTrial, barrels_named, plan_trial
from cooperage.programme.search.marks import Marks, marks_of
from cooperage.programme.several.named import shown_tags
from cooperage.tasting.flights import flights
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.vocabulary import ATTRIBUTE, vocabulary
from cooperage.tasting.pulling import usual_flight
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.on_screen import said
from cooperage.tui.shared.fields import AskedField
from cooperage.units import Quantity, counted

_ONE_OF_THREE = (
    "Fill in one of three: treatments to be drawn for them; what they differ by already; or barrel by barrel."
)


class BarrelTrialForm(AskedForm[PlannedTrial]):
    """Asks for a trial across barrels; closes with the plan, of which nothing is written yet."""

    def __init__(self) -> None:
        super().__init__("A trial across barrels")
        self._marks: Marks | None = None

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked; the tasters of the last flight are proposed."""
        book, text = self.desk.book, Holds.TEXT
        terms = [term.name for term in vocabulary(book) if term.kind == ATTRIBUTE]
        alike = tuple(BLOCKINGS)
        tasters = ", ".join(usual_flight(flights(book)).tasters)
        return [
            (AskedField("barrels", "barrels", text, example="lot QU-25; or B-001..B-008", needed=True), ""),
            (AskedField("question", "question", text, example="fresher if topped weekly?", needed=True), ""),
            (AskedField("treatments", "treatments, drawn", text, example="weekly, monthly"), ""),
            (AskedField("by", "or treatments by", text, usual="what they are: room, wood", names=alike), ""),
            (AskedField("given", "or treatments by barrel", text, example="B-001=heavy, B-002=light"), ""),
            (
                AskedField("blocks", "compare within the same", text, usual="row, past", names=alike, several=True),
                "",
            ),
            (AskedField("measure", "what is measured", text, names=(OVERALL, *terms, *PROPERTIES)), OVERALL),
            (AskedField("difference", "difference that matters", text, usual="none; or 1.5"), ""),
            (AskedField("days", "on the days", text, usual="today; or tomorrow, in 30 days", several=True), ""),
            (AskedField("tasters", "tasters", text, usual="names, with commas", several=True), tasters),
            (AskedField("glasses", "most glasses of a flight", Quantity.COUNT, usual=str(MOST_GLASSES)), ""),
            (AskedField("code", "its code", text, usual="made from the date"), ""),
        ]

    def _asked(self, texts: Mapping[str, str]) -> AskedOfTrial:
        typed = typed_barrel_trial(texts, self.desk.book.now(), self.desk.units)
        return replace(typed, hand=self.desk.hand)

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return which barrels are meant, and what Enter would do."""
        asked = self._asked(texts)
        if not texts["barrels"]:
            return "Name the barrels: tags, a series, or words such as lot QU-25."
        there = self._barrels(texts)
        if not (asked.treatments or asked.by or asked.given):
            return f"{self._meant(there)}. {_ONE_OF_THREE}"
        return f"{self.writer} shows what a trial of {self._meant(there)} could find, before anything is kept."

    def _barrels(self, texts: Mapping[str, str]) -> list[Standing]:
        desk = self.desk
        try:
            return barrels_named(texts["barrels"], desk.cellar, self._marked, desk.units)
        except CooperageError as error:
            raise BadField("barrels", said(error, desk.units)) from error

    def _marked(self) -> Marks:
        """Return what racks mark, which is worked out once while the form is open: it takes longer than a key may."""
        if self._marks is None:
            self._marks = marks_of(self.desk.book, self.desk.cellar, self.desk.units)
        return self._marks

    @staticmethod
    def _meant(there: Sequence[Standing]) -> str:
        return f"{counted(len(there), 'barrel')}: {shown_tags(sorted(each.tag for each in there))}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Work the plan out, and close with it."""
        if not texts["barrels"]:
            raise BadField("barrels", "name the barrels")
        if not texts["question"]:
            raise BadField("question", "write in a few words what it is to find out")
        desk, there, asked = self.desk, self._barrels(texts), self._asked(texts)
        desk.attempt(
            lambda _sure: plan_trial(desk.book, desk.cellar, there, asked, desk.units),
            self.close,
            self.refused,
            rereads=False,
        )
