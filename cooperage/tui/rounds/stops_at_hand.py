"""The stops of the walk as the screen shows them: all of them, those of the chosen part, and the one at hand."""

from collections.abc import Sequence

from cooperage.programme.walk.part_of_walk import WalkFilter
from cooperage.programme.walk.stops import Stop, index_of_tag, next_open


class StopsAtHand:
    """A walk's stops; `shown` are those that pass the filter, `at` is the place of the one at hand among them."""

    def __init__(self) -> None:
        self.every: list[Stop] = []
        self.shown: list[Stop] = []
        self.at: int | None = None
        self.filter, self.only = WalkFilter(), ""

    @property
    def here(self) -> Stop | None:
        """The stop at hand."""
        return None if self.at is None else self.shown[self.at]

    def take(self, stops: Sequence[Stop]) -> None:
        """Take other stops; the one at hand stays at hand, else the first that is still to do is."""
        here = self.here
        self.every = list(stops)
        self.shown = self.filter.chosen(self.every)
        self.at = None if here is None else index_of_tag(self.shown, here.tag)
        if self.at is None:
            self.at = next_open(self.shown, -1)

    def choose(self, chosen: WalkFilter, only: str) -> None:
        """Show one part of the walk; `only` is its word, empty for all."""
        self.filter, self.only = chosen, only
        self.take(self.every)

    def place_of(self, tag: str) -> int | None:
        """Return where a vessel's stop stands; where the chosen part has none, all are shown again."""
        if index_of_tag(self.shown, tag) is None and index_of_tag(self.every, tag) is not None:
            self.choose(WalkFilter(), "")
        return index_of_tag(self.shown, tag)

    def put(self, stop: Stop) -> None:
        """Put a stop in the place of the same vessel's."""
        for stops in (self.every, self.shown):
            at = index_of_tag(stops, stop.tag)
            if at is not None:
                stops[at] = stop

    def following(self) -> int | None:
        """Return the place of the next stop that is still to do; None when there is none."""
        return next_open(self.shown, -1 if self.at is None else self.at)

    def clear(self) -> None:
        """Forget the stops: another walk begins."""
        self.every, self.shown, self.at = [], [], None
