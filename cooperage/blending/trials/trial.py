"""A trial as the book has it: stocks with bounds, its glasses, and the flights it was poured as."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

from cooperage.errors import BadInput, Refused, did_you_mean
from cooperage.tasting.withdrawal import Withdrawal

LATTICE, CENTROID, VERTICES, D_OPTIMAL = "lattice", "centroid", "vertices", "d-optimal"
DESIGNS = (LATTICE, CENTROID, VERTICES, D_OPTIMAL)
DEGREES: Mapping[int, str] = {1: "linear", 2: "quadratic", 3: "special cubic"}
"""The models that a trial's scores are fitted with (Scheffé 1958), by degree."""
FEWEST_STOCKS, MOST_STOCKS = 2, 6
_GLASS = re.compile(r"(?P<trial>.+)/(?P<number>\d+)")


class TrialState(StrEnum):
    """Where a trial stands."""

    PLANNED = "planned"
    POURED = "poured"
    SCORED = "scored"
    WITHDRAWN = "withdrawn"


class NoSuchTrial(BadInput):
    """A trial that is not in the book."""

    def __init__(self, code: str, known: Iterable[str] = ()) -> None:
        self.code = code
        lists = "; `cooperage trial list` lists them, `cooperage trial barrels list` those across barrels"
        hint = did_you_mean(code, known, lists)
        super().__init__(f"there is no trial '{code}'{hint}")


class TrialWithdrawn(Refused):
    """A trial that was given up: it is poured no more."""

    def __init__(self, code: str, why: str) -> None:
        self.code = code
        super().__init__(f"trial {code} was withdrawn ({why}); plan a new one")


@dataclass(frozen=True, slots=True)
class TrialStock:
    """What a trial blends: a vessel, or the barrels of a lot in equal parts, and the bounds of its share, 0 to 1.

    `figures` are those that the trial's limits are on, as they were when it was planned.
    """

    name: str
    vessels: tuple[str, ...]
    low: float = 0.0
    high: float = 1.0
    figures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TrialGlass:
    """A glass of a trial: its number there, its session, the share planned and the millilitres by stock."""

    number: int
    session: int
    planned: tuple[float, ...]
    ml: tuple[float, ...]

    @property
    def shares(self) -> tuple[float, ...]:
        """The proportions as they are pipetted, which the fit goes by."""
        whole = sum(self.ml)
        return tuple(each / whole for each in self.ml)


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial: what was asked, its stocks, limits as in a brief, glasses, and the pipette's step [ml].

    `flights` are the codes of those it was poured as, by session; `revealed` the sessions that stand revealed.
    """

    id: str
    code: str
    question: str
    stocks: tuple[TrialStock, ...]
    limits: Mapping[str, Any]
    design: str
    degree: int
    glasses: tuple[TrialGlass, ...]
    step_ml: float
    scale: str
    tasters: tuple[str, ...]
    hand: str
    written_at: datetime
    flights: Mapping[int, str] = field(default_factory=dict)
    revealed: frozenset[int] = frozenset()
    withdrawn: Withdrawal | None = None

    @property
    def names(self) -> list[str]:
        """The names of its stocks."""
        return [stock.name for stock in self.stocks]

    @property
    def sessions(self) -> list[int]:
        """The numbers of its sessions."""
        return sorted({glass.session for glass in self.glasses})

    @property
    def left_to_pour(self) -> list[int]:
        """The sessions that are not poured yet."""
        return [session for session in self.sessions if session not in self.flights]

    @property
    def state(self) -> TrialState:
        """Where it stands: scored once every session is revealed, poured once one is poured."""
        if self.withdrawn is not None:
            return TrialState.WITHDRAWN
        if self.revealed.issuperset(self.sessions):
            return TrialState.SCORED
        return TrialState.POURED if self.flights else TrialState.PLANNED

    @property
    def state_words(self) -> str:
        """Where it stands: "1 of 2 sessions poured, 0 revealed"."""
        if self.withdrawn is not None:
            return f"withdrawn: {self.withdrawn.why}"
        sessions, poured, revealed = len(self.sessions), len(self.flights), len(self.revealed)
        if not poured:
            return "planned, not poured yet"
        if sessions == 1:
            return "revealed" if revealed else "poured, still blind"
        return f"{poured} of {sessions} sessions poured, {revealed} revealed"

    @property
    def state_in_short(self) -> str:
        """The same for a column of a list: "1 of 2 poured, 0 revealed"; of one that was withdrawn no reason."""
        return str(self.state) if self.withdrawn is not None else self.state_words.replace(" sessions", "")

    def of_session(self, session: int) -> list[TrialGlass]:
        """List the glasses of a session."""
        return [glass for glass in self.glasses if glass.session == session]

    def glass_name(self, glass: TrialGlass) -> str:
        """Name a glass: "TR-1/3"."""
        return f"{self.code}/{glass.number}"

    def glass_named(self, called: str) -> TrialGlass | None:
        """Find a glass by its name; None where it is none of this trial."""
        found = _GLASS.fullmatch(called.strip())
        if found is None or found["trial"] != self.code:
            return None
        return next((glass for glass in self.glasses if glass.number == int(found["number"])), None)


def blend_words(names: Iterable[str], shares: Iterable[float], decimal: str = ".") -> str:
    """Write a blend by its shares in per cent: "50 % B-003, 50 % B-007"; what it has none of is left out."""
    parts = [
        f"{100 * share:.3g}".replace(".", decimal) + f" % {name}"
        for name, share in zip(names, shares, strict=True)
        if share > 0
    ]
    return ", ".join(parts)
