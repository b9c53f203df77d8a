"""A sign of trouble, as every finder of such signs returns it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from cooperage.book.dangers.dangers import Caution

ODD_LOSS = "thirst"
"""The kind of sign of a last visit that alone is odd, by its old name in JSON."""


class SignState(StrEnum):
    """What a sign asks for: trouble is sure enough and costly, what is due is doubtful or slight, the rest is known."""

    TROUBLE = "trouble"
    DUE = "due"
    KNOWN = "known"


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of trouble at a vessel: its kind, why, since when and how sure [0 to 1], where those are known.

    `about_l` are the litres it is about, where it is about litres: missing at a dip, too much lost. `waiting_costs_l`
    is what a month of waiting puts at stake [L] (`waiting.waiting_costs_l`), `state` what that makes of it, `word` what
    a hand calls it then (`words.word_of`). `cautions` are what to mind before it is acted upon.
    """

    vessel: str
    kind: str
    why: str
    since: datetime | None = None
    sure: float | None = None
    cautions: tuple[Caution, ...] = ()
    about_l: float | None = None
    waiting_costs_l: float = 0.0
    state: SignState = SignState.DUE
    word: str = ""

    @property
    def is_trouble(self) -> bool:
        """Return True if it is sure enough and costly; others are for the next visit."""
        return self.state is SignState.TROUBLE
