"""What a plan reads of the cellar, and what it returns: the rows that an act means."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from cooperage.book.declared import acts
from cooperage.book.replay.events import Move, Observed
from cooperage.book.replay.state import VesselState
from cooperage.book.store.registry import Lot, Vessel
from cooperage.book.writing.bottles import BottlesCarried, BottlesThen
from cooperage.book.writing.doubts import BandOf, CellarFacts


class View(CellarFacts, Protocol):
    """The cellar as it stood at the moment of an act."""

    at: datetime
    band_of: BandOf | None

    @property
    def bottles(self) -> BottlesThen:
        """The bottles as they were at that moment."""

    def vessel(self, tag: str) -> Vessel:
        """Find a vessel by tag."""

    def by_id(self, vessel_id: str) -> Vessel:
        """Find a vessel by its id."""

    def lot(self, code: str) -> Lot:
        """Find a lot by code."""

    def state(self, vessel: Vessel) -> VesselState:
        """Return a vessel's state at that moment."""

    def rooms(self) -> list[str]:
        """List the rooms in which vessels stand or have stood."""


@dataclass(slots=True)
class Draft:
    """The rows an act means: its subject, moves, readings, a bottling's (code, bottles, ml per bottle).

    The subject is a vessel, or none where the act is about a room or about bottles.

    `retires` is the id of the vessel that leaves the programme, if one does. `carried` are the bottles it carries;
    `act` is the act as the book keeps it, where a code or a store in it was found under another spelling.
    """

    vessel: Vessel | None
    moves: list[Move] = field(default_factory=list)
    readings: list[Observed] = field(default_factory=list)
    bottling: tuple[str, int, int] | None = None
    retires: str | None = None
    carried: BottlesCarried | None = None
    act: acts.Act | None = None

    @property
    def subject(self) -> str | None:
        """The id of the vessel it is about, if it is about one."""
        return None if self.vessel is None else self.vessel.id
