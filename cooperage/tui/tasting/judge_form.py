"""What is decided about the vessels of a closed flight: as the panel proposes it, changed by whoever leads."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.book.declared.verdicts import VERDICTS, Judgement, NotAVerdict, verdict_in
from cooperage.tasting.closed import ClosedFlight
from cooperage.tasting.flights import judge_flight
from cooperage.tasting.flights.closing import WrittenVerdict
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.fields import NOTE, AskedField


class JudgeFlight(AskedForm[list[WrittenVerdict]]):
    """Asks for the verdict of each vessel of a flight; what most of the panel gave is proposed, a blank leaves it."""

    def __init__(self, closed: ClosedFlight) -> None:
        super().__init__(f"Verdicts of {closed.flight.code}")
        self._read = closed
        self._given = {each.vessel: each for each in closed.verdicts}
        self._tags = list(dict.fromkeys(glass.vessel for glass in closed.flight.glasses if glass.vessel is not None))

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return a field a vessel, then the note."""
        return [*((self._field(tag), self._proposed(tag)) for tag in self._tags), (NOTE, "")]

    def _field(self, tag: str) -> AskedField:
        votes = f"  {self._given[tag].words}" if tag in self._given else ""
        usual = "no majority; blank leaves it" if votes else "blank leaves it"
        return AskedField(tag, f"{tag}{votes}", Holds.TEXT, usual=usual, names=VERDICTS)

    def _proposed(self, tag: str) -> str:
        proposed = self._given[tag].proposed if tag in self._given else None
        return "" if proposed is None else proposed.words

    def _decided(self, texts: Mapping[str, str]) -> dict[str, Judgement]:
        decided = {}
        for tag in self._tags:
            if texts[tag]:
                try:
                    decided[tag] = verdict_in(texts[tag])
                except NotAVerdict as error:
                    raise BadField(tag, str(error)) from error
        return decided

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return which vessels Enter judges."""
        decided = self._decided(texts)
        if not decided:
            return f"Nothing is decided; give {', '.join(VERDICTS)}."
        return f"{self.writer} writes, after asking: {_words(decided)}"

    def write(self, texts: Mapping[str, str]) -> None:
        """Write them together, after asking: an Enter typed ahead of the form writes nothing."""
        book, hand, code = self.desk.book, self.desk.hand, self._read.flight.code
        decided = self._decided(texts)
        if not decided:
            raise BadField(self._tags[0], self.announced(texts))

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(
                    lambda _sure: judge_flight(book, code, decided, hand=hand, note=texts["note"]),
                    self.close,
                    self.refused,
                )

        self.app.push_screen(Confirm(f"Write the verdicts of {code}?\n\n{_words(decided)}", yes="write"), answered)


def _words(decided: Mapping[str, Judgement]) -> str:
    return ", ".join(f"{tag} {each.words}" for tag, each in decided.items())
