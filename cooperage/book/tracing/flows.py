"""What a trace finds on its way: how much went from one place to another, when, and by whose hands."""

from dataclasses import dataclass, field
from datetime import datetime

from cooperage.book.tracing.histories import Passage


@dataclass(slots=True)
class Edge:
    """All that a trace followed from one place to another: millilitres, the first and last time, hands, entries.

    `at` and `by` are of the move that came first.
    """

    ml: float = 0.0
    first: datetime | None = None
    last: datetime | None = None
    hands: set[str] = field(default_factory=set)
    entries: set[str] = field(default_factory=set)

    def add(self, passage: Passage, ml: float) -> None:
        """Add a part of a move."""
        self.ml += ml
        self.first = passage.at if self.first is None else min(self.first, passage.at)
        self.last = passage.at if self.last is None else max(self.last, passage.at)
        self.hands.add(passage.hand)
        self.entries.add(passage.entry)


Edges = dict[tuple[str, str], Edge]
"""Edges by (source, destination): ids of vessels, names of outside places, ids of bottlings' entries or of lots."""


def flowed(edges: Edges, source: str, destination: str, passage: Passage, ml: float) -> None:
    """Add a part of a move to the edge between two places."""
    edge = edges.get((source, destination))
    if edge is None:
        edge = edges[source, destination] = Edge()
    edge.add(passage, ml)
