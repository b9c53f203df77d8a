"""The form that asks what to trace: a code, a hand, days; each narrows the others."""

from collections.abc import Mapping, Sequence

from cooperage.book.declared.fields import Holds
from cooperage.book.declared.from_text import BadField
from cooperage.errors import BadInput
from cooperage.programme.recall.asked import RecallQuestion
from cooperage.tui.forms.asked_form import AskedForm
from cooperage.tui.shared.fields import AskedField
from cooperage.units import ALWAYS, read_span, show_span

_EXAMPLE = "SALT-25"


class QuestionForm(AskedForm[RecallQuestion]):
    """Asks for a code, a hand and the days; closes with the question."""

    def __init__(self, asked: RecallQuestion, hands: Sequence[str]) -> None:
        super().__init__("Trace what, by whom, on which days")
        self._asked, self._hands = asked, tuple(hands)

    def fields(self) -> Sequence[tuple[AskedField, str]]:
        """Return the code, the hand and the days, with what was asked before."""
        code = AskedField("code", "bottling, lot, tag", Holds.TEXT, usual=f"everything; e.g. {_EXAMPLE}")
        hand = AskedField("hand", "by", Holds.TEXT, usual="everybody", names=self._hands)
        since = AskedField("since", "since", Holds.TEXT, usual="the beginning; or last month")
        until = AskedField("until", "until", Holds.TEXT, usual="now; e.g. 2026-09-30")
        return [(code, self._asked.code), (hand, self._asked.hand), (since, ""), (until, "")]

    def _question(self, texts: Mapping[str, str]) -> RecallQuestion:
        since, until = texts["since"] or None, texts["until"] or None
        try:
            span = read_span(since, until, self.desk.book.now())
        except BadInput as error:
            raise BadField("until" if until else "since", str(error)) from error
        if not (texts["code"] or texts["hand"] or span != ALWAYS):
            raise BadField("code", "name what to trace: a code, a tag, who did it, or days")
        return RecallQuestion(texts["code"], texts["hand"], span)

    def announced(self, texts: Mapping[str, str]) -> str:
        """Return what would be traced."""
        asked = self._question(texts)
        by = f"what {asked.hand} did" if asked.hand else ""
        parts = (asked.code, by, show_span(asked.span))
        return f"{self.writer} traces {', '.join(part for part in parts if part)}."

    def write(self, texts: Mapping[str, str]) -> None:
        """Close with the question."""
        self.close(self._question(texts))
