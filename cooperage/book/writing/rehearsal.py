"""Acts tried out one after the other: planned and checked as they would be written, on states that no one else sees.

Nothing is written. What a rehearsal takes, the writer takes as long as the book stays as it is.
"""

from copy import deepcopy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from cooperage.book.cellar import Cellar, Standing
from cooperage.book.errors import AlreadyThere
from cooperage.book.replay.cache import StateCache
from cooperage.book.replay.events import Event
from cooperage.book.replay.replay import Replay
from cooperage.book.replay.snapshots import replay_to
from cooperage.book.replay.state import VesselState
from cooperage.book.store.identity import IdMaker
from cooperage.book.store.registry import Vessel
from cooperage.book.writing.checks import check_not_retired
from cooperage.book.writing.moment import moment_of_writing
from cooperage.book.writing.plans import Draft
from cooperage.book.writing.write import Writing


class _CopiedStates(StateCache):
    """States of which each is copied before it changes, so that those from before can be gone back to."""

    def apply(self, event: Event) -> None:
        """Apply an entry to copies; where it fails, nothing has changed."""
        copies: dict[str, VesselState] = {}

        def to_change(vessel_id: str) -> VesselState:
            if vessel_id not in copies:
                copies[vessel_id] = deepcopy(self.state_of(vessel_id))
            return copies[vessel_id]

        Replay(to_change, self._registry.lot_by_id).apply(event)
        self._states |= copies

    def _rebuild(self, since: datetime) -> None:  # noqa: ARG002 - as the cache calls it
        """Calculate the states from the entries where the cache has a gap, and keep nothing of it."""
        self._states = replay_to(self._connection, self._registry)

    def kept(self) -> dict[str, VesselState]:
        """Return the states as they are."""
        return dict(self._states)

    def go_back(self, states: dict[str, VesselState]) -> None:
        """Put states back as they were."""
        self._states = dict(states)


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a rehearsal that it can go back to."""

    states: dict[str, VesselState]
    codes: frozenset[str]


class Rehearsal(Writing):
    """Acts of the present moment tried out on a view of the book; a strike cannot be."""

    def __init__(self, connection: Connection, now: datetime) -> None:
        super().__init__(connection, moment_of_writing(connection, now), IdMaker())
        self._copied = _CopiedStates(connection, self.registry, self.now)
        self._states = self._copied
        self._codes: frozenset[str] = frozenset()

    def mark(self) -> Mark:
        """Return the point at which it stands."""
        return Mark(self._copied.kept(), self._codes)

    def go_back(self, mark: Mark) -> None:
        """Forget what was tried since a point."""
        self._copied.go_back(mark.states)
        self._codes = mark.codes

    def check_in_use(self, vessel: Vessel) -> None:
        """Refuse a vessel that would be retired by then; raises VesselIsRetired."""
        check_not_retired([vessel.id], self.registry, self._states)

    def cellar(self) -> Cellar:
        """Return the cellar as it would stand now."""
        lots = self.registry.lots
        standings = [Standing(v, self._states.state_of(v.id), self.now, lots) for v in self.registry.load()]
        return Cellar(standings, lots, self.now)

    def _is_late(self, *_act: Any) -> bool:  # noqa: ANN401 - what the writer hands over
        """What is tried out happens after all that is written."""
        return False

    def _check_code_is_new(self, code: str) -> None:
        super()._check_code_is_new(code)
        if code in self._codes:
            raise AlreadyThere("bottling", code)

    def _insert_entry(self, *_entry: Any, **_more: Any) -> None:  # noqa: ANN401 - what the writer hands over
        """Write nothing."""

    def _insert_rows(self, draft: Draft, entry_id: str) -> None:  # noqa: ARG002 - as the writer calls it
        """Write nothing; remember the code of a bottling, which no other may have."""
        if draft.bottling is not None:
            self._codes |= {draft.bottling[0]}
