"""A new difference test: which test, between which two, who tastes, how often, and what is asked."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.tasting.difference.designs import ORDERS
from cooperage.tasting.difference.from_text import question_typed, start_typed, tasters_typed
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.flights import flights
from cooperage.tasting.pulling import last_pull, pull_words, usual_flight
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField
from cooperage.units import Quantity, counted


class NewTest(AskedForm[DifferenceFlight]):
    """Asks for a difference test and pours it; where there are too few answers for what is asked, it asks back."""

    def __init__(self) -> None:
        super().__init__("Pour a difference test")

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return what is asked, with the tasters of the last flight."""
        poured, text = flights(self.desk.book), Holds.TEXT
        names = tuple(dict.fromkeys([*(taster for each in poured for taster in each.panel), *self.desk.hands()]))
        tests = tuple((name, name) for name in ORDERS)
        pull = pull_words(last_pull(self.desk.book, self.desk.hand))
        return [
            (AskedField("test", "test", Holds.CHOICE, needed=True, choices=tests), "triangle"),
            (AskedField("vessel", "vessel", Holds.TAG, example="B-010"), ""),
            (AskedField("against", "against", Holds.TAG, example="B-012"), ""),
            (AskedField("bench", "or a glass from the bench", text, usual="none; or what is in it"), ""),
            (
                AskedField("tasters", "tasters", text, usual="names, with commas", names=names, several=True),
                ", ".join(usual_flight(poured).tasters),
            ),
            (AskedField("rounds", "sets for each", Quantity.COUNT, usual="1"), ""),
            (AskedField("share", "share who taste it", Quantity.PERCENT, usual="50"), ""),
            (AskedField("alike", "show that fewer taste it", Holds.FLAG), ""),
            (AskedField("more", "which has more", text, usual="paired, 3-afc; e.g. oak"), ""),
            (AskedField("expect", "expected to have more", text, usual="neither; or a tag"), ""),
            (AskedField("reference", "always the reference", text, usual="duo-trio; blank: either"), ""),
            (AskedField("alpha", "chance to be wrong", Quantity.PERCENT, usual="5"), ""),
            (AskedField("power", "chance to find it", Quantity.PERCENT, usual="80"), ""),
            (AskedField("pull", "pull of each", Quantity.VOLUME, usual="no sample is written"), pull),
            (AskedField("name", "name", text, usual="none"), ""),
        ]

    def on_mount(self) -> None:
        """A bare number of what is pulled is in mL."""
        super().on_mount()
        self.rows["pull"].show_unit("mL")

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what is asked of how many, before anything is drawn; raises BadField, NotAQuantity."""
        if not texts["test"]:
            raise BadField("test", "choose the test")
        if not texts["vessel"] or not (texts["against"] or texts["bench"]):
            return "Name two vessels, or one and what is in the glass from the bench."
        question, tasters = question_typed(texts), tasters_typed(texts)
        sets = counted(question.rounds, "set")
        who = f"{counted(len(tasters), 'taster')}, {sets} each" if tasters else "no taster yet"
        pair = f"{texts['vessel']} against {texts['against'] or texts['bench']}"
        return f"{self.writer} pours a {question.test} test of {pair} for {who}. {question.words}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Pour it."""
        book, units, hand = self.desk.book, self.desk.units, self.desk.hand
        self.desk.attempt(lambda sure: start_typed(book, texts, units, hand=hand, sure=sure), self.close, self.refused)
