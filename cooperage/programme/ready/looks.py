"""What panels gave barrels, each time with what the barrel was then: what curves are learned from."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Standing
from cooperage.book.replay.state import DAY

WEEKS = 52
"""How far ahead a window is looked for [weeks]."""


@dataclass(frozen=True, slots=True)
class Cask:
    """What makes barrels alike: lot, wood, toast, size [ml], and which fill this is (None is unknown).

    `began` is when this fill began, in seconds of the epoch; with the tag it names one stay in one wood.
    """

    tag: str
    began: float
    lot: str
    wood: str
    toast: str
    capacity_ml: int
    fill: int | None

    @property
    def stay(self) -> tuple[str, float]:
        """What names this fill of this barrel."""
        return self.tag, self.began

    def days_at(self, at: datetime) -> float:
        """Return how long this fill has lasted at a moment [days]."""
        return max(0.0, (at.timestamp() - self.began) / DAY)


@dataclass(frozen=True, slots=True)
class PanelLook:
    """What one flight's panel gave one barrel on one attribute: the adjusted mean in points of `scale`."""

    cask: Cask
    attribute: str
    scale: str
    flight: str
    at: datetime
    value: float
    tasters: int

    @property
    def days(self) -> float:
        """How long the mead had lain in this wood [days]."""
        return self.cask.days_at(self.at)


def cask_of(standing: Standing) -> Cask | None:
    """Return what a barrel is now; None where it is empty, or no barrel."""
    barrel, began = standing.vessel.barrel, standing.state.filled_at
    if barrel is None or not standing.ml or began is None:
        return None
    return Cask(
        standing.tag,
        began,
        next(iter(standing.lots), ""),
        barrel.wood or "",
        barrel.toast_staves or "",
        standing.vessel.capacity_ml,
        standing.fill_number,
    )
