"""Acts tried out one after the other: planned and checked as they would be written, on states that no one else sees.

Nothing is written. What a rehearsal takes, the writer takes as long as the book stays as it is.
"""

import pickle
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from cooperage.book.cellar import Cellar, Standing
from cooperage.book.errors import AlreadyThere
from cooperage.book.replay.cache import StateCache
from cooperage.book.replay.events import Event
from cooperage.book.replay.snapshots import replay_to, replayed_on
from cooperage.book.replay.state import VesselState
from cooperage.book.store.identity import IdMaker
from cooperage.book.store.registry import Vessel
from cooperage.book.writing.bottles import Bottles
from cooperage.book.writing.checks import check_not_retired
from cooperage.book.writing.draft import Draft
from cooperage.book.writing.moment import moment_of_writing
from cooperage.book.writing.write import Writing


class _CopiedStates(StateCache):
    """States of which each is copied before it changes, so that those from before can be gone back to."""

    def apply(self, event: Event) -> None:
        """Apply an entry to copies; where it fails, nothing has changed."""
        copies: dict[str, VesselState] = {}

        def to_change(vessel_id: str) -> VesselState:
            if vessel_id not in copies:
                copies[vessel_id] = _copied(self.state_of(vessel_id))
            return copies[vessel_id]

        replayed_on(self._connection, self._registry, to_change).apply(event)
        self._states |= copies

    def begin_with(self, latest: Iterable[Standing]) -> None:
        """Take the states that were read with a cellar, in place of reading each again."""
        self._states = {standing.vessel.id: standing.state for standing in latest}

    def _rebuild(self, since: datetime) -> None:  # noqa: ARG002 - as the cache calls it
        """Calculate the states from the entries where the cache has a gap, and keep nothing of it."""
        self._states = replay_to(self._connection, self._registry)

    def kept(self) -> dict[str, VesselState]:
        """Return the states as they are."""
        return dict(self._states)

    def go_back(self, states: dict[str, VesselState]) -> None:
        """Put states back as they were."""
        self._states = dict(states)


def _copied(state: VesselState) -> VesselState:
    """Return a copy that shares nothing with a state, in a tenth of the time that `deepcopy` takes."""
    copy: VesselState = pickle.loads(pickle.dumps(state, pickle.HIGHEST_PROTOCOL))
    return copy


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a rehearsal that it can go back to."""

    states: dict[str, VesselState]
    codes: frozenset[str]
    bottles: Bottles


class Rehearsal(Writing):
    """Acts of the present moment tried out on a view of the book; a strike cannot be.

    `latest` is the cellar as the same view has it, whose states are then not read again.
    """

    def __init__(self, connection: Connection, now: datetime, latest: Cellar | None = None) -> None:
        super().__init__(connection, moment_of_writing(connection, now), IdMaker())
        self._copied = _CopiedStates(connection, self.registry, self.now)
        self._states = self._copied
        if latest is not None:
            self._copied.begin_with(latest)
        self._standings: dict[str, Standing] = {}
        self._codes: frozenset[str] = frozenset()

    def mark(self) -> Mark:
        """Return the point at which it stands."""
        return Mark(self._copied.kept(), self._codes, self._bottles.copied())

    def go_back(self, mark: Mark) -> None:
        """Forget what was tried since a point."""
        self._copied.go_back(mark.states)
        self._codes, self._bottles = mark.codes, mark.bottles.copied()

    def check_in_use(self, vessel: Vessel) -> None:
        """Refuse a vessel that would be retired by then; raises VesselIsRetired."""
        check_not_retired([vessel.id], self.registry, self._states)

    def cellar(self) -> Cellar:
        """Return the cellar as it would stand now."""
        return Cellar([self._standing(vessel) for vessel in self.registry.load()], self.registry.lots, self.now)

    def _standing(self, vessel: Vessel) -> Standing:
        """Return a vessel as it would stand; what was worked out of it stays while its state is the same."""
        state, known = self._states.state_of(vessel.id), self._standings.get(vessel.id)
        if known is None or known.state is not state:
            known = self._standings[vessel.id] = Standing(vessel, state, self.now, self.registry.lots)
        return known

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
