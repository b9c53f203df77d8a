"""That what was planned to be tasted was given up: one record for trials of blends and for trials across barrels."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """That a trial was given up: why, by whom, when."""

    why: str
    hand: str
    at: datetime
