"""One of the two lists of the trials' screen: what it lists, shows of one trial, and does with it."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import Generic, TypeVar

from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.keys import pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Shown

T = TypeVar("T")
R = TypeVar("R")


class TrialSide(ABC, Generic[T, R]):
    """Trials of one kind: of blends, or across barrels. What takes long is called in a thread."""

    CALLED: str
    NONE_YET: str
    COLUMNS: ListedColumns

    def __init__(self, screen: CellarScreen) -> None:
        self.screen = screen

    @abstractmethod
    def read(self) -> list[T]:
        """Read the trials, newest first."""

    @abstractmethod
    def cells(self, trial: T) -> Row:
        """Return a trial as a row of `COLUMNS`."""

    @abstractmethod
    def code_of(self, trial: T) -> str:
        """Return a trial's code."""

    @abstractmethod
    def about(self, trial: T) -> list[str]:
        """Return what a trial is and what is next."""

    def details(self, trial: T) -> list[str]:  # noqa: ARG002 - of those that have some
        """Return what stands below the answer, or below what is next where there is none yet."""
        return []

    @abstractmethod
    def has_results(self, trial: T) -> bool:
        """Return True once there is something to work an answer out of."""

    @abstractmethod
    def results(self, trial: T) -> R:
        """Work the answer out; raises CooperageError."""

    @abstractmethod
    def shown_results(self, found: R) -> Sequence[str]:
        """Return what was found as lines."""

    @abstractmethod
    def can_pour(self, trial: T) -> bool:
        """Return True where a flight of it is to be poured."""

    @abstractmethod
    def pour(self, trial: T) -> None:
        """Ask, pour the next flight blind, and show the one who pours what goes where."""

    @abstractmethod
    def plan(self) -> None:
        """Ask for a new trial, show its plan, and keep it after a yes."""

    def results_or_why_not(self, trial: T) -> R | CooperageError:
        """Return what was found, or why there is nothing."""
        try:
            return self.results(trial)
        except CooperageError as error:
            return error

    def show_poured(self, flight: Flight, lines: Sequence[str]) -> None:
        """Show what goes where, once, and then what comes next."""
        title = f"Flight {flight.code}: pour in this order; tasters must not see it"
        self.screen.app.push_screen(Shown(title, list(lines)))
        self.screen.show_poured(f"Poured as flight {flight.code}: score it on {pressed('panel')}.", flight.code)

    def show_kept(self, words: str) -> None:
        """Show that a trial was kept, and list it."""
        self.screen.show_message(words)
        self.screen.show_cellar(self.screen.desk.cellar)
