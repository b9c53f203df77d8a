"""What a flight refuses, each named for the rule that was broken."""

from collections.abc import Iterable, Sequence
from typing import Any

from cooperage.book.errors import REPEAT
from cooperage.errors import AskedBack, BadInput, Refused, did_you_mean


class NoSuchFlight(BadInput):
    """A flight code that is not in the book."""

    def __init__(self, code: str, known: Iterable[str] = ()) -> None:
        self.code = code
        hint = did_you_mean(code, known, "; `cooperage taste flights` lists them")
        super().__init__(f"there is no flight '{code}'{hint}")


class NothingScored(Refused):
    """Scores asked of a flight that is a difference test."""

    def __init__(self, code: str, test: str) -> None:
        self.code, self.test = code, test
        super().__init__(f"{code} is a {test} test: its glasses have no scores; `cooperage taste results {code}`")


class NoSuchGlass(BadInput):
    """A glass code that is not in the flight."""

    def __init__(self, code: str, codes: Iterable[str]) -> None:
        self.code = code
        super().__init__(f"there is no glass '{code}' in this flight; its glasses are {', '.join(codes)}")


class NotInThisFlight(BadInput):
    """An attribute that the flight's tasters do not score, or a vessel that is in none of its glasses."""

    def __init__(self, what: str, name: str, known: Sequence[str]) -> None:
        self.name = name
        there = f"it has {', '.join(known)}" if known else "it has none"
        super().__init__(f"'{name}' is no {what} of this flight; {there}")


class EmptyFlight(BadInput):
    """A flight without glasses."""

    def __init__(self) -> None:
        super().__init__("a flight needs at least one sample; name the vessels")


class NothingToTaste(Refused):
    """Vessels that are to be tasted and hold nothing."""

    def __init__(self, tags: Sequence[str]) -> None:
        self.tags = tuple(tags)
        are = "is" if len(tags) == 1 else "are"
        super().__init__(f"{', '.join(tags)} {are} empty; name vessels that hold something")


class NoTasterNamed(BadInput):
    """A sheet without a taster: none is named, and none was when the flight was poured."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} has no tasters yet; name one: `cooperage taste sheet {code} --taster NAME`")


class NotAmongTheTasters(AskedBack):
    """Names that were not among those named when the flight was poured, nor have tasted it since: slips, or late."""

    def __init__(self, code: str, names: Sequence[str], panel: Sequence[str]) -> None:
        self.code, self.names = code, tuple(names)
        are = "is" if len(names) == 1 else "are"
        hint = did_you_mean(names[0], panel) if len(names) == 1 else ""
        super().__init__(f"{', '.join(names)} {are} not among the tasters of {code} ({', '.join(panel)}){hint}")

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the question and how to confirm it on the command line."""
        question = self.question(units)
        return f"{question}{'' if question.endswith('?') else '.'} Give --sure to add {', '.join(self.names)}."


class NoTasterKnown(AskedBack):
    """Tasters of a new flight none of whom has tasted or written here before: a first panel, or words gone astray."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names = tuple(names)
        are = "Is this a taster" if len(self.names) == 1 else "Are these the tasters"
        none = "No one of this name has" if len(self.names) == 1 else "No one of these names has"
        super().__init__(f"tasters: {', '.join(self.names)}. {none} tasted or written here before. {are}?")


class StillBlind(Refused):
    """Results of a flight whose codes have not been lifted: nothing that could sway a taster is shown."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} is still blind; once all have scored, `cooperage taste reveal {code}`")


class NothingToJudge(Refused):
    """A verdict given to a glass of a flight without vessels, such as a trial of blends."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} has no vessel that a verdict could be for; leave the verdict out")


class AlreadyRevealed(Refused):
    """A score for a flight whose codes have been lifted."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} has been revealed, so its scores stand; pour a new flight")


class NotAllIn(AskedBack):
    """A flight that would be closed while tasters have glasses left to score, or before one is scored."""

    def __init__(self, code: str, left: Sequence[tuple[str, int]], glasses: int) -> None:
        self.code, self.left, self.glasses = code, tuple(left), glasses
        parts = [
            f"{taster} has scored nothing" if missing == glasses else f"{taster} has {missing} of {glasses} left"
            for taster, missing in left
        ]
        why = ", ".join(parts) or "no taster has scored it"
        super().__init__(f"{why}; once flight {code} is revealed, it can be scored no more")

    def words(self, units: Any) -> str:  # noqa: ANN401 - as its root has it
        """Return the question and how to confirm it on the command line."""
        none = all(missing == self.glasses for _, missing in self.left)
        mistake = " It closes a flight that was poured by mistake, too." if none else ""
        return f"{self.question(units)}. {REPEAT}{mistake}"
