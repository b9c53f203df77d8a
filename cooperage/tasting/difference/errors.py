"""What a difference test refuses, each named for the rule that was broken."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from cooperage.book.errors import REPEAT
from cooperage.errors import AskedBack, BadInput, Refused
from cooperage.units import Units, counted

if TYPE_CHECKING:
    from cooperage.tasting.difference.planned import PlannedTest


class NotTwoSamples(BadInput):
    """A difference test of anything but two samples that differ."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = tuple(names)
        given = ", ".join(names) if names else "none is named"
        super().__init__(f"a difference test is between two samples, and here are {given}; name two that differ")


class NotAskedSo(BadInput):
    """What is asked does not go with the test."""


class NoAnswer(BadInput):
    """A set of glasses without an answer."""

    def __init__(self, taster: str, codes: Sequence[str]) -> None:
        self.taster, self.codes = taster, tuple(codes)
        super().__init__(
            f"{taster} names no glass of {', '.join(codes)}; the choice is forced: name one, by a guess if need be"
        )


class NoTastersGiven(BadInput):
    """A difference test without tasters: its glasses are poured for each."""

    def __init__(self) -> None:
        super().__init__("each taster gets glasses of their own; name everyone who tastes")


class NotAnAnswer(BadInput):
    """Codes that are no answer to what was asked of a set."""

    def __init__(self, taster: str, why: str) -> None:
        self.taster = taster
        super().__init__(f"{taster}: {why}")


class NoSetDrawn(Refused):
    """An answer of a taster for whom no glasses were poured."""

    def __init__(self, code: str, taster: str, panel: Sequence[str]) -> None:
        self.code, self.taster = code, taster
        there = f"; glasses are poured for {', '.join(panel)}" if panel else ""
        draws = f"`cooperage taste sheet {code} --taster {taster} --sure` draws some"
        super().__init__(f"{taster} has no glasses in {code}{there}; {draws}")


class _AskedBack(AskedBack):
    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the question and how to confirm it on the command line."""
        return f"{self.question(units)}. {REPEAT}"


class TooFewAnswers(_AskedBack):
    """A test with fewer answers than its question needs."""

    def __init__(self, planned: "PlannedTest") -> None:
        self.planned = planned
        super().__init__(planned.words().rstrip("."))

    def question(self, units: Units) -> str:
        """Return the question in the person's own way to write numbers."""
        return self.planned.words(units).rstrip(".")


class AnswersToCome(_AskedBack):
    """A difference test that would be closed while tasters have sets left to answer, or without any answer."""

    def __init__(self, code: str, left: Sequence[tuple[str, int]]) -> None:
        self.code, self.left = code, tuple(left)
        parts = ", ".join(f"{taster} has {counted(sets, 'set')} left to answer" for taster, sets in left)
        super().__init__(f"{parts or 'no taster has answered it'}; once {code} is revealed, it can be answered no more")
